"""What makes the program start and end sooner."""

from __future__ import annotations

import gc
import os
import sys
from typing import NoReturn

YOUNG_OBJECTS = 200_000
"""So many new objects let the garbage collector look for cycles, not Python's 700: starting makes
hundreds of thousands that all stay, and layouts are immutable values, which form no cycles."""

ALGEBRA_THREADS = "OPENBLAS_NUM_THREADS"

PLUGINS = "PYDANTIC_DISABLE_PLUGINS"
"""With this pydantic does not look for plugins in all that is installed beside it."""


def start_quickly(*, algebra: bool) -> None:
    """Let the collector run seldom, and load numpy without threads where no `algebra` is wanted.

    To be called before numpy is loaded and before there is a model. The threads that numpy's
    linear algebra starts with cost more than all the rest of loading it, and only searches multiply
    matrices that are large enough for them.
    """
    gc.set_threshold(YOUNG_OBJECTS, 20, 20)
    os.environ.setdefault(PLUGINS, "__all__")
    if not algebra and ALGEBRA_THREADS not in os.environ:
        os.environ[ALGEBRA_THREADS] = "1"
        try:
            import numpy  # noqa: F401 - read once, while it is loaded
        finally:
            # Processes that this one starts may want the threads.
            del os.environ[ALGEBRA_THREADS]


def end_in_order(code: int) -> NoReturn:
    """End the process as Python does, but without looking for cycles in what goes with it.

    It would look several times, which takes longer than all the rest; Qt and what is to be done at
    the end do not depend on it.
    """
    gc.freeze()
    sys.exit(code)


def end_quickly(code: int) -> NoReturn:
    """End the process; the system takes its memory back at once, which Python does bit by bit.

    All that is to be kept must be written and both streams flushed by now.
    """
    os._exit(code)
