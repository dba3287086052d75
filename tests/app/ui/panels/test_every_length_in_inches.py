"""In inches nothing is told half: every length of every finding follows, names and counts stay."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator

import pytest
from filled_rooms import filled
from odd_rooms import odd_case
from PySide6.QtWidgets import QLabel
from small_rooms import brick, exchanger, fan, fan_layer, free, layout, one, room, row, stack, zone

from app.demo import demo_layout
from app.document.own_texts import texts_with_lengths
from app.ui.mending.offer_button import OfferButton
from app.ui.mending.offers import Mended, MendState, offers
from app.ui.units import MM_PER_INCH, Unit, in_unit
from catalog.model import Dimension, FrozenMap
from catalog.store import SHIPPED_ENCLOSURES, Library
from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError, add_free, insert_item
from geometry.layout import Held, Layout, Settings
from geometry.part_solids import DEFAULT_FITTING
from geometry.search.mending.mend import Mend, mends

NUMBER = r"\d+(?:\.\d+)?(?:e[+-]?\d+)?"
MM = re.compile(rf"({NUMBER}) mm\b")
INCH = re.compile(rf"({NUMBER}) in\b")
COUNTED = re.compile(
    r"\b(?:(?:port|cell|shape|body|plug|state|cavity|outer shape|upper cell) \d+"
    r"|findings? \d+(?:, \d+)*(?: and \d+)?)\b"
)
"""What has a number and is no length: which of several it is."""


def own_texts(layouts: list[Layout]) -> list[str]:
    """All texts with a digit that the files of some layouts hold, the longest first."""

    def texts(value: object) -> Iterator[str]:
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            for key, held in value.items():
                yield from texts(key)
                yield from texts(held)
        elif isinstance(value, list):
            for held in value:
                yield from texts(held)

    found = {text for each in layouts for text in texts(each.model_dump(mode="json"))}
    with_digit = (text for text in found if re.search(r"\d", text) and not text.isdigit())
    return sorted([DEFAULT_FITTING.name, *with_digit], key=len, reverse=True)


def told_texts(checked: Checked, mended: Mended) -> list[str]:
    """All sentences that the panel tells of a layout, as they are in mm."""
    report, texts = checked.report, [one.reason for one in checked.report.not_run]
    for finding in report.findings:
        texts += [finding.title, finding.advice]
        found = [mend for state in mended.states.values() for mend in state.found]
        for offer in offers(mended.base, finding.remedies, found, len(report.findings)):
            texts += [offer.text, offer.name]
    return texts


def assert_told_whole(texts: list[str], layouts: list[Layout]) -> int:
    """Hold every sentence in inches against the one in mm; return how many lengths there were."""
    names, kept, lengths = own_texts(layouts), texts_with_lengths(layouts), 0
    either = re.compile(
        "|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in names) or "(?!)", re.I
    )
    for text in texts:
        bare, told = (either.sub("§", each) for each in (text, in_unit(text, Unit.INCH, kept)))
        mm, inch = MM.findall(bare), INCH.findall(told)
        assert "mm" not in told, (text, told)
        # Nothing else has changed, and what is no length is a count.
        assert MM.split(bare)[::2] == INCH.split(told)[::2], (text, told)
        rest = COUNTED.sub("", INCH.sub("", told))
        assert not re.search(r"\d", rest.replace("cm³", "")), (text, rest)
        for was, now in zip(mm, inch, strict=True):
            decimals = len(now.partition(".")[2])
            assert (
                abs(float(now) * MM_PER_INCH - float(was)) <= 0.5001 * 10**-decimals * MM_PER_INCH
            )
            assert float(now) or not float(was), (text, told)
        lengths += len(mm)
    return lengths


def layouts_of(checked: Checked, mended: Mended) -> list[Layout]:
    """The layout and those of all changes that are offered."""
    remedies = [r.layout for f in checked.report.findings for r in f.remedies]
    mends_of_all = [mend.layout for state in mended.states.values() for mend in state.found]
    return [checked.scene.layout, *remedies, *mends_of_all]


def whole(lay: Layout, mended: Mended | None = None) -> int:
    """Hold all that is told of a layout in inches against the millimetres."""
    checked, mended = check_layout(lay), mended or Mended(lay)
    return assert_told_whole(told_texts(checked, mended), layouts_of(checked, mended))


def troubled(seed: int) -> Layout:
    """An odd room with parts thrown in at random."""
    rng, case = random.Random(seed), odd_case(seed).case
    lay, wishes = case.layout, case.wishes
    parts = [*wishes.exchangers, *wishes.fans, *wishes.pumps]
    judge = rng.choice(["nominal", "worst case"])
    lay = lay.but(settings=lay.settings.but(judge=judge))
    for _ in range(8):
        part, at = rng.choice(parts), [round(rng.uniform(-10, 200), 1) for _ in range(3)]
        own = rng.choice(lay.enclosure.zones)
        cell, side = rng.choice(own.cells).id, rng.choice(("inner", "outer"))
        turn, layer = rng.choice((0, 1, 2, 3)), rng.randrange(3)
        try:
            if rng.random() < 0.3:
                lay, _ = add_free(lay, part, (at[0], at[1], at[2]))
            else:
                lay, _ = insert_item(lay, own.id, side, layer, part, cell, turn)
        except EditError:
            continue
    return lay


def with_lengths_in_names(lay: Layout) -> Layout:
    """The same with a length in the name of everything that has one."""

    def named(value: object) -> object:
        if isinstance(value, dict):
            return {
                key: f"{held[:40]}, 2.5-3 mm, {len(held)} mm" if key == "name" else named(held)
                for key, held in value.items()
            }
        return [named(held) for held in value] if isinstance(value, list) else value

    return Layout.model_validate_json(json.dumps(named(lay.model_dump(mode="json"))))


@pytest.mark.parametrize("seed", range(1, 25))
def test_of_odd_rooms(seed: int) -> None:
    lay = troubled(seed)
    lengths = whole(lay)
    assert lengths
    assert whole(with_lengths_in_names(lay)) == lengths


@pytest.mark.parametrize("enclosure", SHIPPED_ENCLOSURES)
def test_of_shipped_rooms_by_worst_case(shipped: Library, enclosure: str) -> None:
    lay = filled(shipped, enclosure).layout.but(free=())
    assert whole(lay.but(settings=lay.settings.but(judge="worst case", margin_mm=4.0))) > 10


def test_of_changes_that_are_searched(shipped: Library) -> None:
    lay, parts = demo_layout(shipped), tuple(shipped.parts.values())
    found: tuple[Mend, ...] = ()
    for far in mends(check_layout(lay, remedies=False), parts, cutting=True):
        found = far.found
        if {mend.cuts for mend in found} == {False, True}:
            break
    mended = Mended(lay, {None: MendState(found)})
    assert {"Trim", "Move", "Take"} & {
        step.partition(" ")[0] for mend in found for step in mend.steps
    }
    assert whole(lay, mended)


def one_of_each() -> Iterator[tuple[str, Layout]]:
    """Small rooms for sentences that are seldom told, by a word of each."""
    wide = zone("z", "floor", (40, 40, 0), "+x", "+y", row(1, 140.0)).but(
        length_mm=120.0, width_mm=90.5
    )
    large = fan(25, 140.0)
    on_wide = [stack("S", "z", fan_layer("A", large, ["c1"]))]
    yield "The zone is 120 mm x 90.5 mm", layout(room((400, 300, 300), [wide]), [large], on_wide)

    small, narrow = fan(25, 80.0), zone("z", "floor", (40, 40, 0), "+x", "+y", row(1, 140.0))
    on_narrow = [stack("S", "z", fan_layer("A", small, ["c1"]))]
    yield "at 71.5 mm", layout(room((400, 300, 300), [narrow]), [small], on_narrow)

    far, two = exchanger(2, 30, apart_mm=123.0), zone("z", "floor", (80, 40, 0), "+x", "+y", row(2))
    on_two = [stack("S", "z", one("E", far))]
    yield "0.5 mm of play", layout(room((500, 300, 300), [two]), [far], on_two)

    held = Held(by="clamp", on="floor")
    block = brick("brick", (60, 60, 60))
    off = [free("P", block, (200, 150, 12.3), held=held)]
    yield "can span 12.3 mm", layout(room((400, 300, 300)), [block], [], off)

    # Within its margin of 2 mm as drawn; as made it may be off by some tenths.
    measured = block.but(
        dimensions=FrozenMap({"width_mm": Dimension(minus_mm=0.1, plus_mm=2.0, origin="measured")})
    )
    near = [free("P", measured, (200, 33, 0)), free("Q", measured, (200, 96, 0))]
    settings = Settings(judge="worst case")
    lay = layout(room((400, 300, 300)), [measured], [], near, settings=settings)
    yield "60 mm +2 mm \N{MINUS SIGN}0.1 mm", lay


SELDOM = dict(one_of_each())


@pytest.mark.parametrize("word", SELDOM)
def test_of_sentences_that_are_seldom_told(word: str) -> None:
    lay = SELDOM[word]
    assert any(word in text for text in told_texts(check_layout(lay), Mended(lay)))
    assert whole(lay)


def test_reasons_that_something_was_not_checked_are_told_in_inches_too(open_window, hand) -> None:
    window = open_window(SELDOM["can span 12.3 mm"])
    hand(window).wait_for_remedies()
    window.actions_by_name["inches"].trigger()
    told = [label.text() for label in window.findings.findChildren(QLabel)]
    assert any("not known whether a clamp can span 0.484 in" in text for text in told)


def test_a_change_is_undone_by_the_name_that_it_was_offered_by(open_window, hand) -> None:
    window = open_window()
    hand(window).wait_for_remedies()
    window.actions_by_name["inches"].trigger()
    (button,) = [
        button
        for button in window.findings.findChildren(OfferButton)
        if button.isVisible() and button.label.text().startswith("Slide the stack on front bracket")
    ][:1]
    button.click()
    name = window.session.document.undo_name
    assert re.fullmatch(r"Slide the stack on front bracket \d\.\d{3} in down \(along -z\)", name)
