"""The library as lists for `gapwright parts` and `gapwright enclosures`."""

from __future__ import annotations

from app.cli import console
from catalog.enclosure import Enclosure, Zone
from catalog.parts import Part, part_ports, thickness_text
from catalog.store import Library, load_library
from geometry.layout import PortUse
from geometry.measures.prism import Bounds
from geometry.measures.solid import HARD_ROLES
from geometry.part_solids import part_pieces, shape_prism

Size = tuple[float, float, float]


def opened_library() -> Library:
    """Return the library; a bad file among the user's own is told on standard error and skipped."""
    library = load_library()
    for problem in library.problems:
        for fault in problem.faults:
            console.complain(f"skipped {problem.file}: {fault}")
    return library


def enclosures_for(library: Library, text: str) -> list[Enclosure]:
    """Return the enclosures whose name, id or other names hold every word of `text`."""
    wanted = text.lower().split()
    return [
        one
        for one in library.enclosures.values()
        if all(word in " ".join((one.name, one.id, *one.aliases)).lower() for word in wanted)
    ]


def part_size_mm(part: Part) -> Size:
    """Return the size over all of a part without fittings: along X, Y and Z of its frame (mm)."""
    plugged = {port.id: PortUse(plugged=True) for port in part_ports(part)}
    return _extent(
        [
            prism.bounds
            for piece in part_pieces(part, plugged, {})
            if piece.role in HARD_ROLES
            for prism in piece.prisms
        ]
    )


def part_size_text(part: Part) -> str:
    """Return a part's size over all without fittings: "280 x 120 x 20 core, 27 at the tanks"."""
    length, width, thickness = part_size_mm(part)
    flat = " x ".join(f"{round(mm, 1):g}" for mm in (length, width))
    return f"{flat} x {thickness_text(part, thickness)}"


def cavity_size_mm(enclosure: Enclosure) -> Size:
    """Return the size over all of an enclosure's cavity (mm)."""
    return _extent([shape_prism(shape).bounds for shape in enclosure.cavity])


def zone_text(zone: Zone, name: str) -> str:
    """Return a zone in a few words: its `name`, cells and the frame sizes that they take."""
    frames = sorted({mount.frame_mm for cell in zone.cells for mount in cell.accepts})
    sizes = "/".join(f"{frame:g}" for frame in frames)
    depth = zone.inner.depth_mm if zone.inner is not None else None
    nominal = f", {depth:g} deep" if depth is not None else ""
    return f"{name}: {len(zone.cells)} x {sizes}{nominal}"


def size_text(size_mm: Size) -> str:
    """Return a size in whole or tenth millimetres.

    >>> size_text((275.0, 120.5, 45.0))
    '275 x 120.5 x 45'
    """
    return " x ".join(f"{round(value, 1):g}" for value in size_mm)


def _extent(bounds: list[Bounds]) -> Size:
    least = [min(b[k] for b in bounds) for k in range(3)]
    most = [max(b[k] for b in bounds) for k in range(3, 6)]
    return (most[0] - least[0], most[1] - least[1], most[2] - least[2])
