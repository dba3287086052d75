"""The back end that paints drawings with Qt's painter; no widgets."""
