"""Export of the clearance sheet."""
