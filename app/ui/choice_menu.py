"""A menu that sets one preference: its choices, the one that holds ticked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtWidgets import QMenu, QWidget

from app.ui.preferences import Preferences


def choice_menu(
    parent: QWidget,
    preferences: Preferences,
    title: str,
    key: str,
    choices: Sequence[str],
    words: Mapping[str, str],
) -> QMenu:
    """Return a menu of the `choices` of the preference `key`, in `words` where these tell more."""
    menu = QMenu(title, parent)
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
