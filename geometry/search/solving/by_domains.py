"""What fits of several domains of options, one counted or estimated after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from time import perf_counter

from geometry.search.solving.count import Counting, counting
from geometry.search.solving.estimate import Estimate, estimating
from geometry.search.solving.zone_tables import Domain, ZoneTables


def counting_each(
    tables: ZoneTables, domains: Sequence[Domain], seconds: float | None = None
) -> Iterator[tuple[Counting, ...]]:
    """Count what fits of each domain; yield how far each has come, at last what was found.

    After `seconds` what has not been begun stays so, but the first is begun in any case.
    """
    start = perf_counter()
    parts = [Counting(0, one.combinations, 0.0, done=False) for one in domains]
    for number, domain in enumerate(domains):
        left = None if seconds is None else seconds - (perf_counter() - start)
        if left is not None and left < 0.0 and number:
            break
        for last in counting(tables.merged(domain), left):
            parts[number] = last
            yield tuple(parts)
    yield tuple(parts)


def estimating_rest(
    tables: ZoneTables, domains: Sequence[Domain], counted: Sequence[Counting], seconds: float
) -> Iterator[Estimate]:
    """Estimate what fits of all domains, of which each was counted, to its end or not.

    What was counted to its end is taken as it is. Of the rest something is tried in any case.
    """
    start = perf_counter()
    parts = [Estimate.exact(one.found) for one in counted if one.done]
    rest = [d for d, one in zip(domains, counted, strict=True) if not one.done]
    for number, domain in enumerate(rest):
        left = max(0.0, seconds - (perf_counter() - start)) / (len(rest) - number)
        last: Estimate | None = None
        for last in estimating(tables.merged(domain), left):
            yield Estimate.total([*parts, last])
        if last is not None:
            parts.append(last)
