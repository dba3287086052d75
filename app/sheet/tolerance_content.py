"""Every figure of the sheet with its tolerance, and the dimensions that contribute to it.

Dimensions are many and come back in figure after figure, so each is written out once, under a
letter and a number; the figures name them by that, in order of share.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

from app.drawing.primitives import Ink
from app.drawing.verdict_words import VERDICT_INK, numbered
from app.sheet.item_references import item_references, solid_references
from app.sheet.table import Cell, ColumnSpec, Row
from app.sheet.words import NO_FIGURE, figure_mm
from geometry.checks.finding_figures import depth_figure, finding_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.stackup.figure_words import share_text
from geometry.stackup.stack_ups import COVERAGE
from geometry.stackup.words import dimension_words, elsewhere_words, tolerance_words

if TYPE_CHECKING:
    from geometry.checks.runner import Checked
    from geometry.checks.survey import Survey
    from geometry.finding import Leftover
    from geometry.layout import Layout
    from geometry.measures.solid import Solid
    from geometry.stackup.stack_ups import Contributor, Figure, StackUp

FIGURE_COLUMNS = (
    ColumnSpec("No.", 7, "middle", fixed=True),
    ColumnSpec("Figure of", 36),
    ColumnSpec("To", 34),
    ColumnSpec("As drawn", 10, "right", fixed=True),
    ColumnSpec("Required", 10, "right", fixed=True),
    ColumnSpec("Worst case", 10.5, "right", fixed=True),
    ColumnSpec("Statistical", 22, fixed=True),
    ColumnSpec("Share in the worst case, each", 50),
)
DIMENSION_COLUMNS = (ColumnSpec("", 1), ColumnSpec("", 1), ColumnSpec("", 1))

READ_IT = (
    f"No.: the finding. Worst case: all dimensions off at once. Statistical: {COVERAGE}. "
    "Contributors d1, d2 and so on are listed below."
)
LETTER = "d"
DIMENSIONS_DOWN = 9
"""So many dimensions stand under each other before the next column goes on."""

DECIMALS = 6


@dataclass(frozen=True, eq=False)
class Told:
    """A figure as it is told once: whose it is, to what (`name` in full), what is asked for."""

    of: str
    to: str
    name: str
    figure: Figure
    required_mm: float | None = None


@dataclass
class ToldFigure:
    """A figure with all that it is told as, and the numbers of the findings that tell it."""

    told: list[Told]
    numbers: list[int] = field(default_factory=list)
    ink: Ink = Ink.TEXT

    @property
    def figure(self) -> Figure:
        """The stack-up."""
        return self.told[0].figure

    @property
    def required_mm(self) -> float | None:
        """What is asked for, where any of them says so."""
        return next((one.required_mm for one in self.told if one.required_mm is not None), None)


def told_figures(checked: Checked) -> list[ToldFigure]:
    """Return every figure that has a stack-up: findings first, then depths, port ends, gaps."""
    survey = checked.report.survey
    if survey is None:
        return []
    words = _Words(checked)
    by_limits: dict[object, ToldFigure] = {}
    for one in (*_leftovers(checked, survey, words), *_nearest(survey, words)):
        by_limits.setdefault(_limits(one.figure), ToldFigure([])).told.append(one)
    for number, finding in numbered(checked.report):
        figure = finding_figure(checked.report, finding)
        if figure is None:
            continue
        first, *others = (words.owner(one) for one in finding.ids)
        own = Told(first, ", ".join(others), "", figure, finding.required_mm)
        found = by_limits.setdefault(_limits(figure), ToldFigure([own]))
        if not found.numbers:
            found.ink = VERDICT_INK[finding.verdict]
        found.numbers.append(number)
    return sorted(by_limits.values(), key=lambda one: one.numbers[:1] or [inf])


def _limits(figure: Figure) -> object:
    """Return what makes two figures one: the same limits by the same dimensions."""
    limits = (
        figure.nominal.nominal_mm,
        figure.worst.worst_mm,
        figure.likely_least_mm,
        figure.likely_most_mm,
    )
    by = frozenset((one.owner, one.path) for one in figure.worst.contributors)
    return (*(round(mm, DECIMALS) for mm in limits), by)


def _leftovers(checked: Checked, survey: Survey, words: _Words) -> Iterator[Told]:
    """Yield what every side of every stack leaves, cells with the same figure together."""
    sides = Counter(depth.stack for depth in checked.report.depths)
    for depth in checked.report.depths:
        side = f" {depth.side}" if sides[depth.stack] > 1 else ""
        cells: dict[object, list[tuple[Leftover, Figure]]] = {}
        for left in depth.cells:
            figure = depth_figure(checked.report, left)
            if figure is not None:
                cells.setdefault(_limits(figure), []).append((left, figure))
        several = len({left.cell for left in depth.cells}) > 1
        over = Counter(left.cell for left in depth.cells)
        for alike in cells.values():
            left, figure = alike[0]
            names = "+".join(dict.fromkeys(one.cell for one, _ in alike))
            cell = f" cell {names}" if several else ""
            item = f" {words.owner(left.item)}" if over[left.cell] > 1 else ""
            hit = survey.depths.items[left.item].hit
            to = left.limited_name if hit is None else words.solid(hit)
            yield Told(f"{depth.stack}{side}{cell}{item}, left over", to, left.limited_name, figure)


def _nearest(survey: Survey, words: _Words) -> Iterator[Told]:
    """Yield what stands nearest to every port end, then to the rest of every part."""
    every = [one for owner in survey.scene.placed for one in nearest_of(survey, owner)]
    for one in sorted(every, key=lambda one: one.kind != "port_end"):
        figure = nearest_figure(survey, one)
        yield Told(words.solid(one.a), words.solid(one.b), one.b.name, figure, one.required_mm)


class _Words:
    """What owners and solids are called on the sheet: placed parts by their references."""

    def __init__(self, checked: Checked) -> None:
        self._scene = checked.scene
        self._references = solid_references(checked.scene)

    def owner(self, owner: str) -> str:
        return self._references.get(owner) or self._scene.name_of(owner)

    def solid(self, solid: Solid) -> str:
        placed = self._scene.placed.get(solid.owner)
        if placed is None:
            return solid.name
        reference = self._references[solid.owner]
        fitting = self._references.get(solid.id)
        if fitting is not None and solid.id != solid.owner:
            return f"{reference}, {fitting} on port {solid.id.partition(':')[2]}"
        what = solid.name.removeprefix(placed.part.name).removeprefix(", ")
        return f"{reference}, {what}" if what else reference


def contributors_of(told: Sequence[ToldFigure]) -> dict[tuple[str, str], Contributor]:
    """Return every dimension that has a share in a figure, by owner and path, in order."""
    found: dict[tuple[str, str], Contributor] = {}
    for one in told:
        beside = one.figure.beside
        for gap in (one.figure.worst, *(() if beside is None else (beside,))):
            for each in gap.contributors:
                found.setdefault((each.owner, each.path), each)
    return found


def figure_rows(told: Sequence[ToldFigure]) -> list[Row]:
    """Return one row a figure, under what is assumed of them all."""
    codes = {key: f"{LETTER}{k}" for k, key in enumerate(contributors_of(told), start=1)}
    rows: list[Row] = [(READ_IT,)] if told else []
    for one in told:
        figure = one.figure
        to = dict.fromkeys(each.to for each in one.told)
        against_mm = one.required_mm or 0.0
        rows.append(
            (
                Cell(", ".join(map(str, one.numbers)), bold=True, ink=one.ink),
                "\n".join(dict.fromkeys(each.of for each in one.told)),
                "\n".join([*to, *_elsewhere(one)]),
                figure_mm(figure.nominal.nominal_mm, against_mm),
                figure_mm(one.required_mm),
                Cell(figure_mm(figure.worst.worst_mm, against_mm), bold=True),
                f"{figure_mm(figure.likely_least_mm)} to {figure_mm(figure.likely_most_mm)}",
                _shares(figure, codes),
            )
        )
    return rows


def _elsewhere(one: ToldFigure) -> list[str]:
    """Return where a figure is least in the worst case, if not at what limits it as drawn."""
    figure = one.figure
    if figure.beside is None and figure.worst_name in {each.name for each in one.told}:
        return []
    at = elsewhere_words(figure, lambda mm: f"{figure_mm(mm)} mm")
    return [f"worst case{at}"] if at else []


def _shares(figure: Figure, codes: Mapping[tuple[str, str], str]) -> str:
    """Return contributors by share, those of one share together: "20% d1 d2; 12% d3".

    Those that bring in what stands beside the way as drawn follow.
    """
    shares = _shares_of(figure.worst, codes) or NO_FIGURE
    if figure.beside is None:
        return shares
    return f"{shares}\ncoming in: {_shares_of(figure.beside, codes)}"


def _shares_of(gap: StackUp, codes: Mapping[tuple[str, str], str]) -> str:
    alike: dict[str, list[str]] = {}
    for one in gap.contributors:
        alike.setdefault(share_text(gap.share(one)), []).append(codes[one.owner, one.path])
    return "; ".join(f"{share} {' '.join(who)}" for share, who in alike.items())


def dimension_rows(checked: Checked, told: Sequence[ToldFigure]) -> list[Row]:
    """Return the dimensions that contribute, each with its tolerance, down three columns."""
    layout = checked.scene.layout
    references = item_references(layout)
    alike = _alike(layout)
    lines = [
        f"{LETTER}{k} {_owner_words(one, references, alike)}, {_short(dimension_words(one.path))} "
        f"{tolerance_words(one.dimension)}"
        for k, one in enumerate(contributors_of(told).values(), start=1)
    ]
    columns = len(DIMENSION_COLUMNS)
    rows: list[Row] = []
    for start in range(0, len(lines), columns * DIMENSIONS_DOWN):
        some = lines[start : start + columns * DIMENSIONS_DOWN]
        down = -(-len(some) // columns)
        rows.append(tuple("\n".join(some[k * down : (k + 1) * down]) for k in range(columns)))
    return rows


def _short(words: str) -> str:
    """Return a dimension's words as the sheet's other tables have them: "size z".

    >>> _short("shape 1 size along z")
    'shape 1 size z'
    """
    return words.replace(" along ", " ")


def _alike(layout: Layout) -> dict[str, list[str]]:
    """Return for each stacked item the items of its layer that are the same part."""
    found: dict[str, list[str]] = {}
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            by_part: dict[str, list[str]] = {}
            for item in layer.items:
                found[item.id] = by_part.setdefault(item.part, [])
                found[item.id].append(item.id)
    return found


def _owner_words(
    one: Contributor, references: Mapping[str, str], alike: Mapping[str, Sequence[str]]
) -> str:
    """Return whose a dimension is; parts of one layer that are the same share theirs: "F1/F2"."""
    if one.owner not in references:
        return one.name
    own = one.path == "head_mm" or "fitting" in one.path
    owners = [one.owner] if own else alike.get(one.owner, [one.owner])
    return "/".join(references[each] for each in owners)
