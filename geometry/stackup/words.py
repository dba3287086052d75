"""Contributors of a stack-up in plain words."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from catalog.iso2768 import KnownDimension
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.stack_ups import Contributor, Figure

MINUS = "\N{MINUS SIGN}"

_COORDINATE = re.compile(r"(at_mm|origin_mm|size_mm|shift_mm)\[([012])\]")
_POINT = re.compile(r"(outline_mm|holes_mm)(\[\d+\])+")
_INDEX = re.compile(r"\[(\d+)\]")
_AXIS_WORDS = {"at_mm": "place", "origin_mm": "place", "size_mm": "size", "shift_mm": "shift"}
_LISTED = {
    "obstacles": "", "outside": "", "openings": "", "shapes": "shape",
    "bodies": "body", "ports": "port", "cells": "cell", "plugs": "plug", "states": "state",
    "cavity": "cavity", "outer": "outer shape", "top": "upper cell",
}  # fmt: skip
_SIDES = {"inner": "inner side", "outer": "outer side"}
_PLAY = re.compile(r"screw_play\[([012])\]")


def dimension_words(path: str) -> str:
    """Return the field path of a dimension in words: "port 1 place along z"."""
    path = _PLAY.sub(lambda m: f"play of its screws along {'xyz'[int(m[1])]}", path)
    path = _POINT.sub("outline", path)
    path = _COORDINATE.sub(lambda m: f"{_AXIS_WORDS[m[1]]} along {'xyz'[int(m[2])]}", path)
    words = []
    for step in path.split("."):
        name, listed, place = step.partition("[")
        if name == "zones":
            words.append("zone")
        elif listed and name in _LISTED:
            if _LISTED[name]:
                words.append(f"{_LISTED[name]} {int(place.rstrip(']')) + 1}")
        else:
            plain = _SIDES.get(name, step.removesuffix("_mm"))
            words.append(_INDEX.sub(lambda m: f" {int(m[1]) + 1}", plain))
    return " ".join(words).replace("_", " ")


def tolerance_words(known: KnownDimension, unit: str = "") -> str:
    """Return a dimension with its tolerance: "45 ± 0.3" or "50 +0.1 −0.2".

    With the unit that follows each number, as in a sentence: "45 mm ± 0.3 mm".
    """
    after = f" {unit}" if unit else ""
    plus, minus = known.plus_mm or 0.0, known.minus_mm or 0.0
    nominal = f"{known.nominal_mm:g}".replace("-", MINUS, known.nominal_mm < 0) + after
    if plus == minus:
        return f"{nominal} ± {plus:g}{after}"
    return f"{nominal} +{plus:g}{after} {MINUS}{minus:g}{after}"


def told_apart(contributors: Sequence[Contributor]) -> list[Contributor]:
    """Return contributors in which a name that several owners share is told with the owner's id."""
    owners: dict[str, set[str]] = {}
    for one in contributors:
        owners.setdefault(one.name, set()).add(one.owner)
    return [
        replace(one, name=f"{one.name} ({one.owner})") if len(owners[one.name]) > 1 else one
        for one in contributors
    ]


def contributor_words(one: Contributor, unit: str = "") -> str:
    """Return whose dimension it is, what it is and its tolerance, in numbers or with the unit."""
    return f"{one.name}, {dimension_words(one.path)} {tolerance_words(one.dimension, unit)}"


def elsewhere_words(figure: Figure, length: Callable[[float], str]) -> str:
    """Return where a figure is least in the worst case; empty where as drawn.

    With what it is there as drawn, from which the dimensions that contribute take it:
    " at the bar, 11.2 mm as drawn". `length` writes a length in mm.
    """
    if not figure.elsewhere:
        return ""
    gap = figure.beside
    if gap is None:
        of = f" of {figure.worst_of}" if figure.worst_of else ""
        drawn = f", {length(figure.worst.nominal_mm)} as drawn" if figure.leaves_other else ""
        return f"{of} at {figure.worst_name}{drawn}"
    where = beside_way_words(gap.nominal_mm, length, of_openings=gap.of_openings)
    return f" at {figure.worst_name}, {where} as drawn"


def beside_way_words(mm: float, length: Callable[[float], str], *, of_openings: bool) -> str:
    """Return what is beside the way, "0.4 mm beside the way", or what openings overlap."""
    if of_openings and mm <= LENGTH_EPS_MM:
        return "where openings meet"
    if of_openings:
        return f"between openings that overlap by {length(mm)}"
    return f"{length(mm)} beside the way"
