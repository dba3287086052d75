"""What `gapwright depth --json` prints."""

from __future__ import annotations

from math import isinf
from typing import Annotated, Literal

from pydantic import Field

from app.cli.tolerance_json import ToleranceEntry, tolerance_entry
from catalog.model import Model
from geometry.stackup.profile_figures import ProfileFigures
from geometry.zone_profile import ZoneProfile

Depth = Annotated[float | None, Field(description="mm from the plate; null where nothing is met")]


class PieceEntry(Model):
    """A stretch along the zone over which one solid stands nearest to the plate."""

    from_mm: Annotated[float, Field(description="from the zone's corner")]
    to_mm: float
    depth_at_start_mm: Depth
    depth_at_end_mm: Depth
    least_mm: Depth
    solid: Annotated[str | None, Field(description="id of that solid; null where nothing is met")]
    name: str | None
    tolerance: Annotated[
        ToleranceEntry | None, Field(description="of its least depth; null where it has none")
    ]


class HeightEntry(Model):
    """A stretch along the zone over which the stack on it reaches `height_mm` from the plate."""

    from_mm: float
    to_mm: float
    height_mm: float


class DepthFile(Model):
    """The depth over a zone, from its corner on, as if the stack on it were not there."""

    format: Literal["gapwright-depth"] = "gapwright-depth"
    version: Literal[1] = 1
    file: str
    zone: str
    side: Literal["inner", "outer"]
    along: Annotated[str, Field(description="axis along which it is told, as +z")]
    least_mm: Depth
    tolerance: Annotated[
        ToleranceEntry | None, Field(description="of the least depth; null where it has none")
    ]
    pieces: tuple[PieceEntry, ...]
    stack: tuple[HeightEntry, ...]


def depth_file(file: str, found: ZoneProfile, figures: ProfileFigures) -> DepthFile:
    """Return the profile of a zone as it is printed."""
    by_piece = dict(zip(found.profile.pieces, figures.pieces, strict=True))
    pieces = []
    for a, b, piece in found.pieces():
        first, last = found.ends_mm(piece)
        key = None if piece.key is None else str(piece.key)
        pieces.append(
            PieceEntry(
                from_mm=a,
                to_mm=b,
                depth_at_start_mm=_finite(first),
                depth_at_end_mm=_finite(last),
                least_mm=_finite(piece.least()),
                solid=key,
                name=None if key is None else found.names.get(key),
                tolerance=tolerance_entry(by_piece[piece]),
            )
        )
    return DepthFile(
        file=file,
        zone=found.zone.zone.id,
        side=found.side,
        along=found.along.name,
        least_mm=_finite(found.profile.least_mm),
        tolerance=tolerance_entry(figures.least),
        pieces=tuple(pieces),
        stack=tuple(
            HeightEntry(from_mm=a, to_mm=b, height_mm=height)
            for t0, t1, height in found.stack_mm
            for a, b in (sorted((found.place_mm(t0), found.place_mm(t1))),)
        ),
    )


def _finite(mm: float) -> float | None:
    return None if isinf(mm) else mm
