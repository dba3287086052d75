"""The layout: one enclosure, copies of the parts used, what stands where, and settings."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self, TypeVar

from pydantic import AfterValidator, Field, model_validator

from catalog.enclosure import Enclosure
from catalog.enclosure import Side as Side
from catalog.model import (
    Direction,
    FrozenMap,
    Id,
    Label,
    Mm,
    Model,
    Point,
    Room,
    WholeNumber,
    frozen,
    refusal,
)
from catalog.parts import Part, PartMap, Port

FORMAT = "gapwright-layout"
VERSION = 2

T = TypeVar("T", "Stack", "FreePart")


class PortUse(Model):
    """What is done with one port of a placed part: plugged, or open with a chosen fitting.

    A port that is not named takes what the part says; an open one takes the default fitting,
    24 mm long and 20 mm across.
    """

    plugged: bool = False
    fitting: Id | None = None


PortUses = Annotated[dict[str, PortUse], AfterValidator(frozen)]

# Sound as they are: to have one validated would make its schema whenever something is checked.
_AS_OPEN = PortUse.model_construct(plugged=False)
_AS_PLUGGED = PortUse.model_construct(plugged=True)


def port_use(port: Port, uses: Mapping[str, PortUse]) -> PortUse:
    """Return what is done with a port of a part with some uses, named or not."""
    return uses.get(port.id) or (_AS_OPEN if port.open else _AS_PLUGGED)


class Item(Model):
    """A part in a layer of a stack.

    `cell` is the zone cell under its first cell (in the order of u, then v, as it lies).
    `turn` counts quarter turns about Z from X along u; two more flip the port end.
    `turned_over` is a half turn about X: the other face to the plate, which turns the port face.
    `air` holds for fans: "with" or "against" the stack's air. `head_mm` is how far its screws'
    heads stand above it; they count wherever nothing is bolted over them.
    """

    id: Id
    part: Id
    cell: Id
    turn: Annotated[Literal[0, 1, 2, 3], WholeNumber] = 0
    turned_over: bool = False
    air: Literal["with", "against"] = "with"
    head_mm: Room = 0.0
    ports: PortUses = Field(default_factory=FrozenMap)
    locked: bool = False


class Layer(Model):
    """One item that spans cells, or one item per cell; cells may stay empty."""

    id: Id
    items: Annotated[tuple[Item, ...], Field(min_length=1)]


class Stack(Model):
    """Layers on both sides of one zone's plate, from the plate outwards.

    The slide moves all of it in its slots; `air` is inward when it blows into the enclosure.
    """

    id: Id
    zone: Id
    inner: tuple[Layer, ...] = ()
    outer: tuple[Layer, ...] = ()
    slide_u_mm: Mm = 0.0
    slide_v_mm: Mm = 0.0
    air: Literal["inward", "outward"] = "inward"
    locked: bool = False

    def side(self, side: Side) -> tuple[Layer, ...]:
        """Return the layers on one side of the plate."""
        return self.inner if side == "inner" else self.outer

    @property
    def locked_items(self) -> frozenset[str]:
        """The ids of its items that are locked, by themselves or with all of it."""
        layers = (*self.inner, *self.outer)
        return frozenset(i.id for layer in layers for i in layer.items if self.locked or i.locked)

    @property
    def is_fixed(self) -> bool:
        """Whether all of it stays where it is: it is locked, or an item is, which holds it."""
        return self.locked or bool(self.locked_items)


class Held(Model):
    """What holds a free part: cells of a zone, holes in a face, a clamp, an adhesive mount."""

    by: Literal["zone cells", "holes", "clamp", "adhesive", "nothing"] = "nothing"
    on: Id | None = None
    cells: tuple[Id, ...] = ()


class FreePart(Model):
    """A part placed by pose: its origin at `at_mm`, its X and Z axes along two directions."""

    id: Id
    part: Id
    at_mm: Point
    x_to: Direction = "+x"
    z_to: Direction = "+z"
    held: Held = Field(default_factory=Held)
    ports: PortUses = Field(default_factory=FrozenMap)
    locked: bool = False

    @model_validator(mode="after")
    def _axes_differ(self) -> Self:
        if self.x_to[1] == self.z_to[1]:
            raise refusal(
                "z_to", "lies along the axis of x_to", "choose another axis for one of them"
            )
        return self


class PairMargin(Model):
    """A margin for one pair of roles, in place of the layout's."""

    roles: tuple[
        Literal["body", "port end", "fitting", "cable"],
        Literal["body", "port end", "fitting", "cable"],
    ]
    margin_mm: Room


Judge = Literal["worst case", "nominal"]

JUDGED: Mapping[Judge, str] = {"worst case": "worst case", "nominal": "as drawn"}
"""How gaps are judged, as the user is told; the files keep their own word for the second."""


class Settings(Model):
    """How the layout is judged and shown.

    By "worst case" a fit is tight too where it keeps its margin with all dimensions as given, and
    does not once each is off by its tolerance; by "nominal" tolerances change no verdict.
    """

    margin_mm: Room = 2.0
    judge: Judge = "worst case"
    margins: tuple[PairMargin, ...] = ()
    projection: Literal["third-angle", "first-angle"] = "third-angle"


States = Annotated[dict[str, Id], AfterValidator(frozen)]


class Layout(Model):
    """The document. Every edit makes a new one that shares what did not change."""

    format: Literal["gapwright-layout"] = "gapwright-layout"
    version: Annotated[Literal[2], WholeNumber] = 2
    name: Label
    revision: Annotated[str, Field(max_length=2)] = "A"
    enclosure: Enclosure
    parts: PartMap = Field(default_factory=FrozenMap)
    stacks: tuple[Stack, ...] = ()
    free: tuple[FreePart, ...] = ()
    states: States = Field(default_factory=FrozenMap)
    settings: Settings = Field(default_factory=Settings)

    def part(self, part_id: str) -> Part:
        """Return the copy of a part; KeyError when the layout has none."""
        found: Part = self.parts[part_id]
        return found

    def stack(self, stack_id: str) -> Stack:
        """Return a stack by id; KeyError when there is none."""
        return _by_id(self.stacks, stack_id)

    def is_locked(self, placed_id: str) -> bool:
        """Whether there is a placed part by an id that is locked, by itself or with its stack."""
        return any(placed_id in stack.locked_items for stack in self.stacks) or any(
            one.locked for one in self.free if one.id == placed_id
        )


def _by_id(things: tuple[T, ...], wanted: str) -> T:
    for thing in things:
        if thing.id == wanted:
            return thing
    raise KeyError(wanted)
