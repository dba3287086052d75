"""An option of one zone: one way to fill it, at one slide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from catalog.model import FrozenMap
from catalog.parts import Exchanger
from geometry.layout import FreePart, Layer, Stack

FREE = "free-pump"
"""Stands for a zone where a pump on its own feet is chosen."""

CC_PER_MM3 = 1e-3
CM2_PER_MM2 = 1e-2


_NO_STATES: Mapping[str, str] = FrozenMap()


class Layers(NamedTuple):
    """What a stack of an option is made of: its id, and its layers on both sides of the plate.

    Stacks are many and layers few, so what is listed holds these, and no stack.
    """

    id: str
    inner: tuple[Layer, ...]
    outer: tuple[Layer, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Option:
    """One way to fill a zone; `layers` is None when it stays empty.

    `pattern` groups options for a reader. Areas and volumes are of exchanger cores. `zone` is that
    of an obstacle where its `states` are chosen, and FREE where a pump on its own feet, `free`, is.
    `beside` are the options that stand side by side in it, each on cells of its own; it is empty
    where there is but one.
    """

    zone: str
    pattern: str
    layers: Layers | None = None
    slide_mm: tuple[float, float] = (0.0, 0.0)
    core: Exchanger | None = None
    fans: int = 0
    parts: int = 0
    pump: bool = False
    free: FreePart | None = None
    states: Mapping[str, str] = _NO_STATES
    beside: tuple[Option, ...] = ()

    @property
    def base(self) -> Stack | None:
        """The stack without a slide, made when it is asked for."""
        if self.layers is None:
            return None
        own = self.layers
        return Stack(id=own.id, zone=self.zone, inner=own.inner, outer=own.outer)

    @property
    def stack(self) -> Stack | None:
        """The stack, slid as listed, made when it is asked for."""
        base = self.base
        if base is None or self.slide_mm == (0.0, 0.0):
            return base
        return base.but(slide_u_mm=self.slide_mm[0], slide_v_mm=self.slide_mm[1])

    @property
    def columns(self) -> tuple[Option, ...]:
        """What stands side by side: itself where there is but one."""
        return self.beside or (self,)

    @property
    def cores(self) -> tuple[Exchanger, ...]:
        """The exchangers that it holds."""
        return tuple(one.core for one in self.columns if one.core is not None)

    @property
    def area_cm2(self) -> float:
        """The face area of the exchangers' cores (cm2)."""
        return sum(_face_cm2(core) for core in self.cores)

    @property
    def volume_cm3(self) -> float:
        """The volume of the exchangers' cores (cm3)."""
        return sum(
            _face_cm2(core) / CM2_PER_MM2 * core.core_thickness_mm * CC_PER_MM3
            for core in self.cores
        )


def _face_cm2(core: Exchanger) -> float:
    return core.core_length_mm * core.core_width_mm * CM2_PER_MM2


def holds_pump(option: Option) -> bool:
    """Whether an option puts in a pump."""
    return option.pump
