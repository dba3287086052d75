"""What happens over time or on a screen: documents, drawings, the command line, the window."""
