"""What the sheet says: rows of its tables, read from a checked layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from app.drawing.primitives import Ink
from app.drawing.verdict_words import VERDICT_INK, leftover_word, numbered
from app.sheet.item_references import ListedPart, StopPlugs, item_references
from app.sheet.table import LABEL_MM, Cell, ColumnSpec, Row
from app.sheet.words import NO_FIGURE, counted, figure_mm, grouped_fields, place_text, plain_mm
from geometry.checks.finding_figures import depth_figure
from geometry.checks.words import beside_text, cells_text, layer_text, way_text
from geometry.depths import limited_beside, standing_out
from geometry.edits import cut_lines
from geometry.finding import Verdict
from geometry.layout import JUDGED
from geometry.measures.pose import AXES, way
from geometry.measures.prism import whole_bounds
from geometry.measures.solid import Role
from geometry.measures.tolerance import meets
from geometry.part_solids import seat_thickness_mm
from geometry.placement import obstacle_state
from geometry.stackup.figure_words import limits_sentence
from geometry.zone_names import zone_names

if TYPE_CHECKING:
    from catalog.parts import Part
    from geometry.checks.runner import Checked
    from geometry.finding import Finding, LayerSpan, Leftover, StackDepth
    from geometry.layout import FreePart, Layout
    from geometry.measures.prism import Bounds
    from geometry.measures.solid import Solid

SUMMARY_COLUMNS = (ColumnSpec("", 38, fixed=True), ColumnSpec("", 1))
FINDING_COLUMNS = (
    ColumnSpec("No.", 9, "middle", fixed=True),
    ColumnSpec("Verdict", 18.5, fixed=True),
    ColumnSpec("What, and between which", 46),
    ColumnSpec("Gap", 12.5, "right", fixed=True),
    ColumnSpec("Required", 14, "right", fixed=True),
    ColumnSpec("Place, field", 16, fixed=True),
    ColumnSpec("Advice", 57),
)
STACK_COLUMNS = (
    ColumnSpec("Stack, side", 30),
    ColumnSpec("Layers from the plate", 70),
    ColumnSpec("Total", 14, "right", fixed=True),
    ColumnSpec("Clear depth", 15, "right", fixed=True),
    ColumnSpec("Left over", 16, "right", fixed=True),
    ColumnSpec("Worst case", 15, "right", fixed=True),
    ColumnSpec("Limited by", 42),
)
PART_COLUMNS = (
    ColumnSpec("Item", 34),
    ColumnSpec("Qty", 8, "right", fixed=True),
    ColumnSpec("Name", 54),
    ColumnSpec("Placed", 34),
    ColumnSpec("Dimensions from", 46),
)
UNCHOSEN_COLUMNS = (
    ColumnSpec("Item", 34),
    ColumnSpec("Ports", 12, "right", fixed=True),
    ColumnSpec("Room kept free on each", 70),
    ColumnSpec("Placed", 60),
)
FREE_COLUMNS = (
    ColumnSpec("Item", 12),
    ColumnSpec("Name", 40),
    ColumnSpec("Held", 26),
    ColumnSpec("Origin", 19, fixed=True),
    ColumnSpec("Body, from and to", 31, fixed=True),
    ColumnSpec("Its axes point", 37),
)
ASSUMED_COLUMNS = (
    ColumnSpec("Of", 60),
    ColumnSpec("Assumed: measure before cutting", 116),
)
NOT_RUN_COLUMNS = (
    ColumnSpec("Check", 36),
    ColumnSpec("Of", 50),
    ColumnSpec("Why it could not be run", 90),
)

DATUM = (
    "rear, access-side, floor corner of the inner cavity: x to the front, y from the access side "
    "inward, z up"
)
SEE_SHARES = "Shares: see Tolerances."
MOST_REMEDIES = 2
"""So many remedies of a finding are told, the best first."""


def finding_rows(checked: Checked, fields: Mapping[int, str]) -> list[Row]:
    """Return one row a numbered finding; `fields` names the grid field of its balloon."""
    rows: list[Row] = []
    for number, finding in numbered(checked.report):
        ink = VERDICT_INK[finding.verdict]
        blocked = finding.verdict is Verdict.BLOCKED
        where = place_text(finding.place)
        if number in fields:
            where += f"\nfield {fields[number]}"
        rows.append(
            (
                Cell(str(number), bold=True, ink=ink, ring=ink, heavy=blocked),
                Cell(finding.verdict.value, bold=True, ink=ink),
                _what(checked, finding),
                figure_mm(finding.measured_mm, finding.required_mm or 0.0),
                figure_mm(finding.required_mm),
                Cell(where, height_mm=LABEL_MM),
                Cell(_advice(finding), height_mm=LABEL_MM),
            )
        )
    return rows


def _what(checked: Checked, finding: Finding) -> str:
    """Return a finding's title, with the placed parts that it does not name itself."""
    unnamed = [
        one
        for one in finding.ids
        if one in checked.scene.placed and f"({one})" not in finding.title
    ]
    return f"{finding.title} ({', '.join(unnamed)})" if unnamed else finding.title


def _advice(finding: Finding) -> str:
    """Return the best of the remedies that were tried, then what else would do."""
    ways = [f"{one.name}: {one.gives}" for one in finding.remedies[:MOST_REMEDIES]]
    tried = [f"Checked: {'. Or: '.join(ways)}."] if ways else []
    figure = finding.tolerance
    limits = [] if figure is None else [f"{limits_sentence(figure, figure_mm, 'mm')} {SEE_SHARES}"]
    return "\n".join([*tried, " ".join([finding.advice_last, *limits])])


def stack_rows(checked: Checked) -> list[Row]:
    """Return one row a side of a stack: its layers, their total, what is clear and left."""
    layout = checked.scene.layout
    zones = zone_names(layout.enclosure)
    rows: list[Row] = []
    for depth in checked.report.depths:
        zone = zones.get(layout.stack(depth.stack).zone, "")
        layers = [_layer_text(checked, depth, one) for one in depth.layers]
        out = standing_out(checked.scene, depth)
        if out is not None:
            layers[-1] += f"; {plain_mm(out.top_mm - out.base_mm)} mm stands out"
        beside = limited_beside(checked.scene, depth)
        if beside is not None:
            layers.append(beside_text(beside, _with_unit))
        least = depth.least
        word = leftover_word(least, checked.report, layout.settings.margin_mm)
        rows.append(
            (
                f"{depth.stack}, {depth.side}\n{zone}",
                Cell("\n".join(layers), height_mm=LABEL_MM),
                figure_mm(depth.total_mm),
                figure_mm(depth.clear_mm) if least.sideways_mm is None else NO_FIGURE,
                Cell(_left_text(least), bold=True, ink=word.ink),
                _worst_text(checked, depth),
                Cell(_limits(checked, depth), height_mm=LABEL_MM),
            )
        )
    return rows


def _worst_text(checked: Checked, depth: StackDepth) -> str:
    """Return what a stack leaves in the worst case: the least over all its cells."""
    if depth.least.sideways_mm is not None:
        return ""
    figures = [depth_figure(checked.report, one) for one in depth.cells]
    worst = [figure.worst.worst_mm for figure in figures if figure is not None]
    return figure_mm(min(worst)) if worst else ""


def _left_text(left: Leftover) -> str:
    return figure_mm(left.mm) if left.sideways_mm is None else NO_FIGURE


def _layer_text(checked: Checked, depth: StackDepth, layer: LayerSpan) -> str:
    """Return a layer's thickness and name; the last one may have fittings that stand out of it."""
    scene = checked.scene
    thickness = layer.top_mm - layer.base_mm
    seats = max(
        seat_thickness_mm(one.part)
        for one in scene.items_of(scene.layout.stack(depth.stack))
        if one.layer is not None and one.layer.id == layer.layer
    )
    more = "" if meets(seats, thickness) else ", with what stands out of it"
    return f"{plain_mm(thickness)} mm: {layer_text(scene, depth, layer)}{more}"


def _limits(checked: Checked, depth: StackDepth) -> str:
    """Say what limits a stack, every other cell that is left another depth, and which is which."""
    least = depth.least
    cells = {one.cell for one in depth.cells}
    limit = least.limited_name
    if least.sideways_mm is not None:
        limit = f"overlaps {limit} by {_with_unit(least.sideways_mm)} sideways"
    if len(cells) == 1:
        return limit
    others = {(one.cell, _left_text(one)) for one in depth.cells if one.cell != least.cell}
    frame = checked.scene.frames[checked.scene.layout.stack(depth.stack).zone]
    return "\n".join(
        [
            f"{limit} (cell {least.cell})",
            *(f"cell {cell}: {mm}" for cell, mm in sorted(others)),
            f"({cells_text(frame)})",
        ]
    )


def _with_unit(mm: float) -> str:
    return f"{figure_mm(mm)} mm"


def part_rows(parts: tuple[ListedPart, ...], plugs: tuple[StopPlugs, ...]) -> list[Row]:
    """Return the rows of the parts list, and the plugs that close ports at its end."""
    rows: list[Row] = [
        (
            Cell(", ".join(one.references), bold=True),
            str(one.quantity),
            one.part.name,
            Cell(_where(one), height_mm=LABEL_MM),
            Cell(_origins(one.part), height_mm=LABEL_MM),
        )
        for one in parts
    ]
    for plug in plugs:
        where = Cell(f"on {', '.join(plug.on)}", height_mm=LABEL_MM)
        brought = Cell("for closed ports; may come with the part", height_mm=LABEL_MM)
        name = f"Stop plug {plug.thread}"
        rows.append((NO_FIGURE, str(plug.quantity), name, where, brought))
    return rows


def unchosen_rows(fittings: tuple[ListedPart, ...]) -> list[Row]:
    """Return the room assumed on open ports for which no fitting is chosen."""
    return [
        (
            Cell(", ".join(one.references), bold=True),
            str(one.quantity),
            f"{one.part.name} mm: choose the fitting, then check again",
            Cell(_where(one), height_mm=LABEL_MM),
        )
        for one in fittings
    ]


def free_rows(checked: Checked) -> list[Row]:
    """Return one row a part placed free: what holds it, and where it is from the datum."""
    scene = checked.scene
    references = item_references(scene.layout)
    rows: list[Row] = []
    for free in scene.layout.free:
        bounds = _body_bounds(scene.solids_of[free.id])
        x, z = (way_text(way(name)) for name in (free.x_to, free.z_to))
        rows.append(
            (
                Cell(references[free.id], bold=True),
                scene.placed[free.id].part.name,
                Cell(_held(checked, free), height_mm=LABEL_MM),
                place_text(free.at_mm),
                "\n".join(
                    f"{axis} {figure_mm(bounds[k])} to {figure_mm(bounds[k + 3])}"
                    for k, axis in enumerate(AXES)
                ),
                Cell(f"X {x} ({free.x_to})\nZ {z} ({free.z_to})", height_mm=LABEL_MM),
            )
        )
    return rows


def _held(checked: Checked, free: FreePart) -> str:
    held = free.held
    if held.by == "nothing":
        return "by nothing yet"
    on = f" on {checked.scene.name_of(held.on)}" if held.on else ""
    cells = f", cells {', '.join(held.cells)}" if held.cells else ""
    return f"by {held.by}{on}{cells}"


def _body_bounds(solids: Sequence[Solid]) -> Bounds:
    """Return the box round a part without its fittings (mm, world axes)."""
    body = (one for one in solids if one.hard and one.role is not Role.FITTING)
    return whole_bounds([prism for one in body for prism in one.prisms])


def _where(one: ListedPart) -> str:
    """Say where a row's parts stand, and the ids in the file that differ from the references."""
    renamed = [f"{ref} is {own}" for ref, own in one.renamed]
    return "\n".join([", ".join(one.places), *renamed])


def _origins(part: Part) -> str:
    counts: Counter[str] = Counter(dimension.origin for dimension in part.dimensions.values())
    words = {"measured": "measured", "drawing": "from a drawing", "assumed": "assumed"}
    known = [f"{counts[origin]} {word}" for origin, word in words.items() if counts[origin]]
    return "; ".join([part.source, *([", ".join(known)] if known else [])])


def assumed_rows(layout: Layout, parts: tuple[ListedPart, ...]) -> list[Row]:
    """Return which dimensions are assumed, part by part, then the enclosure's."""
    rows: list[Row] = []
    for thing in (*(one.part for one in parts), layout.enclosure):
        paths = [path for path, how in thing.dimensions.items() if how.origin == "assumed"]
        if paths:
            rows.append((thing.name, Cell(grouped_fields(paths), height_mm=LABEL_MM)))
    return rows


def not_run_rows(checked: Checked) -> list[Row]:
    """Return what could not be checked, and why."""
    return [
        (one.kind.replace("_", " "), ", ".join(one.ids), one.reason)
        for one in checked.report.not_run
    ]


def summary_rows(checked: Checked, fingerprint: str, scale: str, balloons: int) -> list[Row]:
    """Return the sheet's key data as label and value; `balloons` counts those in the views."""
    layout, report = checked.scene.layout, checked.report
    settings = layout.settings
    margin = f"{plain_mm(settings.margin_mm)} mm"
    pairs = [f"{' to '.join(one.roles)} {plain_mm(one.margin_mm)} mm" for one in settings.margins]
    rows: list[Row] = [
        ("Layout", Cell(layout.name, bold=True)),
        ("Enclosure", layout.enclosure.name),
        *cut_rows(layout),
        (
            "Verdicts",
            f"{report.blocked} blocked, {report.tight} tight, "
            f"{counted(report.clear, 'part')} clear; "
            f"{counted(len(report.not_run), 'check')} not run",
        ),
        ("Datum", DATUM),
        ("Margin used", "; ".join([margin, *pairs])),
        (
            "Judged",
            f"{JUDGED[settings.judge]}; tolerances as given, else ISO 2768-1 class m; screws with "
            "0.5 mm of play; statistical limits cover 99.73 % of assemblies",
        ),
        ("Views", _views_text(checked, scale, balloons)),
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


def cut_rows(layout: Layout) -> list[Row]:
    """Return the row that says what of the enclosure is cut; none where nothing is."""
    lines = cut_lines(layout.enclosure)
    if not lines:
        return []
    text = "\n".join([*lines, "Not the enclosure as it was made: cutting is irreversible."])
    return [("Modified enclosure", Cell(text, bold=True, ink=Ink.BLOCKED))]


def _views_text(checked: Checked, scale: str, balloons: int) -> str:
    projection = checked.scene.layout.settings.projection
    text = f"side and bottom, scale {scale}, {projection} projection"
    if balloons < len(numbered(checked.report)):
        text += f"; balloons of the first {balloons} findings only"
    return text
