"""What goes into a zone at a slide between the listed steps and is larger than all at these."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.search.excludes import stack_depth_mm
from geometry.search.listing.option import Option
from geometry.search.near.misses import NearMiss
from geometry.search.problem import Problem
from geometry.search.summary import LargestHere

Size = Literal["thickest", "longest", "deepest"]

SIZE_WORDS: Mapping[str, Size] = {
    "thickest core": "thickest", "longest core": "longest", "deepest stack": "deepest",
}  # fmt: skip
"""What the sizes are called where a search tells the largest of each zone."""


@dataclass(frozen=True)
class SlidIn:
    """What a slide alone lets into a zone, the others being as in the first row, and its sizes.

    `exchangers` are ids and names. `slide` is the slide in words.
    """

    zone: str
    name: str
    pattern: str
    exchangers: tuple[tuple[str, str], ...]
    sizes_mm: tuple[tuple[Size, float], ...]
    slide: str


def slid_in(problem: Problem, misses: Iterable[NearMiss]) -> tuple[SlidIn, ...]:
    """Return what of near misses of the first row a slide alone lets in."""
    return tuple(
        SlidIn(
            miss.zone,
            miss.zone_name,
            miss.option.pattern,
            tuple((core.id, core.name) for core in miss.option.cores),
            tuple(_sizes(problem, miss.option)),
            slide.name,
        )
        for miss in misses
        if miss.row == 1 and miss.also is None
        for slide in miss.slides[:1]
    )


def _sizes(problem: Problem, option: Option) -> Iterator[tuple[Size, float]]:
    if option.cores:
        yield "thickest", max(core.core_thickness_mm for core in option.cores)
        yield "longest", max(core.core_length_mm for core in option.cores)
    yield "deepest", stack_depth_mm(problem, option)


def larger_than(
    listed: Iterable[tuple[str, Size, float]], slid: Sequence[SlidIn]
) -> Iterator[tuple[Size, float, SlidIn]]:
    """Yield what is measured, how much it is (mm) and in what, where that is more than is listed.

    `listed` are zones with what is measured and how much it is. Of each zone and measure the most
    is told.
    """
    most: dict[tuple[str, Size], float] = {(zone, what): mm for zone, what, mm in listed}
    found: dict[tuple[str, Size], tuple[Size, float, SlidIn]] = {}
    for one in slid:
        for what, mm in one.sizes_mm:
            if mm > most.get((one.zone, what), 0.0):
                most[one.zone, what] = mm
                found[one.zone, what] = what, mm, one
    yield from found.values()


def with_slid_in(listed: Sequence[LargestHere], slid: Sequence[SlidIn]) -> tuple[LargestHere, ...]:
    """Return the largest of each zone at the listed slides, then what slides let in beyond it."""
    words = {size: what for what, size in SIZE_WORDS.items()}
    sizes = ((one.zone, SIZE_WORDS[one.what], one.mm) for one in listed)
    more = [
        LargestHere(one.zone, one.name, words[what], mm, slid_text(one))
        for what, mm, one in larger_than(sizes, slid)
    ]
    zones = dict.fromkeys(one.zone for one in (*listed, *more))
    return tuple(one for zone in zones for one in (*listed, *more) if one.zone == zone)


def slid_text(one: SlidIn) -> str:
    """Say what goes in, and that it does at a slide that is not listed."""
    names = dict.fromkeys(name for _, name in one.exchangers)
    return f"{', '.join((one.pattern, *names))}; not at a listed slide: {one.slide}"
