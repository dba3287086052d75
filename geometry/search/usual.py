"""What is searched where nobody has chosen: the same from the window and the command line."""

from __future__ import annotations

from catalog.parts import Part

USUAL_WANTED = ("area", "fans", "leftover")
"""Measures that count. Without that of fans none would ever stand: they only take depth."""

USUAL_SLIDES = 3
"""Slides along each slot: as it lies, both ends and the middle."""

USUAL_SECONDS = 30.0

USUAL_FAN_MM = 25.0
"""Fans of this thickness (common practice: the most usual one, no source)."""


def usual(part: Part) -> bool:
    """Say whether a part is tried unasked: ports on a face, fans 25 mm thick, any pump."""
    if part.kind == "fan":
        return part.thickness_mm == USUAL_FAN_MM
    if part.kind == "exchanger":
        return all(port.facing[1] == "z" for port in part.ports)
    return part.kind in ("pump", "pump_reservoir")
