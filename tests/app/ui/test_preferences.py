"""What the user prefers is kept, and what was never kept by us is taken for nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from app.ui.preferences import Preferences
from app.ui.units import Unit


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


def test_the_unit_is_kept(settings: QSettings) -> None:
    assert Preferences(settings).unit is Unit.MM
    for unit in (Unit.INCH, Unit.MM):
        Preferences(settings).unit = unit
        assert Preferences(settings).unit is unit


def test_a_unit_that_we_do_not_know_is_millimetres(settings: QSettings) -> None:
    settings.setValue("unit", "furlong")
    assert Preferences(settings).unit is Unit.MM
