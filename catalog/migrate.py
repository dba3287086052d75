"""Numbered file formats, and the way from an older version of one to the newest.

A step takes a document of its version and returns that of the next; it is pure and leaves its
argument alone. Steps are never changed once a version is out: the next version gets its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from catalog.errors import Fault

Document = dict[str, Any]
Step = Callable[[Document], Document]


@dataclass(frozen=True)
class FileFormat:
    """A format by name; `steps[k]` leads from version k + 1 to k + 2, the last to the newest."""

    name: str
    steps: tuple[Step, ...] = ()

    @property
    def version(self) -> int:
        """The newest version, which is the one written."""
        return len(self.steps) + 1


def format_faults(document: Document, file_format: FileFormat) -> tuple[Fault, ...]:
    """Return what keeps a document from being of the format, in a version known here."""
    found = document.get("format")
    if found is None:
        return (Fault("format", "is missing", f'a file of this kind has "{file_format.name}"'),)
    if found != file_format.name:
        text = f'"{found}"' if isinstance(found, str) and len(found) <= 40 else "another format"
        return (Fault("format", f'found {text}, expected "{file_format.name}"', "check the file"),)
    version = document.get("version")
    if version is None:
        return (Fault("version", "is missing", f"the newest version is {file_format.version}"),)
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        return (Fault("version", "is no whole number from 1 up", "write a number such as 1"),)
    if version > file_format.version:
        problem = f"is {version}; this program reads versions up to {file_format.version}"
        return (Fault("version", problem, "open the file with a newer Gapwright"),)
    return ()


def migrated(document: Document, file_format: FileFormat) -> Document:
    """Return the document in the newest version; the very same one when it is that already."""
    for version in range(document["version"], file_format.version):
        document = {**file_format.steps[version - 1](document), "version": version + 1}
    return document
