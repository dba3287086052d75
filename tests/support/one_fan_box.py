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


def outer_fan_box() -> dict[str, Any]:
    """Return the box with its fan on the outer side of the zone, before the same duct.

    A bracket carries the zone, whose inward normal is now +x. Its datum lies at x = 290 and its
    plate is 1.5 thick, so the fan ends at 290 - 1.5 - 25 = 263.5: 263.5 - 255 = 8.5 mm are left.
    """
    box = one_fan_box()
    enclosure, stack = box["enclosure"], box["stacks"][0]
    plate = {"shape": "box", "at_mm": [288.5, 40, 40], "size_mm": [1.5, 120, 120]}
    enclosure["obstacles"].append(
        {"id": "bracket", "name": "bracket", "kind": "bracket", "shapes": [plate]}
    )
    turned = {"owner": "bracket", "origin_mm": [290, 40, 40], "u": "+y", "v": "+z"}
    enclosure["zones"] = [ZONE | turned | {"outer": {"plate_mm": 1.5}}]
    stack["outer"] = stack.pop("inner")
    return box
