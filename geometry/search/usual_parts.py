"""The parts that are tried when nobody has chosen any: the usual ones, so that it ends soon."""

from __future__ import annotations

from catalog.parts import Part

USUAL_FAN_MM = 25.0
"""Fans of this thickness (common practice: the most usual one, no source)."""


def usual(part: Part) -> bool:
    """Say whether a part is tried unasked: ports on a face, fans 25 mm thick, any pump."""
    if part.kind == "fan":
        return part.thickness_mm == USUAL_FAN_MM
    if part.kind == "exchanger":
        return all(port.facing[1] == "z" for port in part.ports)
    return part.kind in ("pump", "pump_reservoir")
