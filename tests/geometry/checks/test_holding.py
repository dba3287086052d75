"""The rule of what holds a part."""

from __future__ import annotations

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    fan,
    fan_layer,
    free,
    grille,
    layout,
    room,
    row,
    said,
    stack,
    zone,
)

from catalog.enclosure import NoDrill, Opening, Panel, ZoneSide
from catalog.model import FrozenMap
from geometry.checks.runner import check_layout
from geometry.finding import Report
from geometry.layout import Held, Layout

CUBE = brick("cube", (40, 40, 40))


def report(of: Layout) -> Report:
    return check_layout(of).report


# ---- what holds a part ----


def held_cube(
    held: Held, at_mm: tuple[float, float, float] = (100, 100, 0), **more: object
) -> Report:
    box = room((300, 200, 200), **more)  # type: ignore[arg-type]
    return report(layout(box, [CUBE], frees=[free("A", CUBE, at_mm, held=held)]))


def test_a_part_held_by_nothing_is_tight() -> None:
    # It stands on the floor without being held: the touching floor is told too.
    assert said(held_cube(Held())) == [
        ("clearance", "tight", ("A", "floor"), 0.0),
        ("held", "tight", ("A",), None),
    ]


@pytest.mark.parametrize("by", ["holes", "clamp", "adhesive"])
def test_a_part_held_against_the_floor_is_clear(by: str) -> None:
    assert said(held_cube(Held(by=by, on="floor"))) == []  # type: ignore[arg-type]


def test_a_part_glued_from_afar_is_tight_and_how_far_screws_reach_is_not_run() -> None:
    # 12 mm above the floor, of which 0.5 is allowed.
    assert said(held_cube(Held(by="adhesive", on="floor"), (100, 100, 12))) == [
        ("held", "tight", ("A", "floor"), -11.5)
    ]
    for by, told in (("clamp", 1), ("holes", 2)):
        reaching = held_cube(Held(by=by, on="floor"), (100, 100, 12))  # type: ignore[arg-type]
        assert said(reaching) == []
        assert [n.ids for n in reaching.not_run if n.kind == "held"] == [("A", "floor")] * told


def test_a_part_farther_off_than_any_standoff_reaches_is_not_held() -> None:
    # 61 mm above the floor, and 60 at most are bridged.
    far = held_cube(Held(by="holes", on="floor"), (100, 100, 61))
    assert said(far) == [("held", "tight", ("A", "floor"), -1.0)]
    assert "no standoff reaches over more than 60.0 mm" in far.findings[0].title
    assert said(held_cube(Held(by="holes", on="floor"), (100, 100, 60))) == []
    assert said(held_cube(Held(by="clamp", on="floor"), (100, 100, 61))) == []


def test_a_part_over_an_opening_has_nothing_to_be_screwed_to() -> None:
    # The cube stands on x 80 to 120, y 80 to 120.
    def on_floor(*openings: Opening, by: str = "holes") -> Report:
        held = Held(by=by, on="floor")  # type: ignore[arg-type]
        return held_cube(held, openings=openings)

    assert said(on_floor(grille(60, 140, "floor"))) == [
        ("held", "tight", ("A", "floor", "grille-60"), None)
    ]
    assert said(on_floor(grille(100, 140, "floor"))) == [
        ("held", "tight", ("A", "floor", "grille-100"), None)
    ]
    assert said(on_floor(grille(60, 140, "floor"), by="clamp")) == []
    # Less than half of its foot, or nothing of it, is over an opening: where its holes are decides.
    for beside in ((grille(101, 140, "floor"),), (grille(60, 140, "roof"),), ()):
        assert said(on_floor(*beside)) == []
        assert [n.ids for n in on_floor(*beside).not_run if n.kind == "held"] == [("A", "floor")]


def test_holes_in_a_face_that_must_not_be_drilled_are_blocked() -> None:
    sealed = NoDrill(id="sealed", wall="floor", reason="cables run under it")
    holes, clamp = Held(by="holes", on="floor"), Held(by="clamp", on="floor")
    assert said(held_cube(holes, no_drill=(sealed,))) == [
        ("held", "blocked", ("A", "sealed"), None)
    ]
    assert said(held_cube(clamp, no_drill=(sealed,))) == []


def test_a_panel_holds_what_is_on_its_wall() -> None:
    panel = Panel(id="lid", name="lid", wall="roof")
    held = Held(by="holes", on="lid")
    assert said(held_cube(held, (100, 100, 160), panels=(panel,))) == []
    sealed = NoDrill(id="sealed", wall="roof", reason="it is glass")
    assert said(held_cube(held, (100, 100, 160), panels=(panel,), no_drill=(sealed,))) == [
        ("held", "blocked", ("A", "sealed"), None)
    ]


def bracket_layout(state: str, held: Held | None = None) -> Report:
    """A bracket with a zone, a fan on it, and a cube that is held by the same bracket."""
    plate = block("bracket", (20, 20, 80), (260, 160, 82), states=IN_OR_OUT)
    shelf = zone("shelf", "bracket", (30, 30, 82), "+x", "+y", row(1), outer=ZoneSide(plate_mm=2.0))
    blower = fan(25)
    of = layout(
        room((300, 200, 200), [shelf], [plate]),
        [blower, CUBE],
        [stack("S", "shelf", fan_layer("A", blower, ["c1"]))],
        [free("B", CUBE, (220, 100, 82), held=held or Held(by="holes", on="bracket"))],
        states=FrozenMap({"bracket": state}),
    )
    return report(of)


def test_what_stands_on_a_bracket_is_held_by_nothing_when_it_is_taken_out() -> None:
    assert said(bracket_layout("in-place")) == []
    assert said(bracket_layout("out")) == [
        ("held", "blocked", ("S", "bracket"), None),
        ("held", "tight", ("B", "bracket"), None),
    ]


def test_a_part_held_by_zone_cells_names_cells_that_are_there() -> None:
    assert said(bracket_layout("in-place", Held(by="zone cells", on="shelf", cells=("c1",)))) == []
    for wrong in (
        Held(by="zone cells", on="shelf", cells=("c9",)),
        Held(by="zone cells", on="shelf"),
        Held(by="zone cells", on="attic", cells=("c1",)),
    ):
        assert [s[0] for s in said(bracket_layout("in-place", wrong), "held")] == ["held"]
