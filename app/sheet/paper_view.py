"""One view of the enclosure in millimetres of paper, its enclosure's top left corner at (0, 0)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.drafting import Drafting
from app.drawing.frame import union_bounds
from app.drawing.owners import owners_of
from app.drawing.primitives import XY, Bounds, Group, Primitive
from app.drawing.room import wall_primitives, zone_primitives
from app.drawing.views import body_primitives, far_to_near, keep_out_primitives
from app.sheet.scaled import extent, scaled

if TYPE_CHECKING:
    from app.drawing.frame import ViewFrame
    from geometry.checks.runner import Checked
    from geometry.pose import Vec
    from geometry.prism import Bounds as Bounds3


@dataclass(frozen=True)
class PaperView:
    """A view and its scale: `factor` paper millimetres for one real millimetre."""

    frame: ViewFrame
    factor: float

    @property
    def size(self) -> XY:
        """Width and height of the enclosure on paper."""
        x0, y0, x1, y1 = self.frame.rect
        return ((x1 - x0) * self.factor, (y1 - y0) * self.factor)

    def at(self, world: Vec) -> XY:
        """Return where a world point shows on paper."""
        x, y = self.frame.to_board(world)
        return ((x - self.frame.rect[0]) * self.factor, (y - self.frame.rect[1]) * self.factor)

    def box(self, bounds: Bounds3) -> Bounds:
        """Return the rectangle that world bounds cover on paper."""
        a, b = self.at(bounds[:3]), self.at(bounds[3:])
        return (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))

    def on_paper(self, primitive: Primitive) -> Primitive:
        """Return a primitive of the board as it stands on paper."""
        x0, y0, _, _ = self.frame.rect
        return scaled(primitive, self.factor, (-x0 * self.factor, -y0 * self.factor))


def view_groups(checked: Checked, view: PaperView) -> tuple[Group, ...]:
    """Return what the view shows, from the back to the front, without any lettering."""
    return tuple(
        Group(key, tuple(view.on_paper(one) for one in primitives))
        for key, primitives in _layers(checked, view)
        if primitives
    )


def _layers(checked: Checked, view: PaperView) -> Iterator[tuple[str, tuple[Primitive, ...]]]:
    scene, frame = checked.scene, view.frame
    drafting = Drafting.on_paper(1 / view.factor)
    yield f"wall:{frame.name}", wall_primitives(scene.layout.enclosure, frame, drafting)
    taken = {stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer}
    for zone_id, zone in scene.frames.items():
        if zone.present and zone_id in taken:
            shapes = zone_primitives(zone, frame, drafting, empty=False)
            yield f"zone:{frame.name}:{zone_id}", shapes
    owners = far_to_near(owners_of(scene), frame)
    for shown in owners:
        yield f"solid:{frame.name}:{shown.owner}", body_primitives(shown, frame, drafting)
    for shown in owners:
        rooms = keep_out_primitives(shown.solids, frame, drafting)
        yield f"keep-out:{frame.name}:{shown.owner}", rooms


def core_box(view: PaperView, groups: tuple[Group, ...]) -> Bounds:
    """Return the rectangle round the enclosure and all that stands out of it."""
    every = [extent(one) for group in groups for one in group.primitives]
    return union_bounds([(0.0, 0.0, *view.size), *every])
