"""Dimension lanes, balloons, item references and the words on a sheet."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import LineString

from app.drawing.primitives import Ink, Path, Text
from app.sheet.callouts import RADIUS_MM, Callout, seatings
from app.sheet.dimension_lines import Edge, Span, lane_primitives, lanes_depth_mm, lanes_of
from app.sheet.item_references import (
    UNCHOSEN,
    StopPlugs,
    fitting_references,
    item_references,
    listed_parts,
    stop_plugs,
    unchosen_fittings,
)
from app.sheet.scaled import extent, text_box
from app.sheet.stack_dimensions import left_text
from app.sheet.words import figure_mm, grouped_fields, plain_mm
from geometry.checks.runner import Checked
from geometry.edits import set_port
from geometry.layout import PortUse

CORE = (0.0, 0.0, 80.0, 60.0)


@pytest.mark.parametrize(
    ("value", "against", "text"),
    [
        (12.0, 0.0, "12.0"),
        (-4.2, 0.0, "−4.2"),
        (-0.04, 0.0, "−0.04"),
        (0.0, 0.0, "0.0"),
        (1.98, 2.0, "1.98"),
        (2.0, 2.0, "2.0"),
        (math.inf, 2.0, "no limit"),
        (None, 0.0, "–"),
    ],
)
def test_figures_never_round_a_verdict_away(value: float | None, against: float, text: str) -> None:
    assert figure_mm(value, against) == text


def test_dimensions_have_no_idle_decimals() -> None:
    # ISO 129-1: mm without unit; no zeros that say nothing.
    assert [plain_mm(v) for v in (430.0, 43.65, 0.0, -0.001, -3.5)] == [
        "430",
        "43.65",
        "0",
        "0",
        "−3.5",
    ]


def test_what_a_stack_leaves_is_told_by_a_word_too() -> None:
    assert left_text(8.0, "clear") == "8 clear"
    assert left_text(1.5, "tight") == "1.5 tight"
    assert left_text(-4.2, "overlap") == "4.2 overlap"


def test_field_paths_read_as_words_by_owner() -> None:
    paths = ["core_length_mm", "port_tank.length_mm", "port_tank.width_mm", "ports[1].at_mm[2]",
             "bodies[0].size_mm[0]"]  # fmt: skip
    assert grouped_fields(paths) == (
        "core length; port tank: length, width; port 2: at z; body 1: size x"
    )


def _span(start: float, end: float, text: str = "55", *, before: bool = False) -> Span:
    return Span(start, end, text, 0.0, 0.0, before=before)


def test_a_short_dimension_carries_its_figure_past_its_end() -> None:
    short = _span(0.0, 3.0)
    assert short.narrow
    assert short.reach[0] == 0.0
    assert short.reach[1] > 3.0 + short.text_mm
    before = _span(0.0, 3.0, before=True)
    assert before.reach[0] < -before.text_mm
    assert before.reach[1] == 3.0
    assert not _span(0.0, 30.0).narrow


def test_dimensions_that_do_not_meet_share_a_lane() -> None:
    apart = [_span(0.0, 20.0), _span(30.0, 50.0)]
    crossing = [_span(0.0, 20.0), _span(10.0, 40.0)]
    chain = [_span(0.0, 20.0), _span(20.0, 50.0)]
    assert len(lanes_of(apart)) == 1
    assert len(lanes_of(crossing)) == 2
    assert len(lanes_of(chain)) == 1


@given(
    st.lists(
        st.tuples(st.floats(0.0, 80.0), st.floats(0.1, 60.0), st.booleans()),
        min_size=1,
        max_size=14,
    )
)
def test_figures_of_lanes_never_meet_and_keep_to_their_room(
    raw: list[tuple[float, float, bool]],
) -> None:
    spans = [_span(a, a + length, "S1: 123.4", before=before) for a, length, before in raw]
    lanes = lanes_of(spans)
    for edge in ("top", "left"):
        parts = lane_primitives(lanes, edge, CORE)
        boxes = [text_box(one) for one in parts if isinstance(one, Text)]
        assert len(boxes) == len(spans)
        for k, a in enumerate(boxes):
            for b in boxes[k + 1 :]:
                assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        outermost = min(extent(one)[1 if edge == "top" else 0] for one in parts)
        assert outermost >= -lanes_depth_mm(lanes)


@pytest.mark.parametrize(("edge", "k"), [("top", 1), ("left", 0)])
def test_extension_lines_go_on_beyond_by_eight_line_widths(edge: Edge, k: int) -> None:
    # ISO 129-1: extension lines end about 8 times their width beyond the dimension line.
    parts = [
        one for one in lane_primitives([[_span(0.0, 40.0)]], edge, CORE) if isinstance(one, Path)
    ]
    extensions = [one for one in parts if not one.closed and one.points[0][k] != one.points[1][k]]
    (line,) = (one for one in parts if not one.closed and one not in extensions)
    assert len(extensions) == 2
    for one in extensions:
        assert one.stroke is not None
        beyond = line.points[0][k] - min(point[k] for point in one.points)
        assert beyond == pytest.approx(8 * one.stroke.width_mm)


def test_upright_figures_are_read_from_the_right() -> None:
    # ISO 129-1: 90 degrees, standing left of the line.
    text = next(
        one for one in lane_primitives([[_span(0.0, 40.0)]], "left", CORE) if isinstance(one, Text)
    )
    assert text.angle_deg == 90.0
    assert text_box(text)[2] < 0.0


TARGETS = st.lists(st.tuples(st.floats(0.0, 80.0), st.floats(0.0, 60.0)), min_size=0, max_size=60)


@given(targets=TARGETS)
def test_balloons_never_meet_nor_cover_the_view(targets: list[tuple[float, float]]) -> None:
    callouts = [Callout(f"finding:{k}", str(k), at, Ink.BLOCKED) for k, at in enumerate(targets)]
    for seats in seatings(callouts, CORE):
        middles = [seats.places[one.key] for one in callouts]
        assert len(middles) == len(targets)
        for k, (x, y) in enumerate(middles):
            assert x - RADIUS_MM > CORE[2] or y - RADIUS_MM > CORE[3]
            assert seats.box[2] >= x + RADIUS_MM
            assert seats.box[3] >= y + RADIUS_MM
            for other in middles[k + 1 :]:
                assert math.dist((x, y), other) >= 2 * RADIUS_MM


def test_balloons_can_all_stand_on_one_side() -> None:
    callouts = [Callout(f"finding:{k}", str(k), (40.0, 30.0), Ink.BLOCKED) for k in range(12)]
    boxes = [seats.box for seats in seatings(callouts, CORE)]
    assert any(box[3] == CORE[3] for box in boxes)
    assert any(box[2] == CORE[2] for box in boxes)


def test_short_ids_are_their_own_references_and_long_ones_get_one(large_checked: Checked) -> None:
    layout = large_checked.scene.layout
    references = item_references(layout)
    assert references["S1-E"] == "S1-E"
    assert references["spare-fan"] == "N4"
    assert len(set(references.values())) == len(references)
    assert fitting_references(layout) == {UNCHOSEN: "FT1"}


def test_parts_list_counts_fans_exchangers_and_fittings(small_checked: Checked) -> None:
    rows = [
        (one.part.name, one.quantity, one.references, one.places)
        for one in listed_parts(small_checked.scene.layout)
    ]
    assert rows == [
        ("Fan 120 × 25", 2, ("S1-F1", "S1-F2"), ("S1",)),
        ("Exchanger 2 × 120, 30 slim", 1, ("S1-E",), ("S1",)),
    ]
    (room,) = unchosen_fittings(small_checked.scene.layout)
    assert (room.part.name, room.quantity, room.references) == ("Fitting 24 x 20", 2, ("FT1",))
    assert room.places == ("on S1-E",)


def test_closed_ports_want_stop_plugs_and_no_room_for_a_fitting(small_checked: Checked) -> None:
    layout = set_port(small_checked.scene.layout, "S1-E", "p2", PortUse(plugged=True))
    assert stop_plugs(layout) == (StopPlugs("G1/4", 1, ("S1-E",)),)
    assert [one.quantity for one in unchosen_fittings(layout)] == [1]
    both = set_port(layout, "S1-E", "p1", PortUse(plugged=True))
    assert [one.quantity for one in stop_plugs(both)] == [2]
    assert unchosen_fittings(both) == ()


@given(
    st.lists(
        st.tuples(st.floats(0.0, 80.0), st.floats(0.0, 60.0)),
        min_size=2, max_size=12, unique_by=lambda at: (round(at[0], 6), round(at[1], 6)),
    )
)  # fmt: skip
@example(targets=[(0.0, 0.0), (0.0, 1e-7)])
def test_leaders_to_balloons_of_one_size_never_cross(targets: list[tuple[float, float]]) -> None:
    callouts = [Callout(f"f{k}", str(k), at, Ink.BLOCKED) for k, at in enumerate(targets)]
    for seats in seatings(callouts, CORE):
        lines = [LineString([one.target, seats.places[one.key]]) for one in callouts]
        assert [(a, b) for a, b in combinations(lines, 2) if a.crosses(b)] == []


def test_balloons_of_one_point_stand_staggered_in_two_columns() -> None:
    # Columns of 60 mm take 7 balloons each, so 9 take two; no balloon stands level with another.
    callouts = [Callout(f"f{k}", str(k), (60.0, 30.0), Ink.BLOCKED) for k in range(9)]
    seats = next(
        one
        for one in seatings(callouts, CORE)
        if len({x for x, y in one.places.values() if y <= CORE[3]}) == 2
    )
    levels = sorted(y for x, y in seats.places.values() if y <= CORE[3])
    assert all(b - a > RADIUS_MM for a, b in pairwise(levels))
