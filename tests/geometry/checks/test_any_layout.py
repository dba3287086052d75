"""No valid layout crashes a check: shipped enclosures, filled at random with shipped parts."""

from __future__ import annotations

from functools import cache
from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_edits import filled_layout, random_edit

from catalog.enclosure import Enclosure, Zone
from catalog.model import FrozenMap
from catalog.parts import Fitting, Part, part_cells, part_ports
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.edits import EditError
from geometry.finding import Report, Verdict
from geometry.layout import FreePart, Held, Item, Layer, Layout, PortUse, Settings, Stack
from geometry.layout_file import layout_text, parse_layout

DIRECTIONS = ("+x", "-x", "+y", "-y", "+z", "-z")


@cache
def library() -> Library:
    return Library()


def shipped(kind: type[Part] | None = None) -> list[Part]:
    return [p for p in library().parts.values() if kind is None or isinstance(p, kind)]


@st.composite
def port_uses(draw: st.DrawFn, part: Part, parts: dict[str, Part]) -> FrozenMap:
    uses = {}
    for port in part_ports(part):
        if draw(st.booleans()):
            fitting = draw(st.sampled_from(shipped(Fitting)))
            parts[fitting.id] = fitting
            uses[port.id] = PortUse(plugged=draw(st.booleans()), fitting=fitting.id)
    return FrozenMap(uses)


@st.composite
def items(draw: st.DrawFn, item_id: str, zone: Zone, parts: dict[str, Part]) -> Item:
    part = draw(st.sampled_from([p for p in shipped() if part_cells(p)]))
    parts[part.id] = part
    return Item(
        id=item_id,
        part=part.id,
        cell=draw(st.sampled_from(zone.cells)).id,
        turn=draw(st.sampled_from((0, 1, 2, 3))),
        turned_over=draw(st.booleans()),
        air=draw(st.sampled_from(("with", "against"))),
        head_mm=draw(st.sampled_from((0.0, 2.4))),
        ports=draw(port_uses(part, parts)),
    )


@st.composite
def layouts(draw: st.DrawFn) -> Layout:
    enclosure: Enclosure = draw(st.sampled_from(list(library().enclosures.values())))
    parts: dict[str, Part] = {}
    zones = draw(st.lists(st.sampled_from(enclosure.zones), unique_by=lambda z: z.id, max_size=4))
    stacks = []
    for zone in zones:
        sides: dict[str, tuple[Layer, ...]] = {}
        for side in ("inner", "outer"):
            takes = getattr(zone, side) is not None
            count = draw(st.integers(0, 3)) if takes else 0
            sides[side] = tuple(
                Layer(
                    id=f"{zone.id}.{side}.{k}",
                    items=tuple(
                        draw(items(f"{zone.id}.{side}.{k}.{n}", zone, parts))
                        for n in range(draw(st.integers(1, 3)))
                    ),
                )
                for k in range(count)
            )
        slide = draw(st.sampled_from((0.0, 4.0, -30.0)))
        stacks.append(Stack(id=f"S-{zone.id}", zone=zone.id, slide_u_mm=slide, **sides))
    holders = (None, "floor", *(o.id for o in enclosure.obstacles))
    frees = []
    for k in range(draw(st.integers(0, 3))):
        part = draw(st.sampled_from(shipped()))
        parts[part.id] = part
        x_to = draw(st.sampled_from(DIRECTIONS))
        z_to = draw(st.sampled_from([d for d in DIRECTIONS if d[1] != x_to[1]]))
        frees.append(
            FreePart(
                id=f"P{k}",
                part=part.id,
                at_mm=draw(st.tuples(*[st.integers(-100, 600).map(float)] * 3)),
                x_to=x_to,  # type: ignore[arg-type]
                z_to=z_to,  # type: ignore[arg-type]
                held=Held(
                    by=draw(st.sampled_from(("holes", "clamp", "adhesive"))),
                    on=draw(st.sampled_from(holders)),
                ),
                ports=draw(port_uses(part, parts)),
            )
        )
    states = {
        o.id: draw(st.sampled_from(o.states)).id for o in enclosure.obstacles if draw(st.booleans())
    }
    return Layout(
        name="Any",
        enclosure=enclosure,
        parts=FrozenMap(parts),
        stacks=tuple(stacks),
        free=tuple(frees),
        states=FrozenMap(states),
        settings=Settings(margin_mm=draw(st.sampled_from((0.0, 2.0, 10.0)))),
    )


class Drawn:
    """A layout whose printed form is short enough to be read when a test fails."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout

    def __repr__(self) -> str:
        stacks = [
            (s.zone, [i.part for la in (*s.inner, *s.outer) for i in la.items])
            for s in self.layout.stacks
        ]
        free = [(f.part, f.at_mm, f.x_to, f.z_to) for f in self.layout.free]
        return f"{self.layout.enclosure.id}: {stacks}, {free}, {dict(self.layout.states)}"


def sound(report: Report, layout: Layout) -> None:
    """What holds for any report: places and figures are numbers, verdicts fit, ids are known."""
    for finding in report.findings:
        assert all(isfinite(v) for v in finding.place), finding
        assert finding.title
        assert finding.advice
        assert finding.ids
        assert finding.measured_mm is None or isfinite(finding.measured_mm), finding
        if finding.kind == "worst_case":
            assert finding.tolerance is not None
            assert finding.tolerance.nominal.nominal_mm == finding.measured_mm
            assert finding.required_mm is not None
            assert finding.required_mm - finding.tolerance.worst.worst_mm > 1e-6
        elif finding.to_margin_mm is not None and finding.kind != "hole_pattern":
            short = finding.to_margin_mm < -1e-6
            assert short == (finding.verdict is not Verdict.CLEAR), finding
        if finding.volume_mm3 is not None:
            assert finding.volume_mm3 >= 0.0
            assert finding.verdict is Verdict.BLOCKED
    order = [
        (Verdict.BLOCKED, Verdict.TIGHT, Verdict.CLEAR).index(f.verdict) for f in report.findings
    ]
    assert order == sorted(order)
    pairs = [(f.kind, frozenset(f.ids)) for f in report.findings if f.verdict is not Verdict.CLEAR]
    assert len(pairs) == len(set(pairs))
    count = sum(1 for s in layout.stacks for side in (s.inner, s.outer) if side)
    assert len(report.depths) == count
    assert (
        0
        <= report.clear
        <= sum(len(la.items) for s in layout.stacks for la in (*s.inner, *s.outer))
        + len(layout.free)
    )


@settings(max_examples=40)
@given(layouts().map(Drawn))
def test_a_check_of_any_shipped_enclosure_filled_at_random_is_sound(drawn: Drawn) -> None:
    sound(check_layout(drawn.layout, remedies=False).report, drawn.layout)


@settings(max_examples=10)
@given(layouts().map(Drawn))
def test_a_layout_read_back_from_its_file_gets_the_same_report(drawn: Drawn) -> None:
    again = parse_layout(layout_text(drawn.layout).encode(), "any")
    report, report_again = (check_layout(y, remedies=False).report for y in (drawn.layout, again))
    assert report == report_again


@settings(max_examples=25)
@given(st.data())
def test_updates_over_any_edits_equal_runs_from_nothing(data: st.DataObject) -> None:
    layout, checked = filled_layout(), None
    for _ in range(data.draw(st.integers(1, 5))):
        name, edit = data.draw(random_edit(layout))
        try:
            layout = edit(layout)
        except EditError:
            continue
        checked = check_layout(layout, checked, remedies=False)
        sound(checked.report, layout)
        assert checked.report == check_layout(layout, remedies=False).report, name


@pytest.mark.parametrize("enclosure", list(Library().enclosures))
def test_a_shipped_enclosure_alone_is_clear(enclosure: str) -> None:
    layout = Layout(name="Empty", enclosure=library().enclosure(enclosure))
    report = check_layout(layout).report
    assert (report.findings, report.not_run, report.depths) == ((), (), ())
