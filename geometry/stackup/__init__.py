"""Tolerance stack-up: what the deviations of all dimensions do to one gap."""
