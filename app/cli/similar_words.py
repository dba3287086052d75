"""What somebody may have meant who wrote a word that is none of those allowed."""

from __future__ import annotations

from collections.abc import Iterable


def meant(word: str, allowed: Iterable[str]) -> str:
    """Return what to add to a message about a word that is not allowed; empty if none is like it.

    >>> meant("flor", ["floor", "roof"]), meant("x", ["floor", "roof"])
    (" (did you mean 'floor'?)", '')
    """
    # Loaded here: only a mistake needs it.
    from difflib import get_close_matches

    by_lower = {one.lower(): one for one in allowed}
    near = get_close_matches(word.lower(), by_lower, n=1)
    return f" (did you mean '{by_lower[near[0]]}'?)" if near else ""
