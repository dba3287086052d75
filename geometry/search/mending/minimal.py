"""Which of several changes that work are minimal: none holds a smaller one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.mending.steps import Step

Steps = tuple[Step, ...]


def amounts_of(steps: Sequence[Step]) -> dict[str, float]:
    """Return all that some steps are made of, each with its amount (mm)."""
    return {atom: mm for step in steps for atom, mm in step.amounts.items()}


def holds(many: Mapping[str, float], few: Mapping[str, float]) -> bool:
    """Whether all of a change is in another one, by no more in any of its amounts.

    >>> holds({"slide": 5.0, "trim": float("inf")}, {"slide": 5.0, "trim": 35.2})
    True
    >>> holds({"slide": 5.0, "flip": 0.0}, {"slide": 8.0})
    False
    """
    return all(atom in many and mm <= many[atom] + LENGTH_EPS_MM for atom, mm in few.items())


def size(steps: Sequence[Step]) -> tuple[float, float, float]:
    """Return how large a change is beside one of the same kinds: what is cut off before the rest.

    Of two slides that share what is missing, the longer one is the shorter the better.
    """
    cut = [mm for step in steps if step.cuts for mm in step.amounts.values()]
    every = amounts_of(steps).values()
    return sum(cut), round(sum(every), 3), max(every, default=0.0)


def minimal(found: Sequence[tuple[Steps, Set[int]]]) -> list[int]:
    """Return the places of the changes that hold no other which clears as much.

    Each is given with the numbers of what it clears. Of changes that differ in their amounts
    alone, the least is kept.
    """
    amounts = [amounts_of(steps) for steps, _ in found]
    sizes = [size(steps) for steps, _ in found]

    def smaller(n: int, k: int) -> bool:
        if amounts[n].keys() == amounts[k].keys():
            return (sizes[n], n) < (sizes[k], k)
        return holds(amounts[k], amounts[n])

    return [
        k
        for k, (_, clears) in enumerate(found)
        if not any(
            n != k and others >= clears and smaller(n, k) for n, (_, others) in enumerate(found)
        )
    ]
