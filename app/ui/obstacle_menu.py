"""The states of an obstacle in the context menu: in place, taken out, or moved."""

from __future__ import annotations

from functools import partial

from PySide6.QtGui import QActionGroup
from PySide6.QtWidgets import QMenu

from app.ui.session import Session
from geometry.edits import set_state
from geometry.placement import obstacle_state


def add_states(menu: QMenu, session: Session) -> None:
    """Add the states of the selected obstacle to a menu, that which it is in ticked.

    Nothing is added where none is selected, or one that cannot be moved.
    """
    layout = session.document.layout
    found = next((o for o in layout.enclosure.obstacles if o.id == session.selected), None)
    if found is None or len(found.states) < 2:
        return
    menu.addAction(f"Where {found.name} is:".replace("&", "&&")).setEnabled(False)
    group = QActionGroup(menu)
    now = obstacle_state(found, layout.states)
    for state in found.states:
        action = menu.addAction(state.name.replace("&", "&&"))
        action.setCheckable(True)
        action.setActionGroup(group)
        action.setChecked(state.id == now.id)
        action.setEnabled(state.id != now.id)
        step = f"{found.name}: {state.name}"
        edit = partial(set_state, obstacle_id=found.id, state_id=state.id)
        action.triggered.connect(lambda _=False, s=step, e=edit: session.apply(s, e))
    menu.addSeparator()
