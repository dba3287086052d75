"""Item references and names within the outlines of a view, where they can be read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import TYPE_CHECKING

from app.drawing.cut_marks import cut_text
from app.drawing.drafting import Drafting
from app.drawing.labels import Line, crosses
from app.drawing.owners import Shown, owners_of, solid_ink
from app.drawing.part_details import label_hurdles
from app.drawing.primitives import XY, Bounds, Ink, Text
from app.drawing.views import far_to_near
from app.sheet.paper_view import PaperView
from app.sheet.scaled import text_box
from geometry.cut_off import cut_off
from geometry.measures.solid import Role

if TYPE_CHECKING:
    from geometry.checks.runner import Checked
    from geometry.measures.solid import Solid

Setting = tuple[float, float]
"""Lettering height (mm) and angle (degrees)."""

REFERENCE_SETTINGS: tuple[Setting, ...] = (
    (3.5, 0.0), (2.5, 0.0), (3.5, 90.0), (2.5, 90.0), (1.8, 0.0), (1.8, 90.0),
)  # fmt: skip
NAME_SETTINGS: tuple[Setting, ...] = ((1.8, 0.0), (1.8, 90.0))
_PAD_SHARE = 0.25
"""Room round a label, as a share of its height: its halo."""

_SIGNS_HEED_MM = 2.5
"""A label of this height or more goes where it covers no sign of its part; a lesser one may."""

_HURDLE_MM = 1.2
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)
"""Where in a rectangle a label is tried, as shares of its sides; the middle first."""


@dataclass(frozen=True)
class _Place:
    """Where a label may stand: the outlines of its solids, less what stands before them.

    Where there is room it keeps off `signs` too: hubs and arrows that tell the way of the air.
    """

    boxes: tuple[Bounds, ...]
    covers: tuple[Bounds, ...]
    ground: Ink
    signs: tuple[Bounds, ...] = ()

    def spots(self) -> Iterator[tuple[Bounds, XY]]:
        """Yield points with the outline that they lie in, the largest outline's middle first."""
        for box in self.boxes:
            for sy, sx in product(_SHARES, _SHARES):
                yield box, (box[0] + sx * (box[2] - box[0]), box[1] + sy * (box[3] - box[1]))


@dataclass
class ViewLabels:
    """The labels of one view; every new one keeps clear of those before it and of hurdles."""

    view: PaperView
    places: Mapping[str, _Place]
    names: tuple[tuple[str, _Place], ...]
    texts: list[Text] = field(default_factory=list)
    taken: list[Bounds] = field(default_factory=list)

    @classmethod
    def of(cls, checked: Checked, view: PaperView, references: Mapping[str, str]) -> ViewLabels:
        """Find where labels may stand: by the keys of `references`, and of fixed things by name.

        A key is a placed part's id, or the id of a fitting's solid.
        """
        places: dict[str, _Place] = {}
        names: list[tuple[str, _Place]] = []
        order = far_to_near(owners_of(checked.scene), view.frame)
        shown_here = [one for one in order if not one.cut_away(view.frame)]
        for number, shown in enumerate(shown_here):
            covers = _boxes(view, [s for other in shown_here[number + 1 :] for s in other.hard])
            if shown.placed is None:
                names.append((shown.label, _place(shown, shown.hard, covers, view)))
                continue
            fittings = tuple(one for one in shown.hard if one.role is Role.FITTING)
            for solid in fittings:
                if solid.id in references:
                    places[solid.id] = _place(shown, (solid,), covers, view)
            bodies = tuple(one for one in shown.hard if one not in fittings)
            over = [*covers, *(_boxes(view, fittings) if bodies else ())]
            places[shown.owner] = _place(shown, bodies or fittings, over, view)
        return cls(view, places, (*names, *_cut_out_names(checked, view)))

    def keep_off(self, hurdles: Sequence[XY]) -> None:
        """Let later labels stay clear of some points: the ends of leaders."""
        d = _HURDLE_MM
        self.taken.extend((x - d, y - d, x + d, y + d) for x, y in hurdles)

    def put_references(self, references: Mapping[str, str]) -> frozenset[str]:
        """Label what has room for its reference, and return the keys of these."""
        return frozenset(
            key
            for key, place in reversed(tuple(self.places.items()))
            if self._put(references[key], place, REFERENCE_SETTINGS, Ink.TEXT, bold=True)
        )

    def with_names(self, leaders: Sequence[Line]) -> tuple[Text, ...]:
        """Return all labels with those of fixed things by name, where one fits.

        A name stands off the leaders where there is room for that.
        """
        more = replace(self, texts=[*self.texts], taken=[*self.taken])
        for name, place in reversed(self.names):
            for lines in (leaders, ()):
                if more._put(name, place, NAME_SETTINGS, Ink.MUTED, bold=False, lines=lines):
                    break
        return tuple(more.texts)

    def visible_spot(self, key: str) -> XY | None:
        """Return a point where something is seen and no label stands; None when there is none."""
        place = self.places[key]
        return self._clear(place, (*place.covers, *self.taken))

    def hidden_spot(self, key: str) -> XY:
        """Return a point of something, seen or hidden, clear of labels where that can be."""
        place = self.places[key]
        return self._clear(place, self.taken) or next(at for _, at in place.spots())

    def _clear(self, place: _Place, hurdles: Sequence[Bounds]) -> XY | None:
        """Return a point of a place off some rectangles, and off its signs where that can be."""
        spots = [
            at for _, at in place.spots() if not any(_meets((*at, *at), one) for one in hurdles)
        ]
        off_signs = (at for at in spots if not any(_meets((*at, *at), one) for one in place.signs))
        return next(off_signs, spots[0] if spots else None)

    def _put(
        self,
        text: str,
        place: _Place,
        settings: Sequence[Setting],
        ink: Ink,
        *,
        bold: bool,
        lines: Sequence[Line] = (),
    ) -> bool:
        plain = Text((0.0, 0.0), text, 0.0, ink, "middle", "middle", bold=bold)
        ways = [(way, place.signs) for way in settings if way[0] >= _SIGNS_HEED_MM and place.signs]
        for (height, angle), signs in (*ways, *((way, ()) for way in settings)):
            label = plain._replace(
                height_mm=height, angle_deg=angle, halo=True, ground=place.ground
            )
            own = _room(label)
            for box, (x, y) in place.spots():
                room = (own[0] + x, own[1] + y, own[2] + x, own[3] + y)
                if not _within(room, box):
                    continue
                if any(_meets(room, other) for other in (*place.covers, *self.taken, *signs)):
                    continue
                if any(crosses(line, room) for line in lines):
                    continue
                self.taken.append(room)
                self.texts.append(label._replace(at=(x, y)))
                return True
        return False


def _cut_out_names(checked: Checked, view: PaperView) -> Iterator[tuple[str, _Place]]:
    """Yield what marks an obstacle as cut out, with its initial outline, over all else."""
    layout = checked.scene.layout
    for piece in cut_off(layout.enclosure, layout.states):
        if piece.end is None:
            boxes = tuple(view.box(one.bounds) for one in piece.prisms)
            yield cut_text(piece), _Place(boxes, (), Ink.PAPER)


def _place(
    shown: Shown, solids: Sequence[Solid], covers: Sequence[Bounds], view: PaperView
) -> _Place:
    boxes = sorted(_boxes(view, solids), key=lambda b: -(b[2] - b[0]) * (b[3] - b[1]))
    near = tuple(cover for cover in covers if any(_meets(cover, box) for box in boxes))
    signs: tuple[Bounds, ...] = ()
    if shown.placed is not None:
        drafting = Drafting.on_paper(1 / view.factor)
        found = label_hurdles(shown.placed, view.frame, drafting)
        signs = tuple(map(view.rectangle, found))
    return _Place(tuple(boxes), near, solid_ink(shown, solids[0]), signs)


def _boxes(view: PaperView, solids: Sequence[Solid]) -> list[Bounds]:
    return [view.box(prism.bounds) for solid in solids for prism in solid.prisms]


def _room(text: Text) -> Bounds:
    pad = text.height_mm * _PAD_SHARE
    x0, y0, x1, y1 = text_box(text)
    return (x0 - pad, y0 - pad, x1 + pad, y1 + pad)


def _within(box: Bounds, other: Bounds) -> bool:
    return box[0] >= other[0] and box[1] >= other[1] and box[2] <= other[2] and box[3] <= other[3]


def _meets(a: Bounds, b: Bounds) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
