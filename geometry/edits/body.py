"""The body of a part in its own frame: without fittings, plugs and the room that they need."""

from __future__ import annotations

from catalog.parts import Part
from geometry.measures.pose import Vec
from geometry.measures.solid import Role
from geometry.part_solids import part_pieces
from geometry.recent import Recent


def body_middle(part: Part) -> Vec:
    """Return the middle of the bounding box of a part's body, in the part frame (mm)."""
    least, most = body_bounds(part)
    return (
        (least[0] + most[0]) / 2,
        (least[1] + most[1]) / 2,
        (least[2] + most[2]) / 2,
    )


def body_bounds(part: Part) -> tuple[Vec, Vec]:
    """Return least and greatest x, y, z of a part's body, without what is plugged or screwed in."""
    return _recent.of(part, find=lambda: _bounds(part))


_recent: Recent[tuple[Vec, Vec]] = Recent(256)
"""Asked for at every move of a drag."""


def _bounds(part: Part) -> tuple[Vec, Vec]:
    body = [
        prism.bounds
        for piece in part_pieces(part, {}, {})
        if piece.role in (Role.BODY, Role.PORT_END) or part.kind == "fitting"
        for prism in piece.prisms
    ]
    least = (min(b[0] for b in body), min(b[1] for b in body), min(b[2] for b in body))
    most = (max(b[3] for b in body), max(b[4] for b in body), max(b[5] for b in body))
    return least, most
