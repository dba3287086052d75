"""The cautions on every clearance sheet, by the signal words of ANSI Z535.4 and ISO 3864-2.

WARNING: could cause death or serious injury. CAUTION: could cause minor or moderate injury.
NOTICE: no injury. Geometry alone is never more than a notice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from geometry.edits import CUT_CAUTION


@dataclass(frozen=True)
class Caution:
    """One caution: its signal word, what it is about, what to do, and what it defers to.

    `brief` is the most needful of it, for a sheet without room for all.
    """

    word: Literal["WARNING", "CAUTION", "NOTICE"]
    topic: str
    brief: str
    text: str


CAUTIONS = (
    Caution(
        "WARNING",
        "Liquid near live parts",
        "Unplug before filling, draining or opening the loop. Mains work: a licensed person.",
        "Isolate and unplug before drilling, filling, draining or opening the loop; joints over "
        "nothing live. Mains work: a licensed person, by the local code (IEC 62368-1, 4.1.8 and "
        "Annex G.15 for liquid-filled components).",
    ),
    Caution(
        "WARNING",
        "Pressure test",
        "Compressed air stores energy: prefer a liquid test at low pressure, eyes protected.",
        "Compressed air stores energy: prefer a liquid test at the lowest pressure that tells, "
        "loop out of the enclosure, eyes protected (HSE Guidance Note GS4).",
    ),
    Caution(
        "CAUTION",
        "Drilling",
        "look behind the face",
        "Boards out, look behind the face for mains parts and seals; never where the layout "
        "forbids it.",
    ),
    Caution(
        "CAUTION",
        "Sharp edges",
        "deburr, wear gloves",
        "Cut sheet metal and fins cut skin: deburr, wear gloves, clear chips before power.",
    ),
    Caution(
        "CAUTION",
        "Coolant chemicals",
        "read the safety data sheet",
        "Read the safety data sheet first; glycol is harmful if swallowed (H302). Gloves, waste "
        "by local rules.",
    ),
    Caution(
        "NOTICE",
        "Geometry only",
        "it certifies no electrical safety, tightness or chemistry",
        "Room between solids by their given dimensions: it does not certify electrical safety, "
        "tightness or chemistry, nor the electrical clearance of IEC 60664-1. Measure what is "
        "marked assumed before cutting. Local codes and licensed practice go before this sheet.",
    ),
)

CUT_CAUTION_OF = Caution("CAUTION", "Cut enclosure", "cutting is irreversible", CUT_CAUTION)
"""Stands on a sheet where the enclosure has been cut, or where a cut is proposed."""


def told_cautions(*, cut: bool) -> tuple[Caution, ...]:
    """Return the cautions of a sheet in their order; `cut` as `CUT_CAUTION_OF` says."""
    return (*CAUTIONS[:-1], CUT_CAUTION_OF, CAUTIONS[-1]) if cut else CAUTIONS
