"""Menus that set one preference each: its choices, the one that holds ticked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtWidgets import QMenu, QWidget

from app.ui.preferences import SCALES, THEMES, Preferences

AS_SYSTEM = {"system": "as the system"}


def theme_menu(parent: QWidget, preferences: Preferences) -> QMenu:
    """Return the menu of colours."""
    tip = "Light or dark, board and panels alike"
    return _choice_menu(parent, preferences, "&Colours", "theme", THEMES, AS_SYSTEM, tip)


def scale_menu(parent: QWidget, preferences: Preferences) -> QMenu:
    """Return the menu of sizes."""
    words = {scale: f"{scale} %" for scale in SCALES} | AS_SYSTEM
    title, tip = "Si&ze (at the next start)", "How large letters and controls are"
    return _choice_menu(parent, preferences, title, "scale", SCALES, words, tip)


def _choice_menu(
    parent: QWidget,
    preferences: Preferences,
    title: str,
    key: str,
    choices: Sequence[str],
    words: Mapping[str, str],
    tip: str,
) -> QMenu:
    """Return a menu of the `choices` of the preference `key`, in `words` where these tell more."""
    menu = QMenu(title, parent)
    menu.menuAction().setToolTip(tip)
    for choice in choices:
        action = menu.addAction(words.get(choice, choice))
        action.setCheckable(True)
        action.setChecked(getattr(preferences, key) == choice)
        action.triggered.connect(lambda _=False, c=choice: setattr(preferences, key, c))
        action.setData(choice)

    def refresh() -> None:
        for action in menu.actions():
            action.setChecked(action.data() == getattr(preferences, key))

    menu.aboutToShow.connect(refresh)
    return menu
