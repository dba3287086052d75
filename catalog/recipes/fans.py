"""Fans, gaskets and adapters."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.model import FrozenMap
from catalog.parts import Adapter, Fan, Gasket
from catalog.recipes.frames import (
    ASSUMED,
    COMMON,
    PITCH_MM,
    THICKNESSES_MM,
    row_of_cells,
)
from catalog.shapes import Plug

HUB_SHARE = 0.35
"""Hub across, as a share of the frame."""

LEAD_MM = 3.0
"""How far the lead stands out of the frame, at one corner of the +Y side."""


def fans() -> Iterator[Fan]:
    """Yield a fan for every frame and usual thickness."""
    for frame, thicknesses in THICKNESSES_MM.items():
        for thickness in thicknesses:
            lead = Plug(
                id="lead",
                name="fan lead",
                at_mm=(frame / 2 - 10.0, frame / 2, thickness / 2),
                facing="+y",
                width_mm=8.0,
                height_mm=6.0,
                plug_mm=LEAD_MM,
            )
            source = COMMON
            if frame == 200:
                source += "; pitch not settled, frames of this size are not interchangeable"
            yield Fan(
                id=f"fan-{frame}-{thickness}",
                name=f"Fan {frame} x {thickness}",
                aliases=("blower", "slim") if thickness < 25 else ("blower",),
                source=source,
                frame_mm=float(frame),
                pitch_mm=PITCH_MM[frame],
                thickness_mm=float(thickness),
                hub_mm=float(round(HUB_SHARE * frame)),
                plugs=(lead,),
                dimensions=FrozenMap({"pitch_mm": ASSUMED, "hub_mm": ASSUMED}),
            )


GASKETS_MM = ((3.0, 1.5), (5.0, 3.0))
"""Free and compressed thickness."""


def gaskets() -> Iterator[Gasket]:
    """Yield soft frames for one to three fans."""
    for frame in (80, 92, 120, 140):
        for count in (1, 2, 3) if frame >= 120 else (1,):
            for free, compressed in GASKETS_MM:
                yield Gasket(
                    id=f"gasket-{count}x{frame}-{free:g}",
                    name=f"Gasket {count} x {frame}, {free:g} mm ({compressed:g} compressed)",
                    aliases=("seal", "foam frame", f"{count * frame}"),
                    length_mm=float(count * frame),
                    width_mm=float(frame),
                    free_mm=free,
                    compressed_mm=compressed,
                    cells=row_of_cells(count, frame),
                    dimensions=FrozenMap({"compressed_mm": ASSUMED}),
                )


ADAPTERS = (
    # count, frame below, frame above, thickness
    (1, 80, 92, 10.0),
    (1, 92, 80, 10.0),
    (1, 92, 120, 15.0),
    (1, 120, 92, 15.0),
    (1, 120, 140, 10.0),
    (1, 140, 120, 10.0),
    (2, 140, 120, 10.0),
    (3, 140, 120, 10.0),
    (2, 120, 140, 10.0),
    (1, 140, 200, 25.0),
    (1, 200, 140, 25.0),
)

SPACERS_MM = (10.0, 20.0, 25.0)
"""Frames with the same pattern on both sides, for room between fan and core."""


def adapters() -> Iterator[Adapter]:
    """Yield plates from one frame size to another, and spacers of the same size."""
    for count, below, above, thickness in ADAPTERS:
        wide = max(below, above)
        yield Adapter(
            id=f"adapter-{count}x{below}-{above}",
            name=f"Adapter {count} x {below} to {above}, {thickness:g} mm",
            aliases=("converter", "reducer"),
            length_mm=float(count * wide),
            width_mm=float(wide),
            thickness_mm=thickness,
            cells=row_of_cells(count, below, wide),
            top=row_of_cells(count, above, wide),
            dimensions=FrozenMap({"thickness_mm": ASSUMED}),
        )
    for frame in (120, 140):
        for thickness in SPACERS_MM:
            yield Adapter(
                id=f"spacer-{frame}-{thickness:g}",
                name=f"Spacer frame {frame} x {thickness:g}",
                aliases=("shroud", "distance frame"),
                length_mm=float(frame),
                width_mm=float(frame),
                thickness_mm=thickness,
                cells=row_of_cells(1, frame),
                top=row_of_cells(1, frame),
                dimensions=FrozenMap({"thickness_mm": ASSUMED}),
            )
