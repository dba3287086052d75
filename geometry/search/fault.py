"""Why a search cannot be made."""

from __future__ import annotations


class SearchError(ValueError):
    """A search that cannot begin; the message says why, and what would mend it."""


class TooManyListed(SearchError):  # noqa: N818 - it is no error of the program
    """More options would be listed than there is memory for; `most` may be, 0 where none may.

    `slides` is the most along each slot that would pass, an odd number, and `slides_as_drawn` that
    by dimensions as drawn; 0 where none does, or where they are judged so already. `beside` tells
    that several side by side on a zone are among them. `ways` are what would mend it.
    """

    def __init__(
        self,
        listed: str,
        most: int,
        slides: int,
        slides_as_drawn: int,
        most_bytes: int,
        *,
        beside: bool,
    ) -> None:
        self.slides, self.slides_as_drawn = slides, slides_as_drawn
        ways = ["list fewer parts", "search fewer zones at once"]
        ways += ["list nothing side by side on a zone"] if beside else []
        if slides:
            ways.append(f"list fewer slides: {_slides(slides)} would pass")
        if slides_as_drawn:
            ways.append(f"judge as drawn: {_slides(slides_as_drawn)} would pass then")
        self.ways = tuple(ways)
        lines = (f"\n- {way}" for way in ways)
        may = f"; {most:,} may be" if most else ""
        super().__init__(
            f"{listed} options would be listed, which could take more than "
            f"{most_bytes / 1e6:,.0f} MB of memory{may}. What helps:{''.join(lines)}"
        )


class TooMuchHeld(SearchError):  # noqa: N818 - it is no error of the program
    """More of the listed options stand than there is memory for; `ways` are what would mend it."""

    def __init__(self, most_bytes: int, *, by_worst_case: bool) -> None:
        ways = ["list fewer parts", "search fewer zones at once", "list fewer slides"]
        ways += ["judge as drawn"] if by_worst_case else []
        self.ways = tuple(ways)
        lines = (f"\n- {way}" for way in ways)
        super().__init__(
            f"so many of the listed options stand that they take more than {most_bytes / 1e6:,.0f} "
            f"MB of memory. What helps:{''.join(lines)}"
        )


def _slides(count: int) -> str:
    return f"{count} slide{'' if count == 1 else 's'} along each slot"
