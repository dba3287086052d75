"""Holes of parts that are bolted together do not meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from catalog.parts import part_cells
from geometry.checks.bolting import (
    nearest_mounts,
    on_items,
    on_zone,
    play_left_mm,
    shiftable,
)
from geometry.checks.survey import Survey
from geometry.checks.words import called, given_mm_text, mm_text
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import Stack
from geometry.measures.pose import Vec
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.seats import Seat
from geometry.slots import PLAY_MM

KIND = "hole_pattern"


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """Holes of parts that are bolted together do not meet.

    What: the hole pitch and frame size of each item against what it is bolted to (zone, fan,
    exchanger, plate), and the distance from cell to cell of an item that spans several against the
    holes and slots below. Each hole may be off by 0.5 mm (common practice; about the play of M4
    screws in holes to ISO 273 medium fit).
    Why: screws go in straight or not at all.
    Change: a part with the same pattern, an adapter plate, or a zone with slots.
    """
    yield from survey.each_stack(KIND, _stack)


def _stack(scene: Scene, _: Stack, items: tuple[Placed, ...]) -> list[Finding]:
    return [finding for one in items for finding in _item(scene, one)]


def _item(scene: Scene, one: Placed) -> list[Finding]:
    if part_cells(one.part):
        return list(_mounts(scene, one)) or list(_groups(scene, one))
    assert one.stack is not None
    title = f"{called(scene, one.id)} has no hole pattern and stands in a stack"
    advice = "Place it free and say what holds it, or choose a part on a fan-pattern plate."
    return [_finding(one, one.stack.id, title, advice, _seat_place(one, None))]


def _mounts(scene: Scene, one: Placed) -> Iterator[Finding]:
    """Yield what is wrong with single cells: one finding for each thing below."""
    worst: dict[str, tuple[float, Seat]] = {}
    for seat in one.seats:
        if seat.on is None or not seat.accepts:
            continue
        left = play_left_mm(*nearest_mounts(seat.mount, seat.accepts))
        if seat.on not in worst or left < worst[seat.on][0]:
            worst[seat.on] = (left, seat)
    for on, (left, seat) in worst.items():
        mine, theirs = nearest_mounts(seat.mount, seat.accepts)
        below = called(scene, on)
        if not meets(left, 0.0):
            yield _finding(
                one,
                on,
                f"Holes of {called(scene, one.id)} at {given_mm_text(mine.pitch_mm)} do not meet "
                f"those of {below} at {given_mm_text(theirs.pitch_mm)}",
                "Choose a part with the same hole pitch, or put an adapter between.",
                _seat_place(one, seat),
                left,
            )
        elif mine.frame_mm != theirs.frame_mm:
            yield _finding(
                one,
                on,
                f"{called(scene, one.id)} has a frame of {given_mm_text(mine.frame_mm)}, "
                f"{below} takes {given_mm_text(theirs.frame_mm)}",
                "The holes meet; check that the frame covers the opening.",
                _seat_place(one, seat),
                verdict=Verdict.TIGHT,
            )


def _groups(scene: Scene, one: Placed) -> Iterator[Finding]:
    """Yield where the cells of an item are farther apart or nearer than what is below.

    What stands at the end of its slots below a spanning item is told by the slide of the stack.
    """
    assert one.frame is not None
    for on, seats in [(one.frame.zone.id, on_zone(one)), *on_items(one).items()]:
        movable = on == one.frame.zone.id
        if meets(_spare_mm(seats, (0, 1), movable=movable), 0.0):
            # With play left along both axes there is along either.
            continue
        along = (0, 1) if movable else _in_slots(scene.placed[on])
        spare = _spare_mm(seats, along, movable=movable)
        if not meets(spare, 0.0):
            below = called(scene, on)
            yield _finding(
                one,
                on,
                f"Cells of {called(scene, one.id)} are spaced {mm_text(-spare)} beyond what the "
                f"holes of {below} allow",
                "Choose a part with the same distance from cell to cell; "
                f"{given_mm_text(PLAY_MM)} of play and the slots are used up.",
                _seat_place(one, max(seats, key=lambda s: abs(s.off_u_mm) + abs(s.off_v_mm))),
                spare,
            )


def _in_slots(one: Placed) -> Sequence[int]:
    """Return along which axes an item on the zone stands where its slots let it meet what spans it.

    What is on no zone does along both: nothing holds it to slots.
    """
    assert one.stack is not None
    slides = (one.stack.slide_u_mm, one.stack.slide_v_mm)
    rooms = shiftable(on_zone(one))
    return [k for k, slide in enumerate(slides) if rooms[k].holds(slide)]


def _spare_mm(seats: Sequence[Seat], along: Sequence[int], *, movable: bool) -> float:
    """Return the least play left along some axes, negative when the cells cannot all meet holes.

    On a zone the stack may slide to share the misfit out; on other items it may not. 0 where no
    axis is asked for.
    """
    rooms = shiftable(seats)
    if movable:
        return min((rooms[k].most_mm - rooms[k].least_mm for k in along), default=0.0)
    return min((min(rooms[k].most_mm, -rooms[k].least_mm) for k in along), default=0.0)


def _seat_place(one: Placed, seat: Seat | None) -> Vec:
    if seat is None or one.frame is None:
        return one.pose.shift
    level = one.base_mm if one.side == "inner" else -one.base_mm
    return one.frame.pose.point((*seat.centre, level))


def _finding(
    one: Placed,
    on: str,
    title: str,
    advice: str,
    place: Vec,
    measured_mm: float | None = None,
    verdict: Verdict = Verdict.BLOCKED,
) -> Finding:
    return Finding(
        kind=KIND,
        verdict=verdict,
        ids=(one.id, on),
        title=title,
        advice=advice,
        place=place,
        measured_mm=measured_mm,
        required_mm=None if measured_mm is None else 0.0,
    )
