"""Standard output and error: UTF-8 on every system, and quiet when nobody reads any more."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from typing import TextIO

from app.cli.outcome import Unusable


def use_utf8() -> None:
    """Make both streams UTF-8, so that a pipe on any system carries every name.

    A file name that is no Unicode is shown with backslashes.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def say(text: str) -> None:
    """Write a result to standard output; a reader that has gone is no fault.

    Raises Unusable when it cannot be written, as on a full disk.
    """
    try:
        _write(sys.stdout, text)
    except OSError as error:
        assert sys.stdout is not None
        _drop(sys.stdout)
        reason = (error.strerror or str(error)).lower()
        raise Unusable(
            f"standard output: cannot be written: {reason} (free some room or write elsewhere)"
        ) from error


def complain(text: str) -> None:
    """Write what is wrong to standard error."""
    _write_aside(text)


def note(text: str) -> None:
    """Write to standard error what was done beside the result, as that a file was written."""
    _write_aside(text)


def finish() -> None:
    """Flush both streams, so that the interpreter has nothing left to fail on as it ends."""
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            try:
                stream.flush()
            except OSError:
                _drop(stream)


def _write_aside(text: str) -> None:
    with contextlib.suppress(OSError):  # there is no other place to say it
        _write(sys.stderr, f"gapwright: {text}")


def _write(stream: TextIO | None, text: str) -> None:
    if stream is None:  # a program started without a console has no streams
        return
    try:
        stream.write(text if text.endswith("\n") else text + "\n")
        stream.flush()
    except BrokenPipeError:
        _drop(stream)


def _drop(stream: TextIO) -> None:
    """Send what is still buffered to nowhere."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
