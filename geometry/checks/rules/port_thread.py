"""A fitting does not match the thread of its port."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from catalog.parts import Fitting, Port, part_ports
from geometry.checks.survey import Survey
from geometry.checks.words import called
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import port_use
from geometry.part_solids import DEFAULT_FITTING
from geometry.scene import Scene

KIND = "port_thread"


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A fitting does not match the thread of its port.

    What: the thread named for each open port against that of the fitting chosen for it. Where no
    fitting is chosen, a general one is assumed for its room and its thread is not checked.
    Why: threads that all but match, such as G1/4 (ISO 228-1) and R1/4 (ISO 7-1), screw in a few
    turns, then leak or strip.
    Change: choose a fitting with the port's thread.
    """
    scene = survey.scene
    depends = (survey.things, scene.layout.parts)
    assumed: list[str] = []
    for one_id, port, fitting in survey.once(KIND, depends, partial(_unlike, scene)):
        if fitting is None:
            assumed.append(one_id)
            continue
        yield Finding(
            kind=KIND,
            verdict=Verdict.BLOCKED,
            ids=(one_id, port.id),
            title=f"{fitting.name} has thread {fitting.thread}, port {port.id} of "
            f"{called(scene, one_id)} {port.thread}",
            advice=f"Choose a fitting with {port.thread}.",
            place=scene.placed[one_id].pose.point(port.at_mm),
        )
    if assumed:
        reason = f"no fitting is chosen; {DEFAULT_FITTING.name} is assumed for room alone"
        yield NotRun(KIND, tuple(dict.fromkeys(assumed)), reason)


def _unlike(scene: Scene) -> Iterator[tuple[str, Port, Fitting | None]]:
    """Yield the open ports with a fitting of another thread, and those with none chosen."""
    ports = {key: part_ports(part) for key, part in scene.layout.parts.items()}
    for one in scene.placed.values():
        for port in ports[one.use.part]:
            use = port_use(port, one.use.ports)
            if use.plugged:
                continue
            if use.fitting is None:
                yield one.id, port, None
                continue
            fitting = scene.layout.part(use.fitting)
            if isinstance(fitting, Fitting) and fitting.thread != port.thread:
                yield one.id, port, fitting
