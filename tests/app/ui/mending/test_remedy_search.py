"""What is worked out behind the window ends soon once nobody wants it."""

from __future__ import annotations

import pytest

from app.shipped_demo import shipped_demo
from app.ui.mending.remedy_search import RemedySearch
from geometry.checks import finding_figures
from geometry.checks.runner import check_layout
from geometry.finding import Verdict


def test_a_search_that_is_stopped_works_out_no_further_worst_case(
    qtbot, monkeypatch: pytest.MonkeyPatch
) -> None:
    checked = check_layout(shipped_demo(), remedies=False)
    faults = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
    assert len(faults) > 1
    search = RemedySearch()
    asked = []

    def stopping(survey, finding):
        asked.append(finding)
        search.number += 1

    monkeypatch.setattr(finding_figures, "figure_of", stopping)
    search.start(checked)
    qtbot.waitUntil(lambda: bool(asked))
    search.close()
    assert len(asked) == 1
