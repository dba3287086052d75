"""A layout file written by hand, by the published schema alone: one zone for one fan.

The cavity is 300 x 200 x 200 inside walls of 2 mm. The zone lies on the front wall, n is -x. A
fan 25 mm thick stands on it, so its inner face lies at x = 300 - 25 = 275. A duct ends at x = 255,
in the way of the whole fan: 275 - 255 = 20 mm are left.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

FAN = {
    "kind": "fan",
    "id": "fan-120x25",
    "name": "Fan 120 x 25",
    "frame_mm": 120,
    "pitch_mm": 105,
    "thickness_mm": 25,
    "hub_mm": 40,
}

ZONE = {
    "id": "front-zone",
    "name": "Front zone",
    "owner": "front",
    "origin_mm": [300, 40, 40],
    "u": "+z",
    "v": "+y",
    "length_mm": 120,
    "width_mm": 120,
    "cells": [
        {"id": "c1", "u_mm": 60, "v_mm": 60, "accepts": [{"frame_mm": 120, "pitch_mm": 105}]}
    ],
    "inner": {"plate_mm": 0},
}


def one_fan_box(duct_end_mm: float = 255.0) -> dict[str, Any]:
    """Return the layout as it stands in its file; the duct ends at `duct_end_mm` in x."""
    layout: dict[str, Any] = {
        "format": "gapwright-layout",
        "version": 2,
        "name": "One-fan box",
        "enclosure": {
            "id": "hand-made",
            "name": "Hand-made box",
            "cavity": [{"shape": "box", "at_mm": [0, 0, 0], "size_mm": [300, 200, 200]}],
            "outer": [{"shape": "box", "at_mm": [-2, -2, -2], "size_mm": [304, 204, 204]}],
            "obstacles": [
                {
                    "id": "duct",
                    "name": "air duct",
                    "kind": "duct",
                    "shapes": [
                        {
                            "shape": "box",
                            "at_mm": [100, 30, 30],
                            "size_mm": [duct_end_mm - 100, 140, 140],
                        }
                    ],
                }
            ],
            "zones": [ZONE],
        },
        "parts": {"fan-120x25": FAN},
        "stacks": [
            {
                "id": "S1",
                "zone": "front-zone",
                "inner": [
                    {"id": "L1", "items": [{"id": "F1", "part": "fan-120x25", "cell": "c1"}]}
                ],
            }
        ],
    }
    return deepcopy(layout)
