"""A figure's tolerance is that of the very number that is told, its limits in their order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import pytest
from filled_rooms import filled
from odd_rooms import odd_case

from app.demo import demo_layout
from catalog.store import SHIPPED_ENCLOSURES, Library
from geometry.checks.finding_figures import depth_figure, finding_figure
from geometry.checks.nearest import nearest_told
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.stackup.stack_ups import Figure, StackUp

EPS_MM = 1e-6

Told = tuple[str, float, Figure]
"""What a figure is of, the number that is told, and its stack-up."""


def told_in(of: Layout) -> Iterator[Told]:
    report = check_layout(of, remedies=False).report
    assert report.survey is not None
    for depth in report.depths:
        for left in depth.cells:
            figure = depth_figure(report, left)
            if figure is not None:
                yield f"depth of {left.item} over {left.cell}", left.mm, figure
    for owner in report.survey.scene.placed:
        for near, figure in nearest_told(report.survey, owner):
            yield f"{near.kind} of {owner}", near.gap_mm, figure
    for finding in report.findings:
        figure = finding_figure(report, finding)
        if figure is not None and finding.measured_mm is not None:
            yield f"{finding.kind} of {finding.ids}", finding.measured_mm, figure


def in_order(gap: StackUp) -> bool:
    ends = (gap.worst_mm, gap.likely_least_mm, gap.likely_most_mm, gap.most_mm)
    rising = all(low <= high + EPS_MM for low, high in pairwise(ends))
    return rising and gap.worst_mm - EPS_MM <= gap.nominal_mm <= gap.most_mm + EPS_MM


def checked(of: Layout) -> int:
    """Return how many figures of a layout are what is told, with their limits in order."""
    count = 0
    for what, mm, figure in told_in(of):
        assert figure.nominal.nominal_mm == pytest.approx(mm, abs=EPS_MM), what
        assert in_order(figure.nominal), what
        assert in_order(figure.worst), what
        assert figure.worst.worst_mm <= figure.nominal.worst_mm + EPS_MM or figure.others, what
        assert figure.worst.worst_mm <= mm + EPS_MM, what
        assert figure.worst.worst_mm <= figure.likely_least_mm + EPS_MM, what
        assert figure.likely_least_mm <= figure.likely_most_mm + EPS_MM, what
        count += 1
    return count


def test_in_odd_rooms() -> None:
    assert sum(checked(odd_case(seed).case.layout) for seed in range(50)) > 70


@pytest.mark.nightly
def test_in_many_odd_rooms() -> None:
    assert sum(checked(odd_case(seed).case.layout) for seed in range(1000, 1400)) > 500


@pytest.mark.parametrize("enclosure", SHIPPED_ENCLOSURES)
def test_in_the_shipped_enclosures_filled(enclosure: str) -> None:
    assert checked(filled(Library(), enclosure).layout) > 10


def test_in_the_demo() -> None:
    assert checked(demo_layout(Library())) > 10
