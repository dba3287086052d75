"""What is told of a stack's least depth, for tests to compare with figures worked by hand."""

from __future__ import annotations

from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.stackup.stack_ups import Figure


def depth_of(of: Layout) -> Figure:
    report = check_layout(of).report
    figure = depth_figure(report, report.depths[0].least)
    assert figure is not None
    return figure


def told(figure: Figure) -> tuple[str, float, float | None]:
    """Return what limits in the worst case, the depth there, and how far that stands beside."""
    beside = None if figure.beside is None else round(figure.beside.nominal_mm, 6)
    return figure.worst_name, round(figure.worst.worst_mm, 6), beside
