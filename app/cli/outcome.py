"""How a command ends: its exit codes, and the fault that a user can mend."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """The exit codes of every command."""

    OK = 0
    BLOCKED = 1
    NOTHING_FOUND = 1
    UNUSABLE = 2
    FAULT = 3
    STOPPED = 130


class Unusable(Exception):  # noqa: N818 - it is no error of the program
    """What was asked for cannot be done; the text says what was found and how to mend it."""
