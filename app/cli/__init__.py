"""The command line. It knows no Qt: what needs it is handed in as a `Desk`."""
