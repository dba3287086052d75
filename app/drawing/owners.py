"""Who owns the solids of a scene, in which ink each is drawn, and what its label says."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import takewhile
from typing import TYPE_CHECKING, Any, NamedTuple, get_args

from app.drawing.memory import Memory, Same
from app.drawing.primitives import Ink
from app.drawing.silhouettes import box_edges, outline_in
from catalog.enclosure import WallName
from catalog.parts import (
    Exchanger,
    Fan,
    Fitting,
    Part,
    Pump,
    PumpReservoir,
    Reservoir,
)
from geometry.measures.prism import Rect, whole_bounds
from geometry.measures.solid import Role
from geometry.measures.tolerance import LENGTH_EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from app.drawing.frame import ViewFrame
    from app.drawing.primitives import Bounds as Rectangle
    from app.drawing.silhouettes import Edge, Span
    from catalog.enclosure import Enclosure
    from geometry.measures.prism import Bounds, Outline, Prism
    from geometry.measures.solid import Solid
    from geometry.placement import Placed
    from geometry.scene import Scene

WALLS: frozenset[str] = frozenset((*get_args(WallName), "step", "outside"))

KIND_WORDS = {
    "exchanger": "exchanger",
    "fan": "fan",
    "gasket": "gasket",
    "adapter": "adapter",
    "pump": "pump",
    "reservoir": "reservoir",
    "pump_reservoir": "pump unit",
    "board": "board",
    "card": "card",
    "supply": "supply",
    "drive": "drive",
    "fitting": "fitting",
}
"""What a kind of part is called in short."""

JOINING_WORDS = frozenset(("for", "in", "of", "on", "over", "to", "under", "with"))


class Face(NamedTuple):
    """One prism of an owner as one sees it: its outline on the board and the rectangle round it."""

    prism: Prism
    solid: Solid
    outline: Outline
    box: Rectangle


@dataclass(frozen=True, eq=False)
class Seen:
    """An owner in one view.

    `box` is the rectangle that it covers, `faces` what fills its room, `middle` how near to the
    viewer its middle is, with its id for ties, `covers` whether it hides what is behind it.
    """

    view: ViewFrame
    box: Rectangle
    faces: tuple[Face, ...]
    middle: tuple[float, str]
    covers: bool

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """The outlines of what fills its room."""
        return tuple(face.outline for face in self.faces)

    @cached_property
    def boxes(self) -> tuple[Rectangle, ...]:
        """The rectangles round its outlines."""
        return tuple(face.box for face in self.faces)

    @cached_property
    def straight(self) -> bool:
        """Whether all of its outlines are rectangles."""
        return all(isinstance(outline, Rect) for outline in self.outlines)

    @cached_property
    def edges(self) -> Mapping[Edge, Sequence[Span]]:
        """The edges of its outlines, where all are rectangles."""
        return box_edges(self.outlines)


@dataclass(frozen=True, eq=False)
class Shown:
    """One placed part, obstacle or outside solid with all its solids."""

    owner: str
    solids: tuple[Solid, ...]
    ink: Ink
    label: str
    kind_word: str
    placed: Placed | None = None
    outside: bool = False
    _seen: dict[str, Seen] = field(default_factory=dict, init=False, repr=False)

    def seen(self, view: ViewFrame) -> Seen:
        """Return how it shows in a view; worked out once, as long as the views lie as they do."""
        known = self._seen.get(view.name)
        if known is None or known.view is not view:
            known = self._seen[view.name] = self._look(view)
        return known

    def _look(self, view: ViewFrame) -> Seen:
        faces = tuple(
            Face(prism, solid, outline, outline.bounds())
            for solid in self.hard
            for prism in solid.prisms
            for outline in (outline_in(view, prism),)
        )
        far, near = view.nearness(self.bounds)
        box = view.box(self.bounds)
        return Seen(view, box, faces, ((far + near) / 2, self.owner), self.covers(view))

    @property
    def short_label(self) -> str:
        """One word for it: its kind, else the last word before a comma, figure or preposition."""
        kind = self.kind_word
        if kind not in ("other", self.label):
            alike = self.label.lower().startswith(kind)
            return self.label[: len(kind)] if alike else kind
        words = self.label.split()
        head = list(takewhile(lambda word: word.isalpha() and word not in JOINING_WORDS, words))
        return head[-1] if head else words[0].rstrip(",;")

    def cut_away(self, view: ViewFrame) -> bool:
        """Whether it belongs to the enclosure's outside and lies before the cutting plane."""
        return self.outside and view.nearness(self.bounds)[0] >= view.cut - LENGTH_EPS_MM

    def covers(self, view: ViewFrame) -> bool:
        """Whether it hides what is behind it. A bracket is mostly openings and hides nothing."""
        return self.kind_word != "bracket" and not self.cut_away(view)

    @cached_property
    def hard(self) -> tuple[Solid, ...]:
        """The solids that fill their room."""
        return tuple(solid for solid in self.solids if solid.hard)

    @cached_property
    def bounds(self) -> Bounds:
        """Least x, y, z, then greatest x, y, z of what fills its room."""
        return whole_bounds([p for one in self.hard or self.solids for p in one.prisms])


def owners_of(scene: Scene, memory: Memory[Any] | None = None) -> tuple[Shown, ...]:
    """Return all owners of a scene but the walls: placed parts first, then the enclosure's.

    Those that are as they were when `memory` saw them last are the same objects.
    """
    kept = memory if memory is not None else Memory()
    enclosure = scene.layout.enclosure
    placed: _PlacedOwners = kept.get(
        "owners:placed", Same(scene), lambda: _placed_owners(scene, kept.last("owners:placed"))
    )
    fixed = kept.get(
        "owners:fixed",
        (Same(scene.fixed), Same(enclosure)),
        partial(_fixed_owners, scene.fixed, enclosure),
    )
    return (*placed.shown.values(), *fixed)


class _PlacedOwners(NamedTuple):
    """The owners that are placed in a scene, by id."""

    scene: Scene
    shown: Mapping[str, Shown]


def _placed_owners(scene: Scene, before: _PlacedOwners | None) -> _PlacedOwners:
    """Return the owners that are placed, those that show as `before` as the same objects."""
    old = before.shown if before is not None else {}
    since = scene.since_then(before.scene if before is not None else None)
    moved: Iterable[str] = scene.solids_of
    if (
        since is not None
        and since.in_order
        and all(k in old and scene.solids_of[k] for k in since.moved)
    ):
        # Of hundreds few have moved.
        moved = since.moved
    now = {k: _as_before(scene, k, old.get(k)) for k in moved if scene.solids_of[k]}
    return _PlacedOwners(scene, {**old, **now} if moved is not scene.solids_of else now)


def _as_before(scene: Scene, owner: str, old: Shown | None) -> Shown:
    one, solids = scene.placed[owner], scene.solids_of[owner]
    if old is None or not (
        (old.placed is one and old.solids is solids) or _shows_as(old, one, solids)
    ):
        return _shown_part(one, solids)
    return old


def _shows_as(shown: Shown, one: Placed, solids: tuple[Solid, ...]) -> bool:
    """Whether a placed part shows as an owner does."""
    other = shown.placed
    return (
        other is not None
        and shown.solids == solids
        and (one.part, one.use, one.stack) == (other.part, other.use, other.stack)
    )


def _shown_part(placed: Placed, solids: tuple[Solid, ...]) -> Shown:
    part = placed.part
    return Shown(placed.id, solids, part_ink(part), part.name, KIND_WORDS[part.kind], placed)


def _fixed_owners(fixed: tuple[Solid, ...], enclosure: Enclosure) -> tuple[Shown, ...]:
    kinds: dict[str, str] = {obstacle.id: obstacle.kind for obstacle in enclosure.obstacles}
    by_owner: dict[str, list[Solid]] = {}
    for solid in fixed:
        if solid.owner not in WALLS:
            by_owner.setdefault(solid.owner, []).append(solid)
    outside = {solid.id for solid in enclosure.outside}
    return tuple(
        Shown(
            owner,
            tuple(solids),
            Ink.FIXED,
            solids[0].name,
            kinds.get(owner, solids[0].name),
            outside=owner in outside,
        )
        for owner, solids in by_owner.items()
    )


def part_ink(part: Part) -> Ink:
    """Return the ink of a kind of part."""
    if isinstance(part, Exchanger):
        return Ink.EXCHANGER
    if isinstance(part, Fan):
        return Ink.FAN
    if isinstance(part, Pump | Reservoir | PumpReservoir):
        return Ink.PUMP
    return Ink.FITTING if isinstance(part, Fitting) else Ink.OTHER_PART


def solid_ink(shown: Shown, solid: Solid) -> Ink:
    """Return the ink of one solid: port ends and fittings have their own."""
    if shown.ink is Ink.FIXED:
        return Ink.FIXED
    if solid.role is Role.PORT_END:
        return Ink.PORT_END
    return Ink.FITTING if solid.role is Role.FITTING else shown.ink
