"""The report as a table for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from app.cli.figures import mm_text, table
from app.cli.report_names import owner_names
from geometry.checks.runner import Checked
from geometry.finding import Finding, Report, StackDepth, Verdict
from geometry.scene import Scene

NARROWEST = 72


def report_lines(file: str, checked: Checked, width: int) -> list[str]:
    """Return the report on a checked layout as lines of at most `width` characters.

    Tables are never squeezed below 72 characters.
    """
    scene, report = checked.scene, checked.report
    width = max(width, NARROWEST)
    layout = scene.layout
    lines = [
        f"{layout.name}, revision {layout.revision} ({file})",
        f"in: {layout.enclosure.name}   margin: {mm_text(layout.settings.margin_mm)} mm",
        "",
        *_findings(report, width),
        "",
        *_stacks(scene, report.depths, width),
    ]
    if report.not_run:
        lines += ["", "not run:"]
        for note in report.not_run:
            who = f" ({', '.join(note.ids)})" if note.ids else ""
            lines.append(f"  {note.kind}{who}: {note.reason}")
    lines += ["", count_line(report)]
    return lines


def count_line(report: Report) -> str:
    """Return the closing line: how much is blocked, tight, clear and not run."""
    return (
        f"{report.blocked} blocked, {report.tight} tight, {report.clear} clear, "
        f"{len(report.not_run)} not run"
    )


def _findings(report: Report, width: int) -> list[str]:
    told = [found for found in report.findings if found.verdict is not Verdict.CLEAR]
    if not told:
        return ["nothing blocked, nothing tight"]
    head = ("#", "verdict", "has mm", "needs mm", "finding")
    rows = [_finding_row(number, found) for number, found in enumerate(told, start=1)]
    return table(head, rows, right=frozenset((0, 2, 3)), width=width)


def _finding_row(number: int, found: Finding) -> tuple[str, ...]:
    x, y, z = found.place
    text = [
        f"{found.title} [{found.kind}: {', '.join(found.ids)}]",
        f"at x {mm_text(x)}, y {mm_text(y)}, z {mm_text(z)}. {found.advice}",
    ]
    text += [f"Tried: {cure.name}: {cure.gives}" for cure in found.remedies]
    return (
        str(number),
        found.verdict.value.upper(),
        mm_text(found.measured_mm),
        mm_text(found.required_mm),
        "\n".join(text),
    )


def _stacks(scene: Scene, depths: tuple[StackDepth, ...], width: int) -> list[str]:
    if not depths:
        return ["no stacks"]
    names = owner_names(scene)
    head = ("stack", "side", "total mm", "clear mm", "left mm", "layers and what limits them")
    rows = [row for depth in depths for row in _stack_rows(depth, names)]
    return table(head, rows, right=frozenset((2, 3, 4)), width=width)


def _stack_rows(depth: StackDepth, names: dict[str, str]) -> Iterator[tuple[str, ...]]:
    layers = ", ".join(
        f"{span.name} {mm_text(span.top_mm - span.base_mm)}" for span in depth.layers
    )
    total, clear, left = (mm_text(v) for v in (depth.total_mm, depth.clear_mm, depth.least.mm))
    yield (names.get(depth.stack, depth.stack), depth.side, total, clear, left, layers)
    for cell in depth.cells:
        yield ("", "", "", "", mm_text(cell.mm), f"over {cell.cell}: to {cell.limited_name}")
