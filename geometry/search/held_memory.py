"""How much memory a search has come to hold, so that it ends in words before there is too much.

How many of the listed options will stand is not known before they are judged. So it is looked how
much the process has grown; where the system does not tell, nothing is limited by it, and where it
tells only what was held at most, one large search leaves the next without a limit.
"""

from __future__ import annotations

import ctypes
import gc
import sys
from dataclasses import dataclass
from pathlib import Path

from geometry.search.fault import TooMuchHeld

MOST_GROWN_BYTES = 750_000_000
"""So much more memory than before it began a search may hold when it is made ready; with the
program itself and what counting takes that is under a gigabyte."""

MUCH_BYTES = MOST_GROWN_BYTES // 8
"""From so much more on it is worth a look for what is free and not given back."""


AGAIN_BYTES = 50_000_000
"""So much more is held, than was once what is free had been given back, before it is looked for
again: near the limit a search would else do little but that."""


def held_bytes() -> int | None:
    """Return how much memory the process holds; None where the system does not tell."""
    if sys.platform == "win32":
        return None
    import resource

    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except OSError:
        # Where there is no such file, what was held at most is told, in bytes or thousands.
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return most if sys.platform == "darwin" else 1024 * most
    return pages * resource.getpagesize()


def give_back() -> None:
    """Give back to the system what is held and free, where its C library can (glibc)."""
    gc.collect()
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None) if sys.platform == "linux" else None
    if trim is not None:
        trim(0)


@dataclass
class Held:
    """What the process held before a search began (bytes), None where that is not known.

    It is looked for what is free once more than `heeded` bytes were added.
    """

    before: int | None
    heeded: int = MOST_GROWN_BYTES

    @classmethod
    def now(cls) -> Held:
        """Return what is held now."""
        return cls(held_bytes())

    def need_room(self, *, by_worst_case: bool) -> None:
        """Raise TooMuchHeld where more has been added than there is room for.

        What is free by then is given back first, which takes a second: where little was, it is not
        looked for again before some more is held.
        """
        if self._grown <= self.heeded:
            return
        give_back()
        if self._grown > MOST_GROWN_BYTES:
            raise TooMuchHeld(MOST_GROWN_BYTES, by_worst_case=by_worst_case)
        self.heeded = max(MOST_GROWN_BYTES, self._grown + AGAIN_BYTES)

    def give_back_if_much(self) -> None:
        """Give back what is free, once a large part of a search is done, where much was added."""
        if self._grown > MUCH_BYTES:
            give_back()

    @property
    def _grown(self) -> int:
        """How much has been added; 0 where that is not known."""
        now = held_bytes()
        return 0 if self.before is None or now is None else now - self.before
