"""The process that searches: what it does before it begins."""

from __future__ import annotations

import gc
import os
from multiprocessing import Pipe

import pytest

from app.quick_start import YOUNG_OBJECTS
from app.ui.search.worker import run_search


def test_the_collector_runs_seldom_while_a_search_is_under_way(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(os, "nice", lambda by: by, raising=False)
    before = gc.get_threshold()
    orders, ask = Pipe(duplex=False)
    here, there = Pipe(duplex=False)
    ask.close()
    try:
        run_search(orders, there)
        assert gc.get_threshold()[0] == YOUNG_OBJECTS
    finally:
        gc.set_threshold(*before)
        for end in (orders, here, there):
            end.close()
