"""What happens over time or on a screen: documents, drawings, the command line, the window."""

__version__ = "0.1.0"
