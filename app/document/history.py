"""Undo and redo without limit: named layouts before and after each edit.

A layout is a value that shares what did not change with the one before it, so keeping all of
them costs little and undoing is taking the old one.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

from geometry.layout import Layout


class Step(NamedTuple):
    """One edit as the user knows it; `merge_key` joins a run of the same gesture."""

    name: str
    before: Layout
    after: Layout
    merge_key: str | None = None


class History:
    """The layouts that one document went through, with a mark at the saved one."""

    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._done: list[Step] = []
        self._undone: list[Step] = []
        self._saved: Layout | None = layout

    @property
    def layout(self) -> Layout:
        """The present layout."""
        return self._layout

    @contextmanager
    def or_as_before(self) -> Iterator[None]:
        """Be as before where what is done meanwhile raises, which passes through."""
        layout, done, undone = self._layout, self._done.copy(), self._undone.copy()
        try:
            yield
        except BaseException:
            self._layout, self._done, self._undone = layout, done, undone
            raise

    @property
    def saved(self) -> Layout | None:
        """The layout at the mark; None where it is on none of these."""
        return self._saved

    @property
    def undo_name(self) -> str | None:
        """The name of the edit that `undo` takes back; None when there is none."""
        return self._done[-1].name if self._done else None

    @property
    def redo_name(self) -> str | None:
        """The name of the edit that `redo` does again; None when there is none."""
        return self._undone[-1].name if self._undone else None

    @property
    def steps(self) -> tuple[str, ...]:
        """The names of all edits that can be undone, the oldest first."""
        return tuple(step.name for step in self._done)

    def earlier(self) -> Iterator[Layout]:
        """Yield the layouts that undo leads back to, the latest first."""
        return (step.before for step in reversed(self._done))

    @property
    def undone(self) -> tuple[str, ...]:
        """The names of all edits that can be done again, the next one first."""
        return tuple(step.name for step in reversed(self._undone))

    @property
    def dirty(self) -> bool:
        """Whether the present layout differs from the saved one."""
        return self._layout is not self._saved and self._layout != self._saved

    def record(self, name: str, after: Layout, merge_key: str | None = None) -> bool:
        """Make `after` the present layout as a step of its own; False when nothing changes.

        Steps that follow each other with the same `merge_key` become one, until undo, redo
        or saving parts them; a merged step that leads back to its start is dropped.
        """
        if after is self._layout or after == self._layout:
            return False
        step = Step(name, self._layout, after, merge_key)
        last = self._done[-1] if self._done else None
        if last is not None and merge_key is not None and last.merge_key == merge_key:
            self._done.pop()
            step = Step(name, last.before, after, merge_key)
        if step.before != after:
            self._done.append(step)
        self._undone.clear()
        self._layout = after
        return True

    def _seal(self) -> None:
        """End the run of merging: the next step stands by itself."""
        if self._done and self._done[-1].merge_key is not None:
            last = self._done[-1]
            self._done[-1] = Step(last.name, last.before, last.after)

    def undo(self) -> str | None:
        """Take the last edit back and return its name; None when there is none."""
        if not self._done:
            return None
        self._seal()
        step = self._done.pop()
        self._seal()
        self._undone.append(step)
        self._layout = step.before
        return step.name

    def redo(self) -> str | None:
        """Do the last edit that was taken back again and return its name; None when none was."""
        if not self._undone:
            return None
        step = self._undone.pop()
        self._done.append(step)
        self._layout = step.after
        return step.name

    def mark_saved(self) -> None:
        """Note that the present layout is the one in the file."""
        self._seal()
        self._saved = self._layout

    def mark_unsaved(self) -> None:
        """Note that no layout of these is in a file."""
        self._saved = None
