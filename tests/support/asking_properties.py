"""Notes which cached properties ask for which others, of all that a check and a search need.

Up to Python 3.11 `functools.cached_property` holds a lock while it works something out, one for all
instances. Two that ask for each other, one in each of two threads, wait for each other for ever.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from itertools import islice

Asked = tuple[str, str]

found: set[Asked] = set()
"""Which property was asked for while which other was worked out."""

_under_way: list[str] = []
_cached_property = functools.cached_property


class Noting(_cached_property):  # type: ignore[type-arg]
    """A cached property that notes who asks for it when it is not known yet."""

    def __get__(self, instance: object, owner: type | None = None) -> object:
        if instance is None or self.attrname in vars(instance):
            return super().__get__(instance, owner)
        name = self.func.__qualname__
        # One that asks for itself, of another instance, has the lock already.
        found.update((other, name) for other in _under_way if other != name)
        _under_way.append(name)
        try:
            return super().__get__(instance, owner)
        finally:
            _under_way.pop()


def in_circles(asked: Iterable[Asked]) -> set[str]:
    """Return the properties that, over others, ask for themselves."""
    asks: dict[str, set[str]] = {}
    for one, other in asked:
        asks.setdefault(one, set()).add(other)

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        ahead = list(asks.get(start, ()))
        while ahead:
            one = ahead.pop()
            if one not in seen:
                seen.add(one)
                ahead += asks.get(one, ())
        return seen

    return {one for one in asks if one in reached(one)}


def work() -> None:
    """Check the demo in full, tell what stands nearest to its parts, and look for changes."""
    functools.cached_property = Noting  # type: ignore[misc]
    from app.demo import demo_layout
    from catalog.store import Library
    from geometry.checks.finding_figures import finding_figure, stack_figure
    from geometry.checks.nearest import nearest_told
    from geometry.checks.runner import check_layout
    from geometry.search.mending.mend import mends

    library = Library()
    checked = check_layout(demo_layout(library))
    report = checked.report
    assert report.survey is not None
    for depth in report.depths:
        stack_figure(report, depth)
    for finding in report.findings:
        finding_figure(report, finding)
    for one in checked.scene.placed:
        list(nearest_told(report.survey, one))
    for _ in islice(mends(checked, tuple(library.parts.values())[:9], cutting=True), 20):
        pass


if __name__ == "__main__":
    work()
    print(len(found), *sorted(in_circles(found)))
