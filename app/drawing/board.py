"""The drawing board: all linked views of a layout as one drawing, in groups by what they show.

Keys, from the back to the front: `wall:<view>`, `zone:<view>:<zone>`, `solid:<view>:<owner>`,
`hidden:<view>:<owner>`, `label:<view>:<owner>`, `keep-out:<view>:<owner>`,
`selected:<view>:<owner>`, `overall:<view>`, `depth:<stack>:<side>`, `stack:<view>:<stack>:<side>`,
`marks:<view>:<n>`, `finding:<n>`, `title:<view>`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app.drawing.annotations import anchor_of, best_view, finding_marks
from app.drawing.balloons import (
    Call,
    Columns,
    Placed,
    balloon_box,
    balloon_group,
    place_balloons,
)
from app.drawing.depth_marks import (
    OVERALL_CAPS,
    leftover_dimension,
    overall_dimensions,
    stack_dimensions,
)
from app.drawing.drafting import Drafting
from app.drawing.frame import BoardFrame, BoardSettings, ViewFrame, union_bounds
from app.drawing.hidden import hidden_primitives, nearer_owners
from app.drawing.labels import part_label
from app.drawing.memory import Memory, Same
from app.drawing.owners import Shown, owners_of
from app.drawing.primitives import Bounds, Drawing, Group, Ink, Text
from app.drawing.room import wall_primitives, zone_primitives
from app.drawing.silhouettes import drawn, outline_in, overlaps
from app.drawing.views import body_primitives, far_to_near, keep_out_primitives
from app.drawing.words import note_text, numbered

if TYPE_CHECKING:
    from collections.abc import Mapping

    from geometry.checks.runner import Checked
    from geometry.finding import Finding
    from geometry.solid import Solid

__all__ = [
    "BoardFrame",
    "BoardMemory",
    "BoardSettings",
    "ViewFrame",
    "board_drawing",
    "paper_drawing",
]

BoardMemory = Memory[tuple[Group, ...]]


@dataclass(frozen=True)
class Shows:
    """What a board shows beside the parts. Ids are of placed parts, obstacles and stacks."""

    selection: frozenset[str] = frozenset()
    lit_finding: int | None = None
    labels: bool = True
    stack_chains: bool = False


def board_drawing(
    checked: Checked,
    frame: BoardFrame,
    mm_per_px: float,
    selection: frozenset[str] = frozenset(),
    *,
    lit_finding: int | None = None,
    memory: BoardMemory | None = None,
) -> Drawing:
    """Return the board as it shows on a screen where one pixel is `mm_per_px`.

    `selection` holds ids of placed parts and obstacles to be outlined; `lit_finding` is the
    number of a finding whose balloon stands out. Pass the same `memory` each time, and groups
    that did not change are the same objects as before.
    """
    shows = Shows(selection, lit_finding)
    return _drawing(
        checked,
        frame,
        Drafting.on_screen(mm_per_px),
        shows,
        memory if memory is not None else Memory(),
    )


def paper_drawing(checked: Checked, frame: BoardFrame, one_to: float) -> Drawing:
    """Return the board for paper at the scale 1 : `one_to`, in world millimetres.

    Shrink it by `one_to` to put it on a sheet. Stacks carry their chains of dimensions.
    """
    return _drawing(checked, frame, Drafting.on_paper(one_to), Shows(stack_chains=True), Memory())


def _drawing(
    checked: Checked,
    frame: BoardFrame,
    drafting: Drafting,
    shows: Shows,
    memory: BoardMemory,
) -> Drawing:
    board = _Board(checked, frame, drafting, shows, memory)
    groups = tuple(board.groups())
    memory.forget_unused()
    return Drawing(union_bounds([frame.bounds, *board.extents]), groups)


@dataclass
class _Board:
    """One drawing in the making. `extents` gathers what reaches beyond the views."""

    checked: Checked
    frame: BoardFrame
    drafting: Drafting
    shows: Shows
    memory: BoardMemory
    extents: list[Bounds] = field(default_factory=list)

    def groups(self) -> Iterator[Group]:
        """Yield all groups from the back to the front."""
        scene = self.checked.scene
        owners = owners_of(scene)
        ordered = {view.name: far_to_near(owners, view) for view in self.frame.views}
        findings = self._placed_findings(ordered)
        depths, boxes = self._depths()
        leaders = tuple((one.centre, one.call.anchor) for one in findings)
        for view in self.frame.views:
            yield from self._room(view)
            yield from self._solids(view, ordered[view.name], boxes, leaders)
            yield from self._free_zones(view)
        yield from self._overall()
        if self.shows.stack_chains:
            yield from self._chains()
        yield from depths
        yield from self._marks()
        for one in findings:
            self.extents.append(balloon_box(one, self.drafting))
            lit = one.call.number == self.shows.lit_finding
            yield balloon_group(one, self.drafting, lit=lit)

    # walls and zones

    def _room(self, view: ViewFrame) -> Iterator[Group]:
        enclosure = self.checked.scene.layout.enclosure
        key = f"wall:{view.name}"
        yield from self.memory.get(
            key,
            (Same(enclosure), view, self.drafting),
            lambda: (Group(key, wall_primitives(enclosure, view, self.drafting), 0),),
        )
        yield from self._zones(view, empty=False, level=10)

    def _free_zones(self, view: ViewFrame) -> Iterator[Group]:
        yield from self._zones(view, empty=True, level=6_000)

    def _zones(self, view: ViewFrame, *, empty: bool, level: int) -> Iterator[Group]:
        scene = self.checked.scene
        taken = {stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer}
        for zone_id, zone in scene.frames.items():
            if not zone.present or (zone_id not in taken) != empty:
                continue
            key = f"zone:{view.name}:{zone_id}"
            yield from self.memory.get(
                key,
                (Same(zone.zone), zone.pose, view, self.drafting, empty),
                lambda zone=zone, key=key: (
                    Group(key, zone_primitives(zone, view, self.drafting, empty=empty), level),
                ),
            )

    # parts

    def _solids(
        self,
        view: ViewFrame,
        ordered: tuple[Shown, ...],
        annotated: tuple[Bounds, ...],
        leaders: tuple[tuple[tuple[float, float], tuple[float, float]], ...],
    ) -> Iterator[Group]:
        boxes = tuple(view.box(shown.bounds) for shown in ordered)
        nearer = nearer_owners(ordered, boxes)
        for place, shown in enumerate(ordered):
            yield from self._bodies(view, shown, place)
        for shown, over in zip(ordered, nearer, strict=True):
            key = f"hidden:{view.name}:{shown.owner}"
            stamp = (shown.solids, tuple(other.solids for other in over), view, self.drafting)
            yield from self.memory.get(
                key,
                stamp,
                lambda shown=shown, over=over, key=key: self._hidden(key, shown, over, view),
            )
        for shown, over, box in zip(ordered, nearer, boxes, strict=True):
            key = f"label:{view.name}:{shown.owner}"
            taken = tuple(other for other in annotated if overlaps(other, box))
            lines = tuple(line for line in leaders if _line_meets(line, box))
            stamp = (
                shown.solids,
                shown.label,
                tuple(other.solids for other in over),
                taken,
                lines,
                view,
                self.drafting,
            )
            yield from self.memory.get(
                key,
                stamp,
                lambda shown=shown, over=over, key=key, taken=taken, lines=lines: self._label(
                    key, shown, over, taken, lines, view
                ),
            )
        for shown in ordered:
            yield from self._rooms_and_selection(view, shown)

    def _bodies(self, view: ViewFrame, shown: Shown, place: int) -> tuple[Group, ...]:
        key = f"solid:{view.name}:{shown.owner}"
        one = shown.placed
        air = one.stack.air if one is not None and one.stack is not None else None
        use = one.use if one is not None else None
        return self.memory.get(
            key,
            (shown.solids, use, air, view, self.drafting, place),
            lambda: (Group(key, body_primitives(shown, view, self.drafting), 1_000 + place),),
        )

    def _hidden(
        self, key: str, shown: Shown, over: tuple[Shown, ...], view: ViewFrame
    ) -> tuple[Group, ...]:
        lines = hidden_primitives(shown, over, view, self.drafting)
        return (Group(key, lines, 3_000),) if lines else ()

    def _label(
        self,
        key: str,
        shown: Shown,
        over: tuple[Shown, ...],
        taken: tuple[Bounds, ...],
        lines: tuple[tuple[tuple[float, float], tuple[float, float]], ...],
        view: ViewFrame,
    ) -> tuple[Group, ...]:
        label = part_label(shown, over, taken, lines, view, self.drafting)
        return (Group(key, (label,), 4_000),) if label is not None else ()

    def _rooms_and_selection(self, view: ViewFrame, shown: Shown) -> Iterator[Group]:
        if any(not solid.hard for solid in shown.solids):
            key = f"keep-out:{view.name}:{shown.owner}"
            yield from self.memory.get(
                key,
                (shown.solids, view, self.drafting),
                lambda: (
                    Group(key, keep_out_primitives(shown.solids, view, self.drafting), 5_000),
                ),
            )
        if shown.owner in self.shows.selection:
            line = self.drafting.wide(Ink.SELECTION)
            shapes = tuple(
                drawn(outline_in(view, prism), line)
                for solid in shown.hard
                for prism in solid.prisms
            )
            yield Group(f"selected:{view.name}:{shown.owner}", shapes, 7_000)

    # annotation

    def _overall(self) -> Iterator[Group]:
        layout = self.checked.scene.layout
        drafting = self.drafting
        for name, dims in overall_dimensions(layout.enclosure, self.frame, drafting).items():
            primitives = tuple(p for dim in dims for p in dim.primitives)
            self.extents.extend(dim.box for dim in dims)
            yield Group(f"overall:{name}", primitives, 7_100)
        for view in self.frame.views:
            caps = OVERALL_CAPS + 2.4 if view.name == "side" else 1.4
            at = (view.rect[0], view.rect[1] - caps * drafting.cap_mm)
            text = Text(at, view.title, drafting.small_cap_mm, Ink.MUTED, bold=True)
            self.extents.append((at[0], at[1] - drafting.cap_mm, at[0], at[1]))
            yield Group(f"title:{view.name}", (text,), 7_200)

    def _depths(self) -> tuple[list[Group], tuple[Bounds, ...]]:
        layout = self.checked.scene.layout
        groups = []
        boxes: list[Bounds] = []
        for depth in self.checked.report.depths:
            if not depth.cells:
                continue
            primitives: list[object] = []
            for view in self.frame.views:
                dim = leftover_dimension(
                    depth.least, layout.settings.margin_mm, view, self.drafting, tuple(boxes)
                )
                if dim is not None:
                    primitives.extend(dim.primitives)
                    boxes.append(dim.box)
            if primitives:
                key = f"depth:{depth.stack}:{depth.side}"
                groups.append(Group(key, tuple(primitives), 7_500))  # type: ignore[arg-type]
        return groups, tuple(boxes)

    def _chains(self) -> Iterator[Group]:
        scene = self.checked.scene
        for depth in self.checked.report.depths:
            stack = scene.layout.stack(depth.stack)
            items = [one for one in scene.items_of(stack) if one.side == depth.side]
            for view in self.frame.views:
                dims = stack_dimensions(depth, scene.frames[stack.zone], items, view, self.drafting)
                if dims:
                    self.extents.extend(dim.box for dim in dims)
                    primitives = tuple(p for dim in dims for p in dim.primitives)
                    yield Group(f"stack:{view.name}:{depth.stack}:{depth.side}", primitives, 7_400)

    def _marks(self) -> Iterator[Group]:
        scene = self.checked.scene
        solids_of: dict[str, tuple[Solid, ...]] = dict(scene.solids_of)
        for solid in scene.fixed:
            solids_of[solid.owner] = (*solids_of.get(solid.owner, ()), solid)
        for number, finding in numbered(self.checked.report):
            for view in self.frame.views:
                yield from self._mark(view, number, finding, solids_of)

    def _mark(
        self,
        view: ViewFrame,
        number: int,
        finding: Finding,
        solids_of: Mapping[str, tuple[Solid, ...]],
    ) -> tuple[Group, ...]:
        key = f"marks:{view.name}:{number}"
        parties = tuple(solids_of.get(one) for one in finding.ids)
        stamp = (finding.kind, finding.verdict, finding.required_mm, parties, view, self.drafting)

        def make() -> tuple[Group, ...]:
            marks = finding_marks(finding, solids_of, view, self.drafting)
            return (Group(key, marks, 7_600),) if marks else ()

        return self.memory.get(key, stamp, make)

    def _placed_findings(self, ordered: Mapping[str, tuple[Shown, ...]]) -> list[Placed]:
        calls: dict[str, list[Call]] = {view.name: [] for view in self.frame.views}
        for number, finding in numbered(self.checked.report):
            view = best_view(finding, self.frame, ordered)
            anchor = anchor_of(finding, view)
            calls[view.name].append(Call(number, anchor, note_text(finding), finding.verdict))
        out: list[Placed] = []
        for view in self.frame.views:
            columns = self._columns(view)
            out.extend(place_balloons(tuple(calls[view.name]), columns, self.drafting))
        return out

    def _columns(self, view: ViewFrame) -> Columns:
        cap, r = self.drafting.cap_mm, self.drafting.balloon_mm
        x0, y0, x1, y1 = view.rect
        dimensioned = view.name != "end"
        left = x0 - (OVERALL_CAPS + 1.9) * cap * dimensioned - 1.8 * r
        middle = (x0 + x1) / 2
        if view.name == "end":
            # The other side is the side view's.
            middle = x0 if self.frame.projection == "third-angle" else x1
        return Columns(left, x1 + 2.4 * r, y0 + r, y1 - r, middle)


def _line_meets(line: tuple[tuple[float, float], tuple[float, float]], box: Bounds) -> bool:
    (ax, ay), (bx, by) = line
    return overlaps((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)), box)
