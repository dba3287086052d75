"""How a command ends: its exit codes, and the fault that a user can mend."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """The exit codes of every command.

    NOTHING_FOUND: no part or enclosure matches the words of a list, nothing of what a search
    may put in fits, or no change that was tried clears a finding.
    """

    OK = 0
    BLOCKED = 1
    UNUSABLE = 2
    FAULT = 3
    NOTHING_FOUND = 4
    STOPPED = 130


class Unusable(Exception):  # noqa: N818 - it is no error of the program
    """What was asked for cannot be done; the text says what was found and how to mend it."""
