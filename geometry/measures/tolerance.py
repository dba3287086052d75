"""The one length tolerance; nobody else writes a small number."""

LENGTH_EPS_MM = 1e-6
"""Room is shared when the parting shift exceeds this; touching is not sharing."""


def meets(measured_mm: float, required_mm: float) -> bool:
    """Whether a gap satisfies the required one; touching the limit passes."""
    return measured_mm >= required_mm - LENGTH_EPS_MM
