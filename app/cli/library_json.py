"""What `gapwright parts --json` and `gapwright enclosures --json` print."""

from __future__ import annotations

from typing import Literal

from catalog.enclosure import Enclosure
from catalog.model import Model
from catalog.parts import Part


class PartsFile(Model):
    """Parts of the library; each is what a file of one's own part holds."""

    format: Literal["gapwright-parts"] = "gapwright-parts"
    version: Literal[1] = 1
    parts: tuple[Part, ...]


class EnclosuresFile(Model):
    """Enclosures of the library; each is what a file of one's own enclosure holds."""

    format: Literal["gapwright-enclosures"] = "gapwright-enclosures"
    version: Literal[1] = 1
    enclosures: tuple[Enclosure, ...]
