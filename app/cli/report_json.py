"""The report as JSON: `gapwright schema report` prints the schema of these models.

Where a figure is null, nothing limits it or there is none: each field says which.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from app.cli.report_names import owner_names
from app.cli.tolerance_json import Tolerance, ToleranceEntry, tolerance_entry
from catalog.model import Model
from geometry.checks.finding_figures import depth_figure, finding_figure, stack_figure
from geometry.checks.nearest import Nearest, nearest_told
from geometry.checks.runner import Checked
from geometry.checks.survey import Survey
from geometry.checks.words import beside_text
from geometry.depths import limited_beside, standing_out
from geometry.edits import cut_lines
from geometry.finding import Finding, LayerSpan, Leftover, Report, StackDepth
from geometry.layout_file import fingerprint
from geometry.stackup.stack_ups import Figure as StackFigure

Figure = Annotated[float | None, Field(description="mm; null where the check has no figure")]
Place = tuple[float, float, float]


class Counts(Model):
    """How much was found; `clear` counts the parts without any finding."""

    blocked: int
    tight: int
    clear: int
    not_run: int


class Cure(Model):
    """An edit that was tried on a copy and checked again, and what it gives."""

    name: str
    gives: str


class FindingEntry(Model):
    """One finding. `number` is its balloon on the drawing; signed figures are negative when short.

    `ids` name the placed items, obstacles, walls, zones or ports concerned, the part at fault
    first; `names` says the same in words.
    """

    number: int
    kind: str
    verdict: Literal["blocked", "tight", "clear"]
    ids: tuple[str, ...]
    names: tuple[str, ...]
    title: str
    advice: str
    place_mm: Annotated[Place, Field(description="where it shows: x, y, z in the enclosure, mm")]
    measured_mm: Figure
    required_mm: Figure
    to_touching_mm: Annotated[
        float | None, Field(description="mm left until the solids touch; null where none meet")
    ]
    to_margin_mm: Annotated[
        float | None, Field(description="mm left above the margin; null where none is")
    ]
    overlap_mm3: Annotated[
        float | None, Field(description="volume of the shared room, mm3; null where none is")
    ]
    parting_shift_mm: Annotated[
        Place | None, Field(description="least single-axis shift that parts them, mm, or null")
    ]
    remedies: tuple[Cure, ...]
    tolerance: Tolerance


class NotRunEntry(Model):
    """A check that could not look at something, and why."""

    kind: str
    ids: tuple[str, ...]
    reason: str


class LayerEntry(Model):
    """One layer of a stack, or what stands out of it, measured from the face of its side's plate.

    The id is that of the layer, or of the solid that stands out.
    """

    id: str
    name: str
    base_mm: float
    top_mm: float


Sideways = Annotated[
    float | None,
    Field(
        description="overlap that a move across the stack parts sooner, mm: then no depth is "
        "missing, and leftover_mm is but the way back out along the stack; else null"
    ),
]


class CellEntry(Model):
    """Leftover depth over one cell."""

    cell: str
    item: str
    reach_mm: Annotated[
        float, Field(description="how far off the plate the face is over which leftover_mm is left")
    ]
    leftover_mm: Annotated[float | None, Field(description="mm; null when nothing is met")]
    sideways_mm: Sideways
    limited_by: Annotated[str | None, Field(description="id of what is met; null when nothing is")]
    limited_name: str
    place_mm: Annotated[Place | None, Field(description="where it would touch, mm, or null")]
    tolerance: Tolerance


class BesideEntry(Model):
    """What limits a stack lies over an item while the tallest thing of the stack stands beside it.

    So `leftover_mm` is to be added to `reach_mm`, not to `total_mm`; `said` tells it in words.
    """

    item: Annotated[str, Field(description="id of the item over which the depth is left")]
    reach_mm: Annotated[float, Field(description="how far that item reaches off the plate there")]
    tallest: Annotated[str, Field(description="name of what reaches total_mm beside it")]
    said: str


class StackEntry(Model):
    """One side of a stack; `leftover_mm` and `sideways_mm` are those of the cell with the least.

    Heights count from the face of the plate on which the side is seated, as those of
    `gapwright depth` do: on the outer side that is the plate's thickness off the zone's datum.
    """

    stack: str
    side: Literal["inner", "outer"]
    layers: tuple[LayerEntry, ...]
    standing_out: Annotated[
        LayerEntry | None,
        Field(description="with it the layers reach total_mm; null where they do alone"),
    ]
    total_mm: float
    clear_depth_mm: Annotated[
        float | None,
        Field(description="mm off the plate to where what limits begins; null when nothing is met"),
    ]
    leftover_mm: Annotated[float | None, Field(description="mm; null when nothing is met")]
    sideways_mm: Sideways
    limited_by: str | None
    limited_beside: Annotated[
        BesideEntry | None,
        Field(description="null where total_mm and leftover_mm add up to clear_depth_mm"),
    ]
    tolerance: Annotated[
        ToleranceEntry | None, Field(description="of the leftover depth; null where it has none")
    ]
    cells: tuple[CellEntry, ...]


class NearestEntry(Model):
    """What stands nearest to the port end of a part, or to the rest of it.

    A second entry tells what leaves less in the worst case and has another gap to keep. `of` is
    the solid of the part and `to` the one that it stands `gap_mm` from, by name.
    """

    kind: Literal["port_end", "clearance"]
    part: str
    of: str
    to: str
    to_owner: str
    gap_mm: Annotated[float, Field(description="mm; negative where both share room")]
    required_mm: float
    tolerance: Tolerance


class ReportFile(Model):
    """What `gapwright check --json` prints."""

    format: Literal["gapwright-report"] = "gapwright-report"
    version: Literal[1] = 1
    file: str
    fingerprint: Annotated[str, Field(description="of the layout, as on the clearance sheet")]
    layout: str
    revision: str
    enclosure: str
    cuts: Annotated[
        tuple[str, ...], Field(description="what has been cut off the enclosure, for good")
    ]
    margin_mm: float
    judge: Literal["worst case", "nominal"]
    counts: Counts
    findings: tuple[FindingEntry, ...]
    not_run: tuple[NotRunEntry, ...]
    stacks: tuple[StackEntry, ...]
    nearest: tuple[NearestEntry, ...]


def report_file(file: str, checked: Checked) -> ReportFile:
    """Return the report on a checked layout as it is printed."""
    scene, report = checked.scene, checked.report
    names = owner_names(scene)
    layout = scene.layout
    return ReportFile(
        file=file,
        fingerprint=fingerprint(layout),
        layout=layout.name,
        revision=layout.revision,
        enclosure=layout.enclosure.name,
        cuts=cut_lines(layout.enclosure),
        margin_mm=layout.settings.margin_mm,
        judge=layout.settings.judge,
        counts=Counts(
            blocked=report.blocked,
            tight=report.tight,
            clear=report.clear,
            not_run=len(report.not_run),
        ),
        findings=tuple(
            _finding(number, found, names, report)
            for number, found in enumerate(report.findings, start=1)
        ),
        not_run=tuple(
            NotRunEntry(kind=note.kind, ids=note.ids, reason=note.reason) for note in report.not_run
        ),
        stacks=tuple(_stack(depth, checked) for depth in report.depths),
        nearest=() if report.survey is None else tuple(_nearest(report.survey)),
    )


def _nearest(survey: Survey) -> Iterator[NearestEntry]:
    for owner in survey.scene.placed:
        yield from (_nearest_entry(*told) for told in nearest_told(survey, owner))


def _nearest_entry(one: Nearest, figure: StackFigure) -> NearestEntry:
    return NearestEntry(
        kind=one.kind,
        part=one.owner,
        of=one.a.name,
        to=one.b.name,
        to_owner=one.b.owner,
        gap_mm=one.gap_mm,
        required_mm=one.required_mm,
        tolerance=tolerance_entry(figure),
    )


def _finding(number: int, found: Finding, names: dict[str, str], report: Report) -> FindingEntry:
    return FindingEntry(
        number=number,
        kind=found.kind,
        verdict=found.verdict.value,
        ids=found.ids,
        names=tuple(names.get(one, one) for one in found.ids),
        title=found.title,
        advice=found.advice,
        place_mm=found.place,
        measured_mm=_finite(found.measured_mm),
        required_mm=found.required_mm,
        to_touching_mm=_finite(found.to_touching_mm),
        to_margin_mm=_finite(found.to_margin_mm),
        overlap_mm3=found.volume_mm3,
        parting_shift_mm=_without_minus_zero(found.shift),
        remedies=tuple(Cure(name=cure.name, gives=cure.gives) for cure in found.remedies),
        tolerance=tolerance_entry(finding_figure(report, found)),
    )


def _stack(depth: StackDepth, checked: Checked) -> StackEntry:
    out = standing_out(checked.scene, depth)
    return StackEntry(
        stack=depth.stack,
        side=depth.side,
        layers=tuple(map(_layer, depth.layers)),
        standing_out=None if out is None else _layer(out),
        total_mm=depth.total_mm,
        clear_depth_mm=_finite(depth.clear_mm),
        leftover_mm=_finite(depth.least.mm),
        sideways_mm=depth.least.sideways_mm,
        limited_by=depth.least.limited_by,
        limited_beside=_beside(depth, checked),
        tolerance=tolerance_entry(stack_figure(checked.report, depth)),
        cells=tuple(_cell(left, checked.report) for left in depth.cells),
    )


def _beside(depth: StackDepth, checked: Checked) -> BesideEntry | None:
    beside = limited_beside(checked.scene, depth)
    if beside is None:
        return None
    return BesideEntry(
        item=depth.least.item,
        reach_mm=beside.reach_mm,
        tallest=beside.tallest,
        said=beside_text(beside),
    )


def _layer(span: LayerSpan) -> LayerEntry:
    return LayerEntry(id=span.layer, name=span.name, base_mm=span.base_mm, top_mm=span.top_mm)


def _cell(left: Leftover, report: Report) -> CellEntry:
    open_ended = math.isinf(left.mm)
    return CellEntry(
        cell=left.cell,
        item=left.item,
        reach_mm=left.reach_mm,
        leftover_mm=_finite(left.mm),
        sideways_mm=left.sideways_mm,
        limited_by=left.limited_by,
        limited_name=left.limited_name,
        place_mm=None if open_ended else left.place,
        tolerance=tolerance_entry(depth_figure(report, left)),
    )


def _finite(value_mm: float | None) -> float | None:
    """Return the value, or None for infinity, which JSON cannot say."""
    return None if value_mm is None or math.isinf(value_mm) else value_mm


def _without_minus_zero(shift: Place | None) -> Place | None:
    return None if shift is None else (shift[0] + 0.0, shift[1] + 0.0, shift[2] + 0.0)
