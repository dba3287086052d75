"""A fan blows against the air of its stack."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.parts import Fan
from geometry.checks.survey import Survey
from geometry.checks.words import called
from geometry.finding import Finding, Verdict
from geometry.layout import Item

KIND = "air_sense"


def check(survey: Survey) -> Iterator[Finding]:
    """A fan blows against the air of its stack.

    What: a fan that is set against the air sense of its stack, inward or outward.
    Why: two fans on one core that blow at each other move next to no air.
    Remedy: change the fan's air direction, or that of the whole stack.
    """
    scene = survey.scene
    for one in scene.placed.values():
        if isinstance(one.use, Item) and isinstance(one.part, Fan) and one.use.air == "against":
            assert one.stack is not None
            yield Finding(
                kind=KIND,
                verdict=Verdict.TIGHT,
                ids=(one.id, one.stack.id),
                title=f"{called(scene, one.id)} blows against its stack's air",
                advice=f"Change its air direction: the air of the stack goes {one.stack.air}.",
                place=one.pose.point((0.0, 0.0, one.part.thickness_mm / 2)),
            )
