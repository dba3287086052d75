"""Solids as one sees them: painted from far to near, so that what is nearer covers the rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from app.drawing.owners import Shown, solid_ink
from app.drawing.part_details import part_details, port_details
from app.drawing.primitives import Fill, Ink, LineType, Primitive
from app.drawing.silhouettes import drawn, outline_in
from geometry.measures.solid import Role

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from geometry.measures.prism import Prism
    from geometry.measures.solid import Solid


def far_to_near(owners: tuple[Shown, ...], view: ViewFrame) -> tuple[Shown, ...]:
    """Return owners in the order in which to paint them.

    The middle of what an owner spans along the line of sight decides: of two that do not overlap
    along it, the nearer comes later; ties go by id, so that drawings repeat.
    """
    return tuple(sorted(owners, key=lambda shown: shown.seen(view).middle))


def body_primitives(shown: Shown, view: ViewFrame, drafting: Drafting) -> tuple[Primitive, ...]:
    """Return what an owner's solids look like: tinted outlines, then the details on them."""
    line = drafting.wide(Ink.OUTLINE if shown.ink is not Ink.FIXED else Ink.FIXED)
    seen = shown.seen(view)
    if not seen.covers:
        if shown.cut_away(view):
            line = drafting.narrow(Ink.FIXED, LineType.DOUBLE_CHAIN)
        return tuple(drawn(outline, line) for outline in seen.outlines)
    out: list[Primitive] = []
    detailed = False
    for face in sorted(seen.faces, key=lambda face: _depth(face.prism, view)):
        if face.solid.role is Role.FITTING and not detailed:
            out.extend(_details(shown, view, drafting))
            detailed = True
        out.append(drawn(face.outline, line, Fill(solid_ink(shown, face.solid))))
    if not detailed:
        out.extend(_details(shown, view, drafting))
    if shown.placed is not None:
        out.extend(port_details(shown.placed, view, drafting))
    return tuple(out)


def _details(shown: Shown, view: ViewFrame, drafting: Drafting) -> Iterator[Primitive]:
    if shown.placed is not None:
        yield from part_details(shown.placed, view, drafting)


def _depth(prism: Prism, view: ViewFrame) -> float:
    far, near = view.nearness(prism.bounds)
    return (far + near) / 2


def keep_out_primitives(
    solids: tuple[Solid, ...], view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return keep-outs and room for air in long-dashed double-dotted lines (ISO 128-2, 05.1)."""
    line = drafting.narrow(Ink.KEEP_OUT, LineType.DOUBLE_CHAIN)
    return tuple(
        drawn(outline_in(view, prism), line)
        for solid in solids
        if not solid.hard
        for prism in solid.prisms
    )
