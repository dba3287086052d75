"""What checks found of single things, kept for the next check while nothing of it changes."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from operator import is_
from typing import Any, NamedTuple, TypeVar

from geometry.layout import FreePart, Stack
from geometry.placement import Placed
from geometry.recent import Recent
from geometry.scene import Scene, Since

T = TypeVar("T")


class Answer(NamedTuple):
    """What a check found of one thing, with the objects from which it follows."""

    depends: tuple[object, ...]
    found: tuple[Any, ...]


@dataclass(frozen=True, eq=False)
class Answers:
    """What it found of many things, with the objects from which all of it follows."""

    depends: tuple[object, ...]
    of: Mapping[Hashable, Answer]

    @cached_property
    def found(self) -> tuple[Any, ...]:
        """All of it in one, in the order of the things."""
        return tuple(found for answer in self.of.values() for found in answer.found)


Thing = tuple[Hashable, tuple[object, ...], Callable[[], Iterable[Any]]]
"""Something looked at: its name, the objects on which that hangs, and the look itself."""


@dataclass(frozen=True, eq=False)
class Answered:
    """A scene with what checks found of its things, and with what they had found before.

    `things` are the ids of all that is placed, with their parts and ports: one object as long as
    nothing but places change. `since` tells what changed since `said_before`, where it is known.
    """

    scene: Scene
    things: tuple[object, ...] = field(default=(), kw_only=True)
    since: Since | None = field(default=None, kw_only=True)
    said: dict[str, Answers] = field(default_factory=dict, kw_only=True)
    said_before: Mapping[str, Answers] = field(default_factory=dict, kw_only=True)

    def once(
        self, kind: str, depends: tuple[object, ...], look: Callable[[], Iterable[T]]
    ) -> tuple[T, ...]:
        """Return what a check finds; it looks only where something has changed.

        `depends` lists, besides the enclosure, all the objects from which the answer follows.
        """
        return self.each(kind, depends, lambda: [("", depends, look)])[""].found

    def each(
        self, kind: str, depends: tuple[object, ...], things: Callable[[], Iterable[Thing]]
    ) -> Mapping[Hashable, Answer]:
        """Return what a check finds of each of many things, by their names and in their order.

        It goes through them only where one of those objects has changed from which all answers
        follow, and looks only at those of which one has changed on which their own hangs.
        """
        known = self.said_before.get(kind)
        if known is None or not _same_objects(known.depends, depends):
            before = known.of if known is not None else {}
            of: dict[Hashable, Answer] = {}
            for name, own, look in things():
                was = before.get(name)
                same = was is not None and _same_objects(was.depends, own)
                of[name] = was if was is not None and same else Answer(own, tuple(look()))
            known = Answers(depends, of)
        self.said[kind] = known
        return known.of

    def each_stack(
        self, kind: str, look: Callable[[Scene, Stack, tuple[Placed, ...]], Iterable[T]]
    ) -> Iterator[T]:
        """Yield what a check finds of each stack, where that follows from its items alone."""
        scene, since, before = self.scene, self.since, self.said_before.get(kind)
        stacks = scene.layout.stacks
        if before is None or since is None or before.depends[0] is not stacks:
            known = before.of if before is not None else {}
            of: dict[Hashable, Answer] = {}
            looked_at: Iterable[Stack] = stacks
            if before is not None and since is not None and since.in_order:
                of = dict(known)
                looked_at = [stack for stack in stacks if stack.id in since.stacks]
            for stack in looked_at:
                was = known.get(stack.id)
                if was is None or since is None or stack.id in since.stacks:
                    items = scene.items_of(stack)
                    depends = (stack, *items)
                    if was is None or not _same_objects(was.depends, depends):
                        was = Answer(depends, tuple(look(scene, stack, items)))
                of[stack.id] = was
            before = Answers((stacks,), of)
        self.said[kind] = before
        yield from before.found

    def each_free(self, kind: str, look: Callable[[Scene, FreePart], Iterable[T]]) -> Iterator[T]:
        """Yield what a check finds of each free part, where that follows from what holds it."""
        scene, since, before = self.scene, self.since, self.said_before.get(kind)
        free = scene.layout.free
        moved = None if since is None else since.moved
        if (
            before is None
            or moved is None
            or before.depends[0] is not free
            or moved & _holders.of(free, find=lambda: frozenset(one.held.on for one in free))
        ):
            known = before.of if before is not None else {}
            of: dict[Hashable, Answer] = {}
            looked_at: Iterable[FreePart] = free
            if before is not None and since is not None and since.in_order:
                of, moved = dict(known), since.moved
                looked_at = [one for one in free if one.id in moved or one.held.on in moved]
            for one in looked_at:
                was, on = known.get(one.id), one.held.on
                if was is None or moved is None or one.id in moved or on in moved:
                    depends = (scene.placed[one.id], scene.solids_of.get(on or ""))
                    if was is None or not _same_objects(was.depends, depends):
                        was = Answer(depends, tuple(look(scene, one)))
                of[one.id] = was
            before = Answers((free,), of)
        self.said[kind] = before
        yield from before.found


_holders: Recent[frozenset[str | None]] = Recent(8)
"""What the free parts of a layout name as holding them."""


def _same_objects(old: tuple[object, ...], new: tuple[object, ...]) -> bool:
    return len(old) == len(new) and all(map(is_, old, new))


def things_of(scene: Scene, before: Answered | None, since: Since | None) -> tuple[object, ...]:
    """Return all that is placed but for its places; the same object as before if all is as it was.

    An edit makes the ports of what it moves anew, and equal to what they were.
    """
    if before is not None and since is not None and since.in_order:
        pairs = [(scene.placed[one], before.scene.placed[one]) for one in since.moved]
        if all(a.part is b.part and a.use.ports == b.use.ports for a, b in pairs):
            return before.things
    placed = scene.placed.values()
    return (*scene.placed, *(one.part for one in placed), *(one.use.ports for one in placed))
