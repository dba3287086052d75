"""What a combination search was asked for, and its count, as rows of the sheet's first table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from app.drawing.primitives import Ink
from app.sheet.content import cut_rows
from app.sheet.table import LABEL_MM, Cell, ColumnSpec, Row
from app.sheet.words import plain_mm
from geometry.layout_file import fingerprint
from geometry.search.answers import MEASURES

if TYPE_CHECKING:
    from app.sheet.fits_content import Fits
    from catalog.parts import Part
    from geometry.layout import Layout
    from geometry.search.wishes import FanPlace, Wishes

AS_LISTED = (
    "As listed options: counted and compared are the parts, fan places, ways round and slides that "
    "are listed here, each slide at its listed steps. Nothing is said about what is not listed."
)

FIGURES = (
    "Left over and cables: least room to what stood before the search. In place: least leftover "
    "depth with all of the row in place, as drawn, in the worst case (every dimension off by its "
    "tolerance at once) and at the lower statistical limit; each row says where it is "
    "least at worst, and what takes the most there. Tight at worst: gaps that do not keep "
    "their margin then, those tight as drawn among them, each named in its row with what takes "
    "the most of it; not counted is what fell short before the search. Missing: what is missing "
    "to the margin."
)

MOST_NAMES = 40
"""So many parts are named; how many more there are is said."""

SETTING_COLUMNS = (ColumnSpec("", 38, fixed=True), ColumnSpec("", 1))

_FAN_WORDS: Mapping[FanPlace, str] = {
    "none": "none",
    "plate": "between plate and core",
    "far": "on the core's far face",
    "both": "on both faces",
    "outer": "on the other side of the plate",
    "across": "push-pull across the plate",
}
_JUDGED = {
    "worst case": "judged by worst case",
    "nominal": "judged as drawn",
}
_JUDGED_TIGHT = "judged as drawn; what is tight at worst is told with each row"
_PUMP_WORDS = {"none": "none", "allowed": "allowed", "required": "exactly one"}


def _best_words(wanted: Sequence[str]) -> str:
    """Say that no better row exists, and of room that it is measured to what stood before.

    >>> _best_words(["area", "fans"])
    'no better row exists'
    >>> _best_words(["area", "leftover"])
    'no better row exists, depth left as before the other stacks are put in'
    """
    of_room = [word for key, word in _ROOM_WORDS.items() if key in wanted]
    if not of_room:
        return "no better row exists"
    return f"no better row exists, {' and '.join(of_room)} as before the other stacks are put in"


_ROOM_WORDS = {"leftover": "depth left", "cables": "room for cables"}


def setting_rows(fits: Fits, sheet_layout: Layout | None) -> list[Row]:
    """Return what was searched and how, and the count.

    `sheet_layout` is the one on the other sheets: it is told when it is not the one searched.
    """
    layout, wishes, answer = fits.layout, fits.wishes, fits.answer
    settings = layout.settings
    judged = "clear or tight" if wishes.tight_allowed else "clear only"
    by = wishes.judge or settings.judge
    how = _JUDGED_TIGHT if wishes.tight_allowed and by == "worst case" else _JUDGED[by]
    whole = _best_words(answer.wanted) if answer.proven else "cut short: there may be better ones"
    rows: list[Row] = [
        ("Combinations", Cell(f"{answer.count[:1].upper()}{answer.count[1:]}.", bold=True)),
        ("Read it", AS_LISTED),
        ("Figures", FIGURES),
        ("Enclosure", answer.enclosure),
        *cut_rows(layout),
        ("Kept", f"{judged}; margin {plain_mm(settings.margin_mm)} mm; {how}"),
        ("Fans", ", ".join(_fan_words(wishes))),
        ("Pump", _PUMP_WORDS[wishes.pump] + (", free ones too" if wishes.free_pumps else "")),
        ("Slides", _slide_words(wishes.slide_steps)),
        ("Obstacle states", "chosen by the search" if wishes.obstacle_states else "as drawn"),
        ("Parts", Cell(_part_words(wishes), height_mm=LABEL_MM)),
        (
            "Trade-offs by",
            f"{', '.join(MEASURES[key].name for key in answer.wanted)} ({whole}); within "
            f"{fits.seconds:g} s",
        ),
        ("Layout fingerprint", fingerprint(layout)),
    ]
    if sheet_layout is not None and sheet_layout != layout:
        rows.append(
            (
                "Changed since",
                Cell(
                    "The layout on the other sheets is not the one that was searched; these "
                    "sheets are about the earlier one.",
                    bold=True,
                    ink=Ink.TIGHT,
                ),
            )
        )
    if fits.stopped or not answer.done:
        rows.append(("Stopped", "The search was stopped before its end; rows may be missing."))
    if answer.refused:
        rows.append(
            ("Left out", f"{answer.refused} more rows: the full check did not let them pass.")
        )
    rows += [("Stands already", note.removeprefix("note: ")) for note in answer.notes]
    return rows


def _fan_words(wishes: Wishes) -> Iterator[str]:
    yield from (_FAN_WORDS[place] for place in wishes.fan_places)
    if wishes.mixed_fans:
        yield "two kinds on two faces too"
    if wishes.part_rows:
        yield "rows with gaps too"
    if wishes.side_by_side:
        yield "several side by side on a zone too"


def _slide_words(steps: int) -> str:
    if steps == 1:
        return "as each stack lies"
    if steps == 3:
        return "as each stack lies, both ends and the middle of each slot"
    return f"as each stack lies, {steps} along each slot"


def _part_words(wishes: Wishes) -> str:
    lines = []
    for what, parts in (
        ("Exchangers", wishes.exchangers),
        ("Fans", wishes.fans),
        ("Pumps", wishes.pumps if wishes.pump != "none" else ()),
    ):
        if parts:
            lines.append(f"{what} ({len(parts)}): {_names(parts)}")
    return "\n".join(lines)


def _names(parts: Sequence[Part]) -> str:
    names = [part.name for part in parts]
    more = len(names) - MOST_NAMES
    told = "; ".join(names[:MOST_NAMES])
    return f"{told}; and {more} more" if more > 0 else told
