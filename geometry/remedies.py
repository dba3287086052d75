"""Edits that would mend a finding, each tried on a copy of the layout and checked again in full.

An edit is offered only when, with it, the fault is gone and no other fault has come or has grown.
For a port end it is told in a clause why a flip or a turned face is not advised, where that is so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from math import ceil

from catalog.enclosure import Obstacle, ObstacleState
from catalog.parts import Exchanger, Part
from geometry.checks.bolting import slide_room
from geometry.checks.survey import Survey, is_port_side
from geometry.checks.words import called, mm_text, move_text, slide_text
from geometry.edits import (
    EditError,
    flip_port_end,
    move_free,
    new_holes_note,
    next_thickness,
    set_air,
    set_slide,
    set_state,
    state_words,
    turn_over,
)
from geometry.finding import Finding, Remedy, Report, Verdict
from geometry.layout import FreePart, Item, Layout, Stack
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.overlap import Shift
from geometry.measures.pose import Vec, Way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.search.mending.stack_changes import fan_plans
from geometry.stack_sides import out_way

Recheck = Callable[[Layout], Report]

Confirm = Callable[[Layout, Report], Report]
"""Takes a changed layout and what `Recheck` said of it."""

MOST_TRIES = 60
"""So many changed layouts are checked for one report; a hopeless layout must not take minutes."""

MOST_REMEDIES = 3

CLEARS = "clears this finding"

Key = tuple[str, str]


@dataclass(frozen=True)
class Change:
    """An edit to try; a `last_resort` only when nothing simpler has helped.

    `of_port` is the part whose port side it moves, for the word on what it gives; `doing` says
    the same edit in a clause, for one that is not advised; `why` follows on what it gives, where
    its figure is more than the finding says is missing. `touches` is what it changes where the
    name does not tell: two things may have the same name.
    """

    name: str
    edit: Callable[[Layout], Layout]
    of_port: str | None = None
    doing: str = ""
    last_resort: bool = False
    why: str = ""
    touches: str = ""

    @property
    def key(self) -> Key:
        """What tells it from the other changes of a layout."""
        return self.name, self.touches


@dataclass
class _Bench:
    """Tries changes on one layout, each once."""

    scene: Scene
    report: Report
    recheck: Recheck
    confirm: Confirm
    tried: dict[Key, tuple[Layout, Report] | None] = field(default_factory=dict)
    confirmed: dict[Key, Report] = field(default_factory=dict)

    def outcome(self, change: Change) -> tuple[Layout, Report] | None:
        """Return the layout and report after a change; None when it cannot be made."""
        if change.key not in self.tried:
            if len(self.tried) >= MOST_TRIES:
                return None
            try:
                layout = change.edit(self.scene.layout)
            except EditError:
                self.tried[change.key] = None
            else:
                same = layout is self.scene.layout
                self.tried[change.key] = None if same else (layout, self.recheck(layout))
        return self.tried[change.key]

    def in_worst_case(self, change: Change, layout: Layout, after: Report) -> Report:
        """Return the report of a change that looks good, its worst cases among it."""
        if change.key not in self.confirmed:
            self.confirmed[change.key] = self.confirm(layout, after)
        return self.confirmed[change.key]


def with_remedies(scene: Scene, report: Report, recheck: Recheck, confirm: Confirm) -> Report:
    """Return the report with each fault's remedies, and with why a flip does not help.

    `recheck` returns the report of a changed layout, without remedies of its own; `confirm` does
    too, and looks at the worst cases, for changes that look good without; it is given what was
    said without, so that nothing is measured again.
    """
    bench = _Bench(scene, report, recheck, confirm)
    findings = tuple(
        one if one.verdict is Verdict.CLEAR else _mended(bench, one) for one in report.findings
    )
    return replace(report, findings=findings)


def _mended(bench: _Bench, finding: Finding) -> Finding:
    remedies: list[Remedy] = []
    told: list[str] = []
    for change in changes_for(bench.scene, finding):
        if len(remedies) == MOST_REMEDIES:
            break
        if change.last_resort and remedies:
            continue
        outcome = bench.outcome(change)
        if outcome is None:
            continue
        layout, after = outcome
        worse = new_faults(bench.report, after)
        cured = not _still_there(finding, after)
        if cured and not worse:
            after = bench.in_worst_case(change, layout, after)
            worse = new_faults(bench.report, after)
            cured = not _still_there(finding, after)
        gives = _gives(bench.scene, finding, change, after)
        if cured and not worse:
            remedies.append(Remedy(change.name, layout, gives))
        elif change.doing:
            why = _in_brief(bench.scene, worse[0]) if worse and cured else gives
            told.append(f"{change.doing} ({why})")
    refused = [f"Not advised: {'; '.join(told)}."] if told else []
    advice = " ".join([finding.advice, *refused])
    return replace(finding, advice=advice, remedies=tuple(remedies))


def _in_brief(scene: Scene, fault: Finding) -> str:
    """Say which fault an edit would bring: "then blocked: E1, duct"."""
    concerned = (one if one in scene.placed else scene.name_of(one) for one in fault.ids)
    return f"then {fault.verdict.value}: {', '.join(concerned)}"


def fault_key(finding: Finding) -> tuple[str, frozenset[str]]:
    """Return what makes two findings the same fault: its kind and the things concerned."""
    return finding.kind, frozenset(finding.ids)


def faults(report: Report) -> dict[tuple[str, frozenset[str]], Finding]:
    """Return all blocked and tight findings of a report."""
    return {fault_key(f): f for f in report.findings if f.verdict is not Verdict.CLEAR}


def new_faults(before: Report, after: Report) -> list[Finding]:
    """Return the faults of `after` that `before` does not have, or has in a lesser degree."""
    old = faults(before)
    return [f for key, f in faults(after).items() if key not in old or _grown(old[key], f)]


def _grown(old: Finding, new: Finding) -> bool:
    if old.verdict is not new.verdict:
        return new.verdict is Verdict.BLOCKED
    if old.measured_mm is None or new.measured_mm is None:
        return False
    return new.measured_mm < old.measured_mm - LENGTH_EPS_MM


def _still_there(finding: Finding, after: Report) -> bool:
    """Whether a fault is there after a change, were it in a lesser degree."""
    return fault_key(finding) in faults(after)


def _gives(scene: Scene, finding: Finding, change: Change, after: Report) -> str:
    """Say what a change gives: for a port end the gap that it then keeps."""
    if change.of_port is None or after.survey is None:
        return f"{CLEARS}{change.why}"
    other = next((one for one in finding.ids if one != change.of_port), None)
    there = faults(after).get(fault_key(finding))
    if there is not None and there.shift is not None:
        gap = there.measured_mm
    else:
        gap = port_gap_mm(after.survey, change.of_port, other) if other is not None else None
    if gap is None or other is None:
        return f"{CLEARS}{change.why}"
    if gap < 0:
        return f"overlaps {called(scene, other)} {mm_text(-gap)}"
    return f"leaves {mm_text(gap)} to {called(scene, other)}"


def port_gap_mm(survey: Survey, owner: str, other: str) -> float | None:
    """Return the signed gap between the port side of one part and another (mm); None if absent."""
    scene = survey.scene
    own = [p for s in scene.solids_of[owner] if is_port_side(s) and s.hard for p in s.prisms]
    theirs = [p for s in scene.solids if s.owner == other and s.hard for p in s.prisms]
    return signed_gap_mm(own, theirs) if own and theirs else None


# ---- which changes may help ----


def changes_for(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the edits worth a try for a finding, the simplest first."""
    if finding.kind == "slide":
        yield from _slide_back(scene, finding)
        return
    if finding.kind == "air_sense":
        item = finding.ids[0]
        yield Change(f"Change the air direction of {called(scene, item)}", _air(item))
        return
    if finding.kind not in _OF_ROOM:
        return
    parts = [scene.placed[one] for one in finding.ids if one in scene.placed]
    if finding.kind == "port_end":
        for one in parts:
            yield from _port_changes(scene, one)
    yield from _moves(scene, finding)
    stacks = list(dict.fromkeys(one.stack.id for one in parts if one.stack is not None))
    for stack_id in stacks:
        yield from _slides(scene, scene.layout.stack(stack_id), finding)
    for stack_id in stacks:
        yield from _fans_on_one_face(scene, scene.layout.stack(stack_id))
    if finding.kind == "leftover_depth":
        yield from _thinner(scene, stacks)
    yield from _states(scene, finding)


_OF_ROOM = (
    "overlap", "outside_cavity", "clearance", "port_end", "leftover_depth", "plug_room",
    "worst_case",
)  # fmt: skip


def _port_changes(scene: Scene, one: Placed) -> Iterator[Change]:
    if not isinstance(one.part, Exchanger):
        return
    name, item = called(scene, one.id), one.id
    yield Change(
        f"Flip port end of {name}", lambda layout: flip_port_end(layout, item), item,
        doing=f"flipping the port end of {item}",
    )  # fmt: skip
    yield Change(
        f"Turn port face of {name}", lambda layout: turn_over(layout, item), item,
        doing=f"turning the port face of {item}",
    )  # fmt: skip
    yield Change(
        f"Flip port end and turn port face of {name}",
        lambda layout: turn_over(flip_port_end(layout, item), item),
        item,
        last_resort=True,
    )


def _moves(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the moves that bring free parts out of what they are in the way of, margin kept."""
    if finding.to_margin_mm is None:
        return
    mm, why = _short(scene, finding)
    if mm <= 0.0:
        return
    for part, way in _free_ways(scene, finding):
        use = scene.placed[part].use
        assert isinstance(use, FreePart)
        to = tuple(a + mm * w for a, w in zip(use.at_mm, way.vector, strict=True))
        yield Change(
            f"Move {called(scene, part)} {move_text(Shift(way, mm))}{new_holes_note(use)}",
            _move(part, (to[0], to[1], to[2])),
            why=why,
        )


def _free_ways(scene: Scene, finding: Finding) -> Iterator[tuple[str, Way]]:
    """Yield the free parts of a finding that may be moved, each with the way that parts it.

    The parting shift is that of the part at fault, the other goes the other way; where none
    shares room, what is in the way of a stack goes on along it.
    """
    frees = [one for one in finding.ids if one in scene.placed and scene.placed[one].free]
    frees = [one for one in frees if not scene.placed[one].use.locked]
    if finding.shift is not None:
        way = next(Way(k, 1 if v > 0 else -1) for k, v in enumerate(finding.shift) if v != 0.0)
        for one in frees:
            yield one, way if one == finding.ids[0] else -way
        return
    placed = (scene.placed[one] for one in finding.ids if one in scene.placed)
    item = next((one for one in placed if not one.free), None)
    if item is not None and finding.kind in ("leftover_depth", "worst_case"):
        yield from ((one, out_way(item)) for one in frees)


def _move(part: str, to: Vec) -> Callable[[Layout], Layout]:
    return lambda layout: move_free(layout, part, to)


def _air(item: str) -> Callable[[Layout], Layout]:
    return lambda layout: set_air(layout, item, "with")


def _slides(scene: Scene, stack: Stack, finding: Finding) -> Iterator[Change]:
    """Yield slides within the slots that part the pair, by the margin or as far as they go."""
    frame = scene.frames[stack.zone]
    if finding.to_margin_mm is None:
        return
    room = [slide_room(scene.items_of(stack), along) for along in (0, 1)]
    short, why = _short(scene, finding)
    for along, way in enumerate((frame.pose.x, frame.pose.y)):
        pushed = finding.shift[way.axis] * way.sign if finding.shift is not None else 0.0
        if finding.shift is not None and pushed == 0.0:
            continue
        signs = (1.0, -1.0) if pushed == 0.0 else (1.0,) if pushed > 0 else (-1.0,)
        for sign in signs:
            # The parting shift is that of the part at fault; the other stack goes the other way.
            mine = scene.placed[finding.ids[0]].stack if finding.ids[0] in scene.placed else None
            turned = -sign if mine is None or mine.id != stack.id else sign
            slide = [stack.slide_u_mm, stack.slide_v_mm]
            slide[along] += turned * short
            if room[along].holds(slide[along]):
                yield replace(_slide_change(scene, stack, (slide[0], slide[1])), why=why)


def _short(scene: Scene, finding: Finding) -> tuple[float, str]:
    """Return what is missing to the margin (mm), and why where it is more than the finding says.

    The worst case asks for more, in whole tenths; a finding that has its margin as drawn says so.
    """
    assert finding.to_margin_mm is not None
    drawn_mm, loss_mm = -finding.to_margin_mm, _loss_mm(scene, finding)
    why = (
        f"; {mm_text(drawn_mm)} would do as drawn, {mm_text(loss_mm)} more at worst"
        if loss_mm > 0.0 < drawn_mm
        else ""
    )
    return drawn_mm + loss_mm, why


def _loss_mm(scene: Scene, finding: Finding) -> float:
    """Return how much more room the worst case asks for, in whole tenths (mm)."""
    figure = finding.tolerance
    if figure is None or scene.layout.settings.judge == "nominal":
        return 0.0
    return ceil(10 * (figure.nominal.nominal_mm - figure.worst.worst_mm) - 0.01) / 10


def _slide_change(scene: Scene, stack: Stack, to: tuple[float, float]) -> Change:
    frame, (u, v) = scene.frames[stack.zone], to
    by = slide_text(frame, (u - stack.slide_u_mm, v - stack.slide_v_mm))
    return Change(
        f"Slide the stack on {scene.name_of(stack.zone)} {by}",
        lambda layout: set_slide(layout, stack.id, u, v),
        touches=stack.id,
    )


def _slide_back(scene: Scene, finding: Finding) -> Iterator[Change]:
    stack = scene.layout.stack(finding.ids[0])
    items = scene.items_of(stack)
    u_room, v_room = slide_room(items, 0), slide_room(items, 1)
    u = min(max(stack.slide_u_mm, u_room.least_mm), u_room.most_mm)
    v = min(max(stack.slide_v_mm, v_room.least_mm), v_room.most_mm)
    yield _slide_change(scene, stack, (u, v))


def _fans_on_one_face(scene: Scene, stack: Stack) -> Iterator[Change]:
    """Yield push-pull to push and to pull, named as the search for the smallest change names it."""
    if stack.locked:
        return
    for step in fan_plans(scene, stack):
        if " from push-pull to " in step.name:
            yield Change(step.name, step.edit, last_resort=True, touches=step.touches)


def _thinner(scene: Scene, stacks: list[str]) -> Iterator[Change]:
    parts = tuple(scene.layout.parts.values())
    for stack_id in stacks:
        for one in scene.items_of(scene.layout.stack(stack_id)):
            if isinstance(one.part, Exchanger) and isinstance(one.use, Item):
                yield _thinner_change(scene, one.id, parts)


def _thinner_change(scene: Scene, item: str, parts: tuple[Part, ...]) -> Change:
    return Change(
        f"Swap {called(scene, item)} for the next thinner one",
        lambda layout: next_thickness(layout, item, parts, -1),
    )


def _states(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the states of obstacles in the way; taken out comes after another place.

    Where a stack is in the way, nothing is taken out if changing that helps.
    """
    stacked = any(one in scene.placed and not scene.placed[one].free for one in finding.ids)
    for obstacle in scene.layout.enclosure.obstacles:
        if obstacle.id in finding.ids:
            for state in sorted(obstacle.states, key=lambda one: one.out):
                change = _state_change(obstacle, state)
                yield replace(change, last_resort=stacked and state.out)


def _state_change(obstacle: Obstacle, state: ObstacleState) -> Change:
    return Change(
        state_words(obstacle, state),
        lambda layout: set_state(layout, obstacle.id, state.id),
        touches=obstacle.id,
    )
