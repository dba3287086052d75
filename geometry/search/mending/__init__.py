"""The smallest changes that clear a fault, each tried with the full check."""
