"""Edits on the layout as a whole: its name and revision, margins, states, the enclosure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from catalog.enclosure import Enclosure, Obstacle, ObstacleState
from catalog.model import FrozenMap
from geometry.edits.base import EditError, changed, new_id, with_free
from geometry.edits.stacks import lift_out
from geometry.layout import Held, Judge, Layer, Layout, PairMargin, Stack
from geometry.placement import obstacle_state
from geometry.references import enclosure_ids, holder_ids, named_ids

MarginRole = Literal["body", "port end", "fitting", "cable"]


def set_name(layout: Layout, name: str) -> Layout:
    """Rename the layout; EditError when the name is empty or longer than 80 characters."""
    return _settled(layout, name=name.strip())


def set_revision(layout: Layout, revision: str) -> Layout:
    """Set the revision, two characters at most; EditError when it is longer."""
    return _settled(layout, revision=revision.strip())


def set_margin(
    layout: Layout, margin_mm: float | None, roles: tuple[MarginRole, MarginRole] | None = None
) -> Layout:
    """Set the margin of the layout, or of one pair of roles; None takes the pair's own away.

    Raises EditError when it is negative or over ten metres, or None for the whole layout.
    """
    settings = layout.settings
    if roles is None:
        if margin_mm is None:
            raise EditError("the layout needs a margin; give it in mm, 0 or more")
        return layout.but(settings=changed(settings, margin_mm=float(margin_mm)))
    kept = tuple(m for m in settings.margins if set(m.roles) != set(roles))
    if margin_mm is not None:
        none_yet = PairMargin(roles=roles, margin_mm=0.0)
        kept = (*kept, changed(none_yet, margin_mm=float(margin_mm)))
    return layout.but(settings=settings.but(margins=kept))


def set_judge(layout: Layout, judge: Judge) -> Layout:
    """Set whether tolerances count for the verdict on a fit."""
    return layout.but(settings=changed(layout.settings, judge=judge))


def set_projection(layout: Layout, projection: Literal["third-angle", "first-angle"]) -> Layout:
    """Set how the views are arranged."""
    return layout.but(settings=changed(layout.settings, projection=projection))


def set_state(layout: Layout, obstacle_id: str, state_id: str) -> Layout:
    """Put an obstacle into one of its states: in place, taken out, at another position.

    Raises EditError when there is no such obstacle or state.
    """
    for obstacle in layout.enclosure.obstacles:
        if obstacle.id == obstacle_id:
            known = [state.id for state in obstacle.states]
            if state_id not in known:
                raise EditError(
                    f"{obstacle.name} has no state {state_id}; it has {', '.join(known)}"
                )
            if obstacle_state(obstacle, layout.states).id == state_id:
                return layout
            return layout.but(states=FrozenMap({**layout.states, obstacle_id: state_id}))
    raise EditError(f"{layout.enclosure.name} has no obstacle {obstacle_id}")


def state_words(obstacle: Obstacle, state: ObstacleState) -> str:
    """Return what putting an obstacle into a state is called: "Take out card, two slots"."""
    return f"Take out {obstacle.name}" if state.out else f"Set {obstacle.name}: {state.name}"


def replace_enclosure(layout: Layout, enclosure: Enclosure) -> Layout:
    """Put all that is placed into another enclosure; nothing is lost.

    A stack whose zone (by id, with the side and the cells that it uses) is there as well stays
    one; the parts of every other stack become free parts where they stood. States of obstacles
    and what holds free parts are kept where they still exist. Locks do not hold here.
    """
    kept = tuple(stack for stack in layout.stacks if _fits(stack, enclosure))
    for stack in layout.stacks:
        if stack not in kept:
            layout = _lift_all(layout, stack)
    states = _known_states(layout.states, enclosure)
    moved = layout.but(enclosure=enclosure, stacks=kept, states=states)
    moved = _without_clashes(moved)
    for free in moved.free:
        if not _holds(free.held, moved):
            moved = with_free(moved, free.but(held=Held()))
    return moved


def _without_clashes(layout: Layout) -> Layout:
    """Give new ids to what is placed under an id that the enclosure uses itself."""
    taken = {one for _, one in enclosure_ids(layout.enclosure)}
    new: dict[str, str] = {}
    for path, one in named_ids(layout):
        if not path.startswith("enclosure") and one in taken:
            letters = one.rstrip("0123456789")[:50] or "N"
            new[one] = new_id(layout, letters, new.values())
    if not new:
        return layout

    def layers(side: tuple[Layer, ...]) -> tuple[Layer, ...]:
        return tuple(
            layer.but(
                id=new.get(layer.id, layer.id),
                items=tuple(item.but(id=new.get(item.id, item.id)) for item in layer.items),
            )
            for layer in side
        )

    return layout.but(
        stacks=tuple(
            s.but(id=new.get(s.id, s.id), inner=layers(s.inner), outer=layers(s.outer))
            for s in layout.stacks
        ),
        free=tuple(
            free.but(
                id=new.get(free.id, free.id),
                held=free.held.but(on=new.get(free.held.on or "", free.held.on)),
            )
            for free in layout.free
        ),
    )


def _holds(held: Held, layout: Layout) -> bool:
    """Whether what holds a part is there, with the cells that are named."""
    if held.on is None:
        return True
    zone = next((zone for zone in layout.enclosure.zones if zone.id == held.on), None)
    cells = {cell.id for cell in zone.cells} if zone is not None else set()
    return held.on in holder_ids(layout) and cells.issuperset(held.cells)


def _lift_all(layout: Layout, stack: Stack) -> Layout:
    """Make free parts of a stack's items, from the outermost in, so that each is where it was."""
    ids = [item.id for side in (stack.inner, stack.outer) for la in side for item in la.items]
    unlocked = stack.but(
        locked=False,
        inner=tuple(
            la.but(items=tuple(i.but(locked=False) for i in la.items)) for la in stack.inner
        ),
        outer=tuple(
            la.but(items=tuple(i.but(locked=False) for i in la.items)) for la in stack.outer
        ),
    )
    layout = layout.but(stacks=tuple(unlocked if s.id == stack.id else s for s in layout.stacks))
    for item_id in reversed(ids):
        layout = lift_out(layout, item_id)
    return layout


def _fits(stack: Stack, enclosure: Enclosure) -> bool:
    zone = next((zone for zone in enclosure.zones if zone.id == stack.zone), None)
    if zone is None:
        return False
    if (stack.inner and zone.inner is None) or (stack.outer and zone.outer is None):
        return False
    cells = {cell.id for cell in zone.cells}
    return all(i.cell in cells for la in (*stack.inner, *stack.outer) for i in la.items)


def _known_states(states: Mapping[str, str], enclosure: Enclosure) -> FrozenMap:
    known = {obstacle.id: {s.id for s in obstacle.states} for obstacle in enclosure.obstacles}
    return FrozenMap({o: s for o, s in states.items() if s in known.get(o, set())})


def _settled(layout: Layout, **texts: str) -> Layout:
    """Return the layout with checked texts, and with all else shared."""
    checked = changed(layout, **texts)
    return layout.but(**{name: getattr(checked, name) for name in texts})
