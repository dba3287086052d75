"""The demo layout is what its description says, by the real checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from app.demo import demo_layout
from app.shipped_demo import shipped_demo
from catalog.parts import Part
from catalog.store import Library
from geometry.checks import survey
from geometry.checks.runner import check_layout
from geometry.edits import flip_port_end
from geometry.finding import Verdict
from geometry.layout import Layout, Side, Stack
from geometry.layout_file import layout_text, read_layout, write_layout
from geometry.pairs import Pairs, measure_pairs
from geometry.placement import Laid, Placed, Placer
from geometry.scene import Scene, Since


@pytest.fixture(scope="module")
def demo() -> Layout:
    return demo_layout(Library())


def _told(layout: Layout) -> list[tuple[Verdict, tuple[str, ...]]]:
    report = check_layout(layout).report
    return [(f.verdict, f.ids) for f in report.findings if f.verdict is not Verdict.CLEAR]


def test_one_thing_is_blocked_and_one_is_tight(demo: Layout) -> None:
    report = check_layout(demo).report
    assert _told(demo) == [
        (Verdict.BLOCKED, ("E1", "bracket-peg")),
        (Verdict.TIGHT, ("P1", "card")),
    ]
    assert [(one.kind, one.ids) for one in report.not_run] == [("held", ("R1", "roof"))]
    assert report.clear == len(demo.free) + sum(
        len(layer.items) for stack in demo.stacks for layer in (*stack.inner, *stack.outer)
    ) - len({"E1", "P1"})


def test_figures_of_both_findings(demo: Layout) -> None:
    # The bracket's cells lie at z = 184 and 304, so the core, 240 long, ends at 244 + 120 = 364
    # and the port end, 30 long, at 394. The peg, 8 across at z = 392, begins at 388: 6 mm missing.
    # The pump's seat: 418.5 - 25 - 1.5 - 30 - 25 = 337; plate 3, body 40 and fitting 24 end at
    # x = 270. The card ends at 2 + 266.5 = 268.5: 1.5 mm are left.
    first, second = check_layout(demo).report.findings[:2]
    assert first.measured_mm == pytest.approx(-6.0)
    assert second.measured_mm == pytest.approx(1.5)


def test_flipping_the_port_end_cures_what_is_blocked(demo: Layout) -> None:
    assert _told(flip_port_end(demo, "E1")) == [(Verdict.TIGHT, ("P1", "card"))]


def test_the_flip_is_offered_as_a_remedy(demo: Layout) -> None:
    blocked = check_layout(demo).report.findings[0]
    offered = [remedy for remedy in blocked.remedies if remedy.name.startswith("Flip port end of")]
    assert [remedy.layout for remedy in offered] == [flip_port_end(demo, "E1")]


def test_nothing_is_taken_out_before_what_the_search_ranks_above_it(demo: Layout) -> None:
    tight = check_layout(demo).report.findings[1]
    assert [remedy.name for remedy in tight.remedies] == [
        "Set the fans on front bracket from push-pull to push"
    ]


def test_its_stacks(demo: Layout) -> None:
    # 25 + 1.5 + 30 + 25 = 81.5 to the pump, whose plate, body and fitting add 3 + 40 + 24.
    # On the floor 25 + 30 = 55, and a fitting of 24 on the port face.
    depths = check_layout(demo).report.depths
    assert [(d.total_mm, pytest.approx(d.least.mm)) for d in depths] == [
        (148.5, 1.5),
        (79.0, 35.0),
        (25.0, 50.0),
    ]


def test_it_comes_back_from_its_file_the_same(demo: Layout, tmp_path: Path) -> None:
    path = tmp_path / "demo.json"
    write_layout(path, demo)
    again = read_layout(path)
    assert again == demo
    assert layout_text(again) == layout_text(demo_layout(Library()))


def test_the_shipped_file_is_what_the_edits_build(demo: Layout) -> None:
    """Else `python -m app.demo` is due."""
    shipped = (Path(__file__).parents[2] / "assets" / "demo.json").read_text(encoding="utf-8")
    assert shipped == layout_text(demo)
    assert shipped_demo() == demo


def test_a_check_of_it_places_no_stack_more_often_than_it_must(
    demo: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each stack once, then a side of it once for every number that moves what is further out.

    Remedies that move another stack or change an obstacle leave these as they are; one that takes
    its fans off a face places its own anew.
    """
    placed: list[str] = []
    place, stand = Placer.place, Placer.stand

    def whole(placer: Placer, stack: Stack) -> tuple[Placed, ...]:
        placed.append(stack.id)
        return place(placer, stack)

    def one_side(
        placer: Placer, stack: Stack, side: Side, instead: Mapping[str, Part] | None = None
    ) -> Iterator[Laid]:
        placed.append(stack.id)
        return stand(placer, stack, side, instead)

    monkeypatch.setattr(Placer, "place", whole)
    monkeypatch.setattr(Placer, "stand", one_side)
    check_layout(demo)
    assert 0 < len(placed) <= 66


def test_a_remedy_that_looks_good_is_not_measured_again_to_be_confirmed(
    demo: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    measured: list[int] = []

    def counted(of: Scene, before: Pairs | None = None, since: Since | None = None) -> Pairs:
        pairs = measure_pairs(of, before, since)
        measured.append(pairs.measured_now)
        return pairs

    monkeypatch.setattr(survey, "measure_pairs", counted)
    report = check_layout(demo).report
    remedies = sum(len(one.remedies) for one in report.findings)
    assert remedies == 3
    # Each confirmation looks at worst cases alone; the change was measured when it was tried.
    assert measured.count(0) >= remedies
