"""Item references and names within the outlines of a view, where they can be read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

from app.drawing.owners import Shown, owners_of, solid_ink
from app.drawing.primitives import XY, Bounds, Ink, Text
from app.drawing.views import far_to_near
from app.sheet.paper_view import PaperView
from app.sheet.scaled import text_box
from geometry.solid import Role

if TYPE_CHECKING:
    from geometry.checks.runner import Checked
    from geometry.solid import Solid

REFERENCE_MM = (3.5, 2.5, 1.8)
NAME_MM = (1.8,)
_PAD_MM = 0.5
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)


@dataclass(frozen=True)
class _Wish:
    """A label that is wanted on some solids: its text, the heights to try, the tint below."""

    text: str
    heights: tuple[float, ...]
    solids: tuple[Solid, ...]
    ground: Ink
    bold: bool


@dataclass
class LabelBook:
    """Labels of one view; every new one keeps clear of those before it."""

    taken: list[Bounds] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)

    def put(self, text: Text) -> bool:
        """Add a label unless it meets another; tell whether it was added."""
        box = _padded(text_box(text))
        if any(_meets(box, other) for other in self.taken):
            return False
        self.taken.append(box)
        self.texts.append(text)
        return True


def item_labels(
    checked: Checked, view: PaperView, references: Mapping[str, str], hurdles: Sequence[XY]
) -> tuple[tuple[Text, ...], frozenset[str]]:
    """Return the labels of a view, and the placed ids that got theirs.

    `references` gives each placed id its item reference, and each fitting's solid id its own;
    fixed things are labelled by name where it fits. `hurdles` are points that stay clear: the
    ends of leaders.
    """
    book = LabelBook([(x - 1.2, y - 1.2, x + 1.2, y + 1.2) for x, y in hurdles])
    done: set[str] = set()
    order = far_to_near(owners_of(checked.scene), view.frame)
    for place in range(len(order) - 1, -1, -1):
        shown, nearer = order[place], order[place + 1 :]
        for key, text, solids in _wishes(shown, references):
            heights = REFERENCE_MM if key else NAME_MM
            covers = [view.box(p.bounds) for one in nearer for s in one.hard for p in s.prisms]
            covers += _own_covers(shown, solids, view)
            ground = solid_ink(shown, solids[0])
            label = _Wish(text, heights, solids, ground, bold=bool(key))
            if _label(book, label, covers, view) and key:
                done.add(key)
    return tuple(book.texts), frozenset(done)


def _wishes(
    shown: Shown, references: Mapping[str, str]
) -> Iterator[tuple[str, str, tuple[Solid, ...]]]:
    """Yield what wants a label: its key in the parts list, the text, and where it may stand."""
    if shown.placed is None:
        yield "", shown.label, shown.hard
        return
    for solid in shown.hard:
        if solid.role is Role.FITTING and solid.id in references:
            yield solid.id, references[solid.id], (solid,)
    bodies = tuple(one for one in shown.hard if one.role is not Role.FITTING) or shown.hard
    if shown.owner in references:
        yield shown.owner, references[shown.owner], bodies


def _own_covers(shown: Shown, solids: tuple[Solid, ...], view: PaperView) -> list[Bounds]:
    """Return the owner's fittings as hurdles for the letter on its body."""
    return [
        view.box(prism.bounds)
        for solid in shown.hard
        if solid not in solids and solid.role is Role.FITTING
        for prism in solid.prisms
    ]


def _label(book: LabelBook, wish: _Wish, covers: list[Bounds], view: PaperView) -> bool:
    boxes = [view.box(prism.bounds) for solid in wish.solids for prism in solid.prisms]
    boxes.sort(key=lambda b: -(b[2] - b[0]) * (b[3] - b[1]))
    for height, box, angle in product(wish.heights, boxes, (0.0, 90.0)):
        for at in _spots(box):
            label = Text(
                at,
                wish.text,
                height,
                Ink.TEXT if wish.bold else Ink.MUTED,
                across="middle",
                up="middle",
                angle_deg=angle,
                bold=wish.bold,
                halo=True,
                ground=wish.ground,
            )
            room = _padded(text_box(label))
            if not _within(room, box) or any(_meets(room, cover) for cover in covers):
                continue
            if book.put(label):
                return True
    return False


def free_spot(box: Bounds, texts: Sequence[Text]) -> XY:
    """Return a point of a rectangle, as near to its middle as goes, that lies on no text."""
    taken = [_padded(text_box(text)) for text in texts]
    spots = list(_spots(box))
    clear = (at for at in spots if not any(_meets((*at, *at), other) for other in taken))
    return next(clear, spots[0])


def _spots(box: Bounds) -> Iterator[XY]:
    for sy in _SHARES:
        for sx in _SHARES:
            yield (box[0] + sx * (box[2] - box[0]), box[1] + sy * (box[3] - box[1]))


def _padded(box: Bounds) -> Bounds:
    return (box[0] - _PAD_MM, box[1] - _PAD_MM, box[2] + _PAD_MM, box[3] + _PAD_MM)


def _within(box: Bounds, other: Bounds) -> bool:
    return box[0] >= other[0] and box[1] >= other[1] and box[2] <= other[2] and box[3] <= other[3]


def _meets(a: Bounds, b: Bounds) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
