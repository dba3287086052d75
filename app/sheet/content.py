"""What the sheet says: rows of its tables, read from a checked layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.primitives import Ink
from app.sheet.table import Cell, ColumnSpec, Row
from app.sheet.words import figure_mm, grouped_fields, place_text, plain_mm
from catalog.parts import Part, part_ports
from geometry.finding import Finding, StackDepth, Verdict
from geometry.layout import Layout, PortUse
from geometry.part_solids import DEFAULT_FITTING
from geometry.placement import obstacle_state

if TYPE_CHECKING:
    from catalog.enclosure import Enclosure
    from geometry.checks.runner import Checked

VERDICT_INK = {
    Verdict.BLOCKED: Ink.BLOCKED,
    Verdict.TIGHT: Ink.TIGHT,
    Verdict.CLEAR: Ink.CLEAR,
}

SUMMARY_COLUMNS = (ColumnSpec("", 36), ColumnSpec("", 140))
FINDING_COLUMNS = (
    ColumnSpec("No.", 9, "middle"),
    ColumnSpec("Verdict", 18),
    ColumnSpec("What, and between which", 48),
    ColumnSpec("Gap", 15, "right"),
    ColumnSpec("Asked for", 14, "right"),
    ColumnSpec("Place, field", 21),
    ColumnSpec("Advice", 51),
)
STACK_COLUMNS = (
    ColumnSpec("Stack, side", 38),
    ColumnSpec("Layers from the plate", 62),
    ColumnSpec("Total", 15, "right"),
    ColumnSpec("Clear depth", 16, "right"),
    ColumnSpec("Left over", 16, "right"),
    ColumnSpec("Limited by", 29),
)
PART_COLUMNS = (
    ColumnSpec("Item", 10, "middle"),
    ColumnSpec("Qty", 9, "right"),
    ColumnSpec("Name", 55),
    ColumnSpec("Placed as", 46),
    ColumnSpec("Dimensions from", 56),
)
ASSUMED_COLUMNS = (
    ColumnSpec("Item", 10, "middle"),
    ColumnSpec("Of", 50),
    ColumnSpec("Assumed, to be measured before metal is cut", 116),
)
NOT_RUN_COLUMNS = (
    ColumnSpec("Check", 36),
    ColumnSpec("Of", 50),
    ColumnSpec("Why it could not be run", 90),
)


@dataclass(frozen=True)
class ListedPart:
    """One row of the parts list: its reference, the part, and the placed ids that use it."""

    reference: str
    part: Part
    ids: tuple[str, ...]
    quantity: int


def numbered_findings(checked: Checked) -> tuple[tuple[int, Finding], ...]:
    """Return the findings that have a balloon, with its number: the blocked, then the tight."""
    shown = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
    return tuple(enumerate(shown, start=1))


def reference_letters(index: int) -> str:
    """Return the item reference of a row: A to Z, then AA and on (ISO 6433 admits letters).

    >>> [reference_letters(k) for k in (0, 25, 26, 51, 52)]
    ['A', 'Z', 'AA', 'AZ', 'BA']
    """
    letters = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def listed_parts(layout: Layout) -> tuple[ListedPart, ...]:
    """Return the parts list: placed parts in file order, then the fittings on their open ports."""
    ids: dict[str, list[str]] = {}
    parts: dict[str, Part] = {}
    fittings: Counter[str] = Counter()
    at: dict[str, list[str]] = {}
    for placed_id, part_id, ports in _placed(layout):
        part = layout.part(part_id)
        parts[part_id] = part
        ids.setdefault(part_id, []).append(placed_id)
        for port in part_ports(part):
            use = ports.get(port.id) or PortUse(plugged=not port.open)
            if use.plugged:
                continue
            fitting = layout.part(use.fitting) if use.fitting is not None else DEFAULT_FITTING
            fittings[fitting.id] += 1
            parts.setdefault(fitting.id, fitting)
            at.setdefault(fitting.id, []).append(f"{placed_id} port {port.id}")
    rows = [(part_id, tuple(which), len(which)) for part_id, which in ids.items()]
    rows += [(one, tuple(at[one]), count) for one, count in fittings.items()]
    return tuple(
        ListedPart(reference_letters(k), parts[part_id], which, count)
        for k, (part_id, which, count) in enumerate(rows)
    )


def _placed(layout: Layout) -> Iterator[tuple[str, str, Mapping[str, PortUse]]]:
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            for item in layer.items:
                yield item.id, item.part, item.ports
    for free in layout.free:
        yield free.id, free.part, free.ports


def finding_rows(checked: Checked, fields: Mapping[int, str]) -> list[Row]:
    """Return one row a numbered finding; `fields` names the grid field of its balloon."""
    rows: list[Row] = []
    for number, finding in numbered_findings(checked):
        ink = VERDICT_INK[finding.verdict]
        where = place_text(finding.place)
        if number in fields:
            where += f"\nfield {fields[number]}"
        advice = [finding.advice]
        advice += [f"Tried and checked: {one.name}: {one.gives}." for one in finding.remedies]
        rows.append(
            (
                Cell(str(number), bold=True, ink=ink, ring=ink),
                Cell(finding.verdict.value, bold=True, ink=ink),
                f"{finding.title}\n({', '.join(finding.ids)})",
                figure_mm(finding.measured_mm, finding.required_mm or 0.0),
                figure_mm(finding.required_mm),
                where,
                "\n".join(line.replace("..", ".") for line in advice),
            )
        )
    return rows


def stack_rows(checked: Checked) -> list[Row]:
    """Return one row a side of a stack: its layers, their total, what is clear and left."""
    layout = checked.scene.layout
    zones = {zone.id: zone.name for zone in layout.enclosure.zones}
    rows: list[Row] = []
    for depth in checked.report.depths:
        zone = zones.get(layout.stack(depth.stack).zone, "")
        layers = [f"{plain_mm(one.top_mm - one.base_mm)}  {one.name}" for one in depth.layers]
        least = depth.least
        short = least.mm < 0
        rows.append(
            (
                f"{depth.stack}, {depth.side}\n{zone}",
                "\n".join(layers),
                figure_mm(depth.total_mm),
                figure_mm(depth.clear_mm),
                Cell(figure_mm(least.mm), bold=True, ink=Ink.BLOCKED if short else Ink.TEXT),
                _limits(depth),
            )
        )
    return rows


def _limits(depth: StackDepth) -> str:
    """Say what limits a stack, and every other cell that is left another depth."""
    least = depth.least
    lines = [f"{least.limited_name} (cell {least.cell})"]
    others = {(one.cell, figure_mm(one.mm)) for one in depth.cells}
    others.discard((least.cell, figure_mm(least.mm)))
    lines += [f"cell {cell}: {mm}" for cell, mm in sorted(others)]
    return "\n".join(lines)


def part_rows(parts: tuple[ListedPart, ...]) -> list[Row]:
    """Return the rows of the parts list."""
    return [
        (
            Cell(one.reference, bold=True),
            str(one.quantity),
            one.part.name,
            ", ".join(one.ids),
            _origins(one.part),
        )
        for one in parts
    ]


def _origins(part: Part | Enclosure) -> str:
    counts = Counter(dimension.origin for dimension in part.dimensions.values())
    words = {"measured": "measured", "drawing": "from a drawing", "assumed": "assumed"}
    known = [f"{counts[origin]} {word}" for origin, word in words.items() if counts[origin]]
    return "\n".join([part.source, *([", ".join(known)] if known else [])])


def assumed_rows(layout: Layout, parts: tuple[ListedPart, ...]) -> list[Row]:
    """Return which dimensions are assumed, part by part, then the enclosure's."""
    rows: list[Row] = []
    listed = [(one.reference, one.part) for one in parts]
    for reference, thing in (*listed, ("", layout.enclosure)):
        paths = [path for path, how in thing.dimensions.items() if how.origin == "assumed"]
        if paths:
            rows.append((Cell(reference, bold=True), thing.name, grouped_fields(paths)))
    return rows


def not_run_rows(checked: Checked) -> list[Row]:
    """Return what could not be checked, and why."""
    return [(one.kind, ", ".join(one.ids), one.reason) for one in checked.report.not_run]


def summary_rows(checked: Checked, fingerprint: str, scale: str) -> list[Row]:
    """Return the sheet's key data as label and value."""
    layout, report = checked.scene.layout, checked.report
    settings = layout.settings
    margin = f"{plain_mm(settings.margin_mm)} mm"
    pairs = [f"{' to '.join(one.roles)} {plain_mm(one.margin_mm)} mm" for one in settings.margins]
    rows: list[Row] = [
        ("Layout", Cell(layout.name, bold=True)),
        ("Enclosure", layout.enclosure.name),
        (
            "Verdicts",
            f"{report.blocked} blocked, {report.tight} tight, {report.clear} parts clear; "
            f"{len(report.not_run)} checks not run",
        ),
        ("Margin used", "; ".join([margin, *pairs])),
        ("Views", f"side and bottom, scale {scale}, {settings.projection} projection"),
        ("Layout fingerprint", fingerprint),
    ]
    states = [
        f"{one.name}: {obstacle_state(one, layout.states).name}"
        for one in layout.enclosure.obstacles
        if len(one.states) > 1
    ]
    if states:
        rows.append(("Drawn with", "; ".join(states)))
    return rows
