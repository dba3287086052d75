"""What the bench lets through: a fault of the check itself is no edit that cannot be made."""

from __future__ import annotations

import pytest
from small_rooms import layout, room

from geometry.checks.runner import check_layout
from geometry.search.mending import bench
from geometry.search.mending.bench import Bench


def test_a_fault_within_the_check_is_not_taken_for_an_edit_that_fails(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise KeyError("lost")

    tried = Bench(check_layout(layout(room((100, 100, 100)), [])), lambda _: True)
    monkeypatch.setattr(bench, "check_layout", broken)
    with pytest.raises(KeyError, match="lost"):
        tried.checked_after(())
