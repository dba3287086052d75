"""The panels beside the board: parts, stack, enclosure, findings, history."""
