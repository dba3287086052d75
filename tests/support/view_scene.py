"""The same scene as polygons in two views, as one who draws would compare it.

Two prisms are taken to be as far apart as they are in the view that shows them farther apart, and
to overlap when they do in both views. That is fast to say and wrong for some.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from geometry.measures.prism import Prism, view
from geometry.measures.regions import drawn

VIEWS = (1, 2)
"""Seen from the access side along y, and from below along z."""


class ViewScene:
    """All prisms of many parts as polygons of both views, in one tree for each view."""

    def __init__(self, parts: Sequence[Sequence[Prism]], margin_mm: float) -> None:
        self.margin_mm = margin_mm
        self.owner = [k for k, part in enumerate(parts) for _ in part]
        self.seen = {axis: [drawn(view(p, axis)) for part in parts for p in part] for axis in VIEWS}
        self.trees = {axis: shapely.STRtree(self.seen[axis]) for axis in VIEWS}

    def gaps_of(self, k: int, part: Sequence[Prism]) -> dict[int, float]:
        """Return the gap that the views show of part `k` to every part within the margin."""
        found: dict[int, float] = {}
        for prism in part:
            own = {axis: drawn(view(prism, axis)) for axis in VIEWS}
            near = [
                set(self.trees[axis].query(own[axis], "dwithin", self.margin_mm).tolist())
                for axis in VIEWS
            ]
            for row in near[0] & near[1]:
                other = self.owner[row]
                if other != k:
                    gap = max(shapely.distance(own[a], self.seen[a][row]) for a in VIEWS)
                    found[other] = min(gap, found.get(other, self.margin_mm))
        return found
