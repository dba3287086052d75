"""What the session has lie over the drawing of its layout, and what the note beside a part says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from app.document.own_texts import texts_with_lengths
from app.drawing.board import BoardMemory
from app.drawing.drafting import Drafting
from app.drawing.frame import BoardFrame
from app.drawing.memory import Same
from app.drawing.overlay import NoteLine, lit_groups, zone_groups
from app.drawing.primitives import Bounds, Drawing, Group, Ink
from app.ui.board.gestures import Gesture
from app.ui.board.move_words import fit_lines, moved_ids, plain_lines, worst_of
from app.ui.session import Session
from app.ui.units import Unit, in_unit, length_text

if TYPE_CHECKING:
    from geometry.zone_profile import ZoneProfile

BEHIND = "dimensions and marks: checking…"
"""Said beside the pointer until the check has answered and the board has followed the part."""

AS_DRAWN = "as drawn; worst case once let go"
"""Said beside the pointer where verdicts count tolerances, which those of a move do not yet."""


def under_groups(
    session: Session,
    frame: BoardFrame,
    drafting: Drafting,
    lit: int | None,
    zones: tuple[str, ...] | None,
    memory: BoardMemory,
) -> Iterator[Group]:
    """Yield what lies over the drawing and stays while a part is on its way.

    Those are the parts of the finding `lit`, and the `zones` that can take the part; without a
    part on its way (None), the zone that is selected.
    """
    scene, selected = session.checked.scene, session.selected
    if lit is not None:
        yield from lit_groups(scene, frame, session.balloons[lit], drafting)
    if zones is not None:
        lit_zones: tuple[Group, ...] = memory.get(
            "lit-zones",
            (Same(scene.frames), zones, Same(frame), drafting),
            lambda: tuple(zone_groups(scene, frame, zones, drafting)),
        )
        yield from lit_zones
    elif selected is not None and selected in scene.frames:
        yield from zone_groups(scene, frame, (selected,), drafting)


def note_lines(
    session: Session, unit: Unit, gesture: Gesture | None, *, older: bool
) -> tuple[NoteLine, ...]:
    """Return what is said beside a part on its way.

    That is the least leftover depth of its stack and the worst verdict on what moves, where it
    would go, that verdicts leave out the worst case, and that what is painted is `older`.
    """
    lines: list[NoteLine] = []
    if gesture is not None:
        if gesture.part_id is not None:
            lines += _fit_lines(session, unit, gesture.part_id)
        lines += plain_lines(in_unit(gesture.note, unit, _kept(session, unit)))
        if session.as_drawn and gesture.part_id is not None:
            lines.append((AS_DRAWN, Ink.MUTED, False))
    if older:
        lines.append((BEHIND, Ink.MUTED, False))
    return tuple(lines)


def _fit_lines(session: Session, unit: Unit, part_id: str) -> Iterator[NoteLine]:
    # Where parts can go is loaded with the first gesture: a window is painted before.
    from geometry.drop import depth_of

    now, report = session.checked.scene, session.checked.report
    depth = depth_of(now, report, part_id)
    if session.stale:
        if depth is not None:
            least = depth.least
            figure = length_text(abs(least.sideways_mm or least.mm), unit)
            yield (f"{figure}, checking…", Ink.MUTED, True)
        return
    worst = worst_of(report, moved_ids(session.settled.scene, now, part_id))
    if unit is not Unit.MM:
        kept = _kept(session, unit)
        worst = tuple(replace(one, title=in_unit(one.title, unit, kept)) for one in worst)
    yield from fit_lines(report, depth, worst, session.layout.settings.margin_mm, unit)


def _kept(session: Session, unit: Unit) -> frozenset[str]:
    """Return the names that keep their millimetres in another unit."""
    return frozenset() if unit is Unit.MM else texts_with_lengths([session.checked.scene.layout])


class ProfileAtHand:
    """The depth over the zone at hand, worked out once for a scene."""

    def __init__(self) -> None:
        self._known: tuple[tuple[object, ...], ZoneProfile] | None = None

    def of(self, session: Session) -> ZoneProfile | None:
        """Return the profile; None when there is no zone at hand."""
        at_hand = session.at_hand
        if at_hand is None:
            return None
        # Loaded when it is first asked for, as what draws it: it is seldom drawn.
        from geometry.zone_profile import zone_profile

        scene = session.checked.scene
        key = (Same(scene), at_hand)
        if self._known is None or self._known[0] != key:
            self._known = (key, zone_profile(scene, at_hand.zone, at_hand.side))
        return self._known[1]


def profiled(
    profile: ZoneProfile | None,
    drawing: Drawing,
    sheet: Bounds | None,
    frame: BoardFrame,
    drafting: Drafting,
) -> Iterator[Group]:
    """Yield a depth profile, its figures off those of the drawing."""
    if profile is not None:
        from app.drawing.profile_drawing import profile_groups, room_beside

        yield from profile_groups(profile, frame, drafting, room_beside(drawing, sheet))
