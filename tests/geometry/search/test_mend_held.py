"""No obstacle is trimmed where it is held or something may rest on it, nor comes apart.

The room is 300 x 200 x 200 mm inside. Everything is a block, so what touches what is told here by
comparing figures alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from small_rooms import IN_OR_OUT, block, brick, free, layout, room

from catalog.enclosure import Obstacle, ObstacleState, Panel
from catalog.shapes import Box
from geometry.checks.runner import check_layout
from geometry.edits import EditError, cut_out_obstacle
from geometry.edits.cut import END_WORDS
from geometry.layout import Layout
from geometry.remedies import faults
from geometry.search.mending.holding import trim_held
from geometry.search.mending.measured import ENDS, trims
from geometry.search.mending.mend import mends
from geometry.search.mending.wanted import Wanted

Corner = tuple[float, float, float]
Block = tuple[Corner, Corner]

SIZE_MM = (300.0, 200.0, 200.0)
CUBE = brick("cube", (40.0, 40.0, 40.0))


def with_cube(at_mm: Corner, *obstacles: Obstacle, **more: object) -> Layout:
    return layout(room(SIZE_MM, [], obstacles, **more), [CUBE], [], [free("B", CUBE, at_mm)])


def ends_offered(lay: Layout, obstacle: str) -> set[str]:
    """Return the ends at which trims of an obstacle are tried for all faults."""
    checked = check_layout(lay, remedies=False)
    told = list(faults(checked.report).values())
    assert told
    (own,) = [one for one in lay.enclosure.obstacles if one.id == obstacle]
    steps = trims(checked.scene, own, Wanted(told, set(faults(checked.report))))
    named = [step.name for step in steps]
    assert named[-1].startswith("Cut out ")
    return {end for end in END_WORDS.values() for name in named if f" at its {end} " in name}


def free_ends(lay: Layout, obstacle: str = "bar") -> set[str]:
    """Return the ends at which a tenth of a millimetre may be cut off."""
    found: set[str] = set()
    for end in ENDS:
        try:
            trim_held(lay, obstacle, end, 0.1)
        except EditError:
            continue
        found.add(end)
    return found


BRACKET = block("bracket", (200, 40, 40), (202, 160, 160), kind="bracket")


def peg(rear_mm: float, front_mm: float, **more: object) -> Obstacle:
    return block("peg", (rear_mm, 96, 96), (front_mm, 104, 104), **{"owner": "bracket", **more})


def test_a_peg_is_not_cut_at_the_end_by_which_it_stands_on_its_bracket() -> None:
    # It reaches from 120 to the bracket at 200, the cube from 150 to 190: 52 mm off at the front
    # would leave 28 mm in the air, and be less than 72 mm at the rear.
    lay = with_cube((170, 100, 80), BRACKET, peg(120, 200))
    assert "front end" not in ends_offered(lay, "peg")
    with pytest.raises(EditError, match="peg is held at its front end"):
        trim_held(lay, "peg", "+x", 0.1)
    *_, last = mends(check_layout(lay, remedies=False), (CUBE,), cutting=True)
    names = [mend.name for mend in last.found]
    assert "Trim peg by 72.0 mm at its rear end (cuts the enclosure)" in names
    assert not any("front end" in name for name in names)


def test_a_bar_that_is_held_at_both_ends_is_cut_beside_them_or_out_whole() -> None:
    across = with_cube((105, 100, 80), block("bar", (100, 0, 90), (110, 200, 110)))
    assert free_ends(across) == {"-x", "+x", "-z", "+z"}
    assert not ends_offered(across, "bar") & {"access side", "far side"}
    tie = block("bar", (100, 0, 0), (110, 200, 200))
    assert free_ends(with_cube((105, 100, 80), tie)) == {"-x", "+x"}
    # Between a bracket and a wall it is held by both.
    beam = block("bar", (202, 96, 96), (300, 104, 104), owner="bracket")
    assert free_ends(with_cube((250, 100, 80), BRACKET, beam)) == {"-y", "+y", "-z", "+z"}


def test_a_bar_along_a_wall_is_cut_from_its_free_ends() -> None:
    along = with_cube((240, 30, 80), block("bar", (50, 0, 90), (250, 20, 110)))
    assert free_ends(along) == {"-x", "+x", "+y", "-z", "+z"}
    assert ends_offered(along, "bar") == {"front end", "far side"}


def test_a_peg_goes_with_its_bracket_and_on_its_panel() -> None:
    aside = ObstacleState(id="aside", name="moved", shift_mm=(-30.0, 0.0, 0.0))
    carrier = BRACKET.but(states=(*BRACKET.states, aside))
    lay = with_cube((140, 100, 80), carrier, peg(160, 200)).but(states={"bracket": "aside"})
    assert "front end" not in ends_offered(lay, "peg")
    door = Panel(id="door", name="door", wall="front")
    lock = peg(260, 300, owner="door")
    assert "front end" not in ends_offered(with_cube((260, 100, 80), lock, panels=(door,)), "peg")
    # Drawn 3 mm off what carries it, it is held there no less.
    near = with_cube((170, 100, 80), BRACKET, peg(160, 197))
    assert "front end" not in ends_offered(near, "peg")


def test_what_would_come_apart_is_not_trimmed() -> None:
    # Two legs on the floor and a beam on them; without its upper side each leg stands, and with the
    # lower end of one leg off the other stands alone.
    table = Obstacle(
        id="table", name="table",
        shapes=(
            Box(at_mm=(100, 90, 0), size_mm=(10, 10, 100)),
            Box(at_mm=(100, 90, 100), size_mm=(80, 10, 10)),
            Box(at_mm=(170, 90, 60), size_mm=(10, 10, 40)),
        ),
    )  # fmt: skip
    lay = with_cube((140, 95, 80), table)
    assert trim_held(lay, "table", "+z", 5.0) != lay
    with pytest.raises(EditError, match="come apart"):
        trim_held(lay, "table", "+z", 10.0)
    with pytest.raises(EditError, match="held at its lower end"):
        trim_held(lay, "table", "-z", 1.0)
    with pytest.raises(EditError, match="held at its rear end"):
        trim_held(lay, "table", "-x", 10.0)


def boxes(name: str, *of: Block, **more: Any) -> Obstacle:
    shapes = tuple(block("piece", low, high).shapes[0] for low, high in of)
    return Obstacle(id=name, name=name, shapes=shapes, **more)


ARCH = boxes(
    "bar",
    ((202, 90, 50), (212, 100, 150)),
    ((202, 90, 150), (300, 100, 160)),
    ((290, 90, 60), (300, 100, 150)),
    owner="bracket",
)
"""A post on the bracket, an arm to the front wall, and a piece that hangs down from the arm."""

HOOK = boxes(
    "bar",
    ((150, 90, 50), (197, 100, 60)),
    ((150, 90, 60), (160, 100, 120)),
    ((150, 90, 120), (197, 100, 130)),
    owner="bracket",
)
"""A back and two arms, drawn 3 mm off the bracket."""


def test_pieces_are_held_by_what_they_touch_and_not_each_by_itself() -> None:
    arch = with_cube((100, 100, 80), BRACKET, ARCH)
    assert trim_held(arch, "bar", "+z", 9.0) != arch
    with pytest.raises(EditError, match="bar would come apart"):
        trim_held(arch, "bar", "+z", 10.0)
    hook = with_cube((100, 100, 80), BRACKET, HOOK)
    assert trim_held(hook, "bar", "-x", 9.0) != hook
    with pytest.raises(EditError, match="bar would come apart"):
        trim_held(hook, "bar", "-x", 10.0)
    # Of two pegs that touch nothing of each other each is held by itself.
    pegs = boxes("pegs", ((150, 50, 90), (200, 60, 100)), ((150, 90, 90), (200, 100, 100)))
    pair = with_cube((100, 100, 20), BRACKET, pegs.but(owner="bracket"))
    assert free_ends(pair, "pegs") == {"-x", "-y", "+y", "-z", "+z"}
    with pytest.raises(EditError, match="pegs is held at its far side"):
        trim_held(pair, "pegs", "+y", 10.0)


def test_what_another_obstacle_may_rest_on_is_not_cut_off() -> None:
    duct = block("duct", (50, 50, 0), (150, 100, 30))
    box = block("box", (50, 50, 30), (100, 100, 60))
    lay = with_cube((240, 100, 80), duct, box)
    with pytest.raises(EditError, match="box may rest on duct at its upper end"):
        trim_held(lay, "duct", "+z", 10.0)
    with pytest.raises(EditError, match="box may rest on duct at its rear end"):
        trim_held(lay, "duct", "-x", 0.1)
    # Nor is the box cut where it stands; in front the duct is free as far as the box.
    assert "-z" not in free_ends(lay, "box")
    assert trim_held(lay, "duct", "+x", 49.0) != lay
    with pytest.raises(EditError, match="box may rest on duct at its front end"):
        trim_held(lay, "duct", "+x", 51.0)
    # It may be put back where it is taken out now, and not where it is cut out.
    lift = ObstacleState(id="up", name="lifted", shift_mm=(0.0, 0.0, 50.0))
    for state in (IN_OR_OUT[1], lift):
        other = box.but(states=(IN_OR_OUT[0], state))
        away = with_cube((240, 100, 80), duct, other).but(states={"box": state.id})
        assert "+z" not in free_ends(away, "duct")
    assert "+z" in free_ends(cut_out_obstacle(lay, "box"), "duct")


def blocks_of(obstacle: Obstacle) -> list[Block]:
    found: list[Block] = []
    for one in obstacle.shapes:
        assert isinstance(one, Box)
        most = tuple(a + s for a, s in zip(one.at_mm, one.size_mm, strict=True))
        found.append((one.at_mm, (most[0], most[1], most[2])))
    return found


def meet(one: Block, other: Block) -> bool:
    return all(
        one[0][k] <= other[1][k] + 1e-6 and other[0][k] <= one[1][k] + 1e-6 for k in range(3)
    )


def walls_of(pieces: Sequence[Block]) -> set[str]:
    """Return the walls that blocks touch, by name."""
    return {
        f"{'xyz'[k]} {at:g}"
        for k in range(3)
        for at in (0.0, SIZE_MM[k])
        if any(b[0][k] <= at + 1e-6 and at - 1e-6 <= b[1][k] for b in pieces)
    }


def apart_mm(some: Sequence[Block], others: Sequence[Block]) -> float:
    return min(
        hypot(*(max(0.0, a[0][k] - b[1][k], b[0][k] - a[1][k]) for k in range(3)))
        for a in some
        for b in others
    )


def together(pieces: Sequence[Block]) -> list[list[Block]]:
    """Return blocks by what touches each other."""
    found: list[list[Block]] = []
    for piece in pieces:
        near = [some for some in found if any(meet(piece, other) for other in some)]
        found = [some for some in found if some not in near]
        found.append([piece, *(other for some in near for other in some)])
    return found


def cut_off(pieces: Sequence[Block], left: Sequence[Block]) -> list[Block]:
    """Return what lies beyond the one side at which less is left of some blocks."""
    for k in range(3):
        lows, highs = ([f(b[n][k] for b in some) for some in (pieces, left)]
                       for n, f in ((0, min), (1, max)))  # fmt: skip
        if lows[0] < lows[1]:
            ends = [(b[0], (*b[1][:k], min(b[1][k], lows[1]), *b[1][k + 1 :])) for b in pieces]
        elif highs[1] < highs[0]:
            ends = [((*b[0][:k], max(b[0][k], highs[1]), *b[0][k + 1 :]), b[1]) for b in pieces]
        else:
            continue
        return [(low, high) for low, high in ends if low[k] < high[k] - 1e-6]  # type: ignore[misc]
    raise AssertionError("nothing was cut off")


GRID = st.integers(0, 6).map(lambda n: 30.0 * n)


@st.composite
def rooms_with_bars(draw: st.DrawFn) -> Layout:
    """A bar of one to four pieces on a bracket or the walls, or in the air, and a cube in it.

    Each piece begins in the end of the one before, or beside it. A box may lie on one of them.
    """
    pieces: list[Block] = []
    at = (
        draw(GRID),
        draw(GRID.filter(lambda mm: mm < 180)),
        draw(GRID.filter(lambda mm: mm < 180)),
    )
    for _ in range(draw(st.integers(1, 4))):
        axis, mm = draw(st.integers(0, 2)), draw(st.sampled_from([20.0, 60.0, 90.0]))
        low, high = list(at), [a + 20.0 for a in at]
        ahead = draw(st.booleans())
        if ahead:
            high[axis] = min(at[axis] + mm, SIZE_MM[axis])
        else:
            low[axis] = max(at[axis] + 20.0 - mm, 0.0)
        pieces.append((corner(low), corner(min(h, s) for h, s in zip(high, SIZE_MM, strict=True))))
        end = list(at)
        end[axis] = high[axis] - 20.0 if ahead else low[axis]
        beside, by = draw(st.integers(0, 2)), draw(st.sampled_from([0.0, 20.0, -20.0, 23.0]))
        if 0.0 <= end[beside] + by <= SIZE_MM[beside] - 20.0:
            end[beside] += by
        at = corner(end)
    bar = boxes("bar", *pieces, owner=draw(st.sampled_from([None, "bracket"])))
    low, high = draw(st.sampled_from(pieces))
    others = [BRACKET]
    if draw(st.booleans()) and high[2] < 190.0:
        others.append(block("box", (low[0], low[1], high[2]), (low[0] + 5, high[1], high[2] + 10)))
    aside = [draw(st.sampled_from([-25.0, 0.0, 25.0])) for _ in range(3)]
    cube = [
        min(max((a + b) / 2 + off, 20.0), size - 20.0)
        for a, b, off, size in zip(low, high, aside, SIZE_MM, strict=True)
    ]
    return with_cube((cube[0], cube[1], cube[2] - 20.0), *others, bar)


def corner(mm: Iterable[float]) -> Corner:
    x, y, z = mm
    return x, y, z


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(rooms_with_bars(), st.sampled_from([0.1, 5.0, 19.9, 20.0, 35.0, 70.0]))
@example(with_cube((250, 95, 140), BRACKET, ARCH), 10.0)
@example(with_cube((170, 95, 70), BRACKET, HOOK), 10.0)
def test_what_is_left_after_any_trim_is_held_as_it_was(lay: Layout, off_mm: float) -> None:
    checked = check_layout(lay, remedies=False)
    told = list(faults(checked.report).values())
    (bar,) = [one for one in lay.enclosure.obstacles if one.id == "bar"]
    steps = trims(checked.scene, bar, Wanted(told, set(faults(checked.report))))
    edits = [step.edit for step in steps if step.kind == "trim"]
    edits += [lambda la, end=end: trim_held(la, "bar", end, off_mm) for end in ENDS]
    carriers = blocks_of(BRACKET) if bar.owner else []
    others = [blocks_of(o) for o in lay.enclosure.obstacles if o.id not in ("bar", bar.owner)]
    for edit in edits:
        try:
            after = edit(lay)
        except EditError:
            continue
        (left,) = [one for one in after.enclosure.obstacles if one.id == "bar"]
        parts = together(blocks_of(left))
        for part in together(blocks_of(bar)):
            of_it = [some for some in parts if any(meet(a, b) for a in some for b in part)]
            assert len(of_it) <= 1
            assert walls_of(part) <= walls_of([b for some in of_it for b in some])
            if carriers:
                assert apart_mm(of_it[0], carriers) <= apart_mm(part, carriers) + 1e-6
        off = cut_off(blocks_of(bar), blocks_of(left))
        assert not any(meet(a, b) for other in others for a in other for b in off)
    met = any(meet(a, b) for other in others for a in other for b in blocks_of(bar))
    if len(bar.shapes) == 1 and not (met or bar.owner or walls_of(blocks_of(bar))):
        assert free_ends(lay) == set(ENDS), "what nothing touches may be cut anywhere"
