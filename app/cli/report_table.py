"""The report as a table for a terminal."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator

from app.cli.figure_lines import figure_lines
from app.cli.figures import mm_text, table
from app.cli.report_names import owner_names
from catalog.enclosure import Enclosure
from geometry.checks.finding_figures import depth_figure, stack_figure
from geometry.checks.nearest import Nearest, nearest_told
from geometry.checks.runner import Checked
from geometry.checks.words import beside_text, layer_text
from geometry.depths import limited_beside, standing_out
from geometry.edits import CUT_CAUTION, cut_lines
from geometry.finding import Finding, LayerSpan, Leftover, Report, StackDepth, Verdict
from geometry.layout import JUDGED
from geometry.scene import Scene
from geometry.stackup.figure_words import limits_sentence
from geometry.stackup.stack_ups import COVERAGE, Figure

NARROWEST = 72
"""Characters in a line, however narrow the terminal; a table is never squeezed below them."""


FROM_PLATE = "Total and clear depth count from the face of the plate on which a side is seated."

MOST_REMEDIES = 2
"""So many remedies are told, the best first; `--json` has them all."""


def report_lines(
    file: str, checked: Checked, width: int, *, contributors: bool = False
) -> list[str]:
    """Return the report on a checked layout as lines of at most `width` characters.

    Tables are never squeezed below 72 characters. With `contributors` every dimension that has a
    share in a figure is listed, else those with the largest shares, and what stands nearest is told
    of every part, else of port ends alone.
    """
    scene, report = checked.scene, checked.report
    width = max(width, NARROWEST)
    layout = scene.layout
    lines = [
        f"{layout.name}, revision {layout.revision} ({file})",
        f"in: {layout.enclosure.name}   margin: {mm_text(layout.settings.margin_mm)} mm"
        f"   judged: {JUDGED[layout.settings.judge]}",
        *_cut_lines(layout.enclosure, width),
        "",
        *_findings(report, width, contributors),
        "",
        *_stacks(scene, report, width, contributors),
        *_nearest(scene, report, width, contributors),
    ]
    if report.not_run:
        lines += ["", "not run:"]
        for note in report.not_run:
            who = f" ({', '.join(note.ids)})" if note.ids else ""
            lines += textwrap.wrap(
                f"{note.kind}{who}: {note.reason}",
                width,
                initial_indent="  ",
                subsequent_indent="    ",
            )
    lines += [
        "",
        *textwrap.wrap(f"Worst case: all dimensions off at once. Statistical: {COVERAGE}.", width),
    ]
    lines += ["", count_line(report)]
    return lines


def _cut_lines(enclosure: Enclosure, width: int) -> list[str]:
    """Return what has been cut off the enclosure's obstacles, with the caution."""
    cuts = cut_lines(enclosure)
    if not cuts:
        return []
    told = f"enclosure changed by cutting: {'; '.join(cuts)}. Caution: {CUT_CAUTION}"
    return textwrap.wrap(told, width)


def count_line(report: Report) -> str:
    """Return the closing line: how much is blocked, tight, clear and not run."""
    return (
        f"{report.blocked} blocked, {report.tight} tight, {report.clear} clear, "
        f"{len(report.not_run)} not run"
    )


def _findings(report: Report, width: int, contributors: bool) -> list[str]:
    told = [found for found in report.findings if found.verdict is not Verdict.CLEAR]
    if not told:
        return ["nothing blocked, nothing tight"]
    head = ("#", "verdict", "has mm", "required mm", "finding")
    rows = [_finding_row(number, found, contributors) for number, found in enumerate(told, start=1)]
    return table(head, rows, right=frozenset((0, 2, 3)), width=width)


def _finding_row(number: int, found: Finding, contributors: bool) -> tuple[str, ...]:
    x, y, z = found.place
    title = f"{found.title} [{found.kind}: {', '.join(found.ids)}]"
    place = f"at x {mm_text(x)}, y {mm_text(y)}, z {mm_text(z)}."
    tried = [f"Tried: {cure.name}: {cure.gives}" for cure in found.remedies[:MOST_REMEDIES]]
    advice = [place, *tried, found.advice_last] if tried else [f"{place} {found.advice}"]
    text = [title, *advice]
    if found.tolerance is not None:
        text += figure_lines(found.tolerance, contributors)
    return (
        str(number),
        found.verdict.value.upper(),
        mm_text(found.measured_mm),
        mm_text(found.required_mm),
        "\n".join(text),
    )


def _stacks(scene: Scene, report: Report, width: int, contributors: bool) -> list[str]:
    if not report.depths:
        return ["no stacks"]
    names = owner_names(scene)
    head = (
        "stack", "side", "total mm", "clear mm", "left mm", "worst mm",
        "layers and what limits them",
    )  # fmt: skip
    rows = [
        row
        for depth in report.depths
        for row in _stack_rows(scene, depth, names, report, contributors)
    ]
    told = table(head, rows, right=frozenset((2, 3, 4, 5)), width=width)
    return [*told, *textwrap.wrap(FROM_PLATE, width)]


def _stack_rows(
    scene: Scene, depth: StackDepth, names: dict[str, str], report: Report, contributors: bool
) -> Iterator[tuple[str, ...]]:
    layers = ", ".join(
        f"{layer_text(scene, depth, span)} {_thick_text(span)}" for span in depth.layers
    )
    out = standing_out(scene, depth)
    if out is not None:
        layers += f"; stands out: {out.name} {_thick_text(out)}"
    beside = limited_beside(scene, depth)
    if beside is not None:
        layers += f"\n{beside_text(beside, _with_unit)}"
    total, clear, left = mm_text(depth.total_mm), mm_text(depth.clear_mm), _left(depth.least)
    if depth.least.sideways_mm is not None:
        clear = ""
    figures = {id(cell): depth_figure(report, cell) for cell in depth.cells}
    least = stack_figure(report, depth)
    if least is not None and all(least is not one for one in figures.values()):
        layers += f"\n{limits_sentence(least, mm_text, 'mm')}"
    worst = "" if least is None else mm_text(least.worst.worst_mm)
    name = names.get(depth.stack, depth.stack)
    yield (name, depth.side, total, clear, left, worst, layers)
    told: set[int] = set()
    over = Counter(cell.cell for cell in depth.cells)
    for cell in depth.cells:
        figure = figures[id(cell)]
        of = f"{cell.item} " if over[cell.cell] > 1 else ""
        text = [f"{of}over {cell.cell}: {_to(cell)}"]
        if figure is not None and id(figure) not in told:
            told.add(id(figure))
            text += figure_lines(figure, contributors)
        worst = "" if figure is None else mm_text(figure.worst.worst_mm)
        yield ("", "", "", "", _left(cell), worst, "\n".join(text))


def _left(left: Leftover) -> str:
    """Return what is left in figures; nothing where what is in the way is so sideways."""
    return mm_text(left.mm) if left.sideways_mm is None else ""


def _to(left: Leftover) -> str:
    if left.sideways_mm is None:
        return f"to {left.limited_name}"
    return f"overlaps {left.limited_name} by {_with_unit(left.sideways_mm)} sideways"


def _with_unit(mm: float) -> str:
    return f"{mm_text(mm)} mm"


def _thick_text(span: LayerSpan) -> str:
    return mm_text(span.top_mm - span.base_mm)


def _nearest(scene: Scene, report: Report, width: int, contributors: bool) -> list[str]:
    survey = report.survey
    if survey is None:
        return []
    head = ("part", "nearest", "gap mm", "required mm", "worst mm", "what stands nearest to what")
    rows = [
        _nearest_row(one, figure, contributors)
        for owner in scene.placed
        for one, figure in nearest_told(survey, owner)
        if contributors or one.kind == "port_end"
    ]
    return ["", *table(head, rows, right=frozenset((2, 3, 4)), width=width)] if rows else []


def _nearest_row(one: Nearest, figure: Figure, contributors: bool) -> tuple[str, ...]:
    text = [f"{one.b.name} to {one.a.name}", *figure_lines(figure, contributors)]
    worst = mm_text(figure.worst.worst_mm)
    return (
        one.owner, one.word, mm_text(one.gap_mm), mm_text(one.required_mm), worst, "\n".join(text)
    )  # fmt: skip
