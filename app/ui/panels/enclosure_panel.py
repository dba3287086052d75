"""The enclosure panel: what the layout is called, its margins, and the states of obstacles."""

from __future__ import annotations

from functools import partial
from typing import get_args

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.ui.combo import combo
from app.ui.numbers import LengthField
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.undo_keys import UndoPasses
from app.ui.units import length_text
from app.ui.widgets import clear_layout, group_label, muted, scroll_through, wrapping
from geometry.edits import (
    CUT_CAUTION,
    cut_lines,
    set_judge,
    set_margin,
    set_name,
    set_revision,
    set_state,
)
from geometry.edits.settings import MarginRole
from geometry.layout import JUDGED
from geometry.placement import obstacle_state

ROLES: tuple[MarginRole, ...] = get_args(MarginRole)


class EnclosurePanel(QWidget):
    """Everything about the layout that belongs to no single part."""

    def __init__(self, session: Session, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._skin = session, skin
        self._obstacle_ids: tuple[str, ...] = ()
        self._pairs_shown: tuple[tuple[str, str, float, str], ...] | None = None
        self.states: dict[str, QComboBox] = {}
        self._title = wrapping("Enclosure")
        self._title.setObjectName("heading")
        self._size = muted()
        self.cuts = wrapping()
        self.name = QLineEdit()
        self.name.setMaxLength(80)
        UndoPasses(self.name, self.name)
        self.name.setAccessibleName("Name of the layout")
        self.name.setToolTip("Name of the layout; it stands in the title block of the sheet")
        self.revision = QLineEdit()
        self.revision.setMaxLength(2)
        UndoPasses(self.revision, self.revision)
        self.revision.setFixedWidth(52)
        self.revision.setAccessibleName("Revision")
        self.revision.setToolTip("Revision of the layout, one or two characters")
        self.margin = LengthField(
            skin, "Margin", "Gaps under it are tight; it holds for every pair not listed below", 0.0
        )
        self.judge = combo(
            "Judge gaps", "By worst case a gap is tight too where tolerances can use up its margin"
        )
        self.judge.addItems([*JUDGED.values()])
        form = QFormLayout()
        form.setContentsMargins(0, 0, 0, 0)
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        form.addRow("&Name", self.name)
        form.addRow("Re&vision", self.revision)
        form.addRow("Mar&gin", self.margin)
        form.addRow("&Judge gaps", self.judge)
        self._pairs = QGridLayout()
        self._pairs.setHorizontalSpacing(6)
        tip = "The pair of roles that gets a margin of its own"
        self._first, self._second = combo("First role", tip), combo("Second role", tip)
        for box in (self._first, self._second):
            box.addItems(list(ROLES))
        self._second.setCurrentText("cable")
        add = QPushButton("Add pair")
        add.setToolTip("Give this pair of roles a margin of its own")
        add.clicked.connect(self._add_pair)
        adding = QGridLayout()
        adding.setHorizontalSpacing(6)
        adding.addWidget(self._first, 0, 0)
        adding.addWidget(self._second, 0, 1)
        adding.addWidget(add, 1, 0, 1, 2)
        self._obstacles = QFormLayout()
        self._obstacles.setContentsMargins(0, 0, 0, 0)
        self._obstacles.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._no_states = muted("Nothing in this enclosure can be taken out or moved.")
        body = QWidget()
        body.setObjectName("scrolled")
        column = QVBoxLayout(body)
        column.setContentsMargins(12, 8, 12, 12)
        column.setSpacing(8)
        column.addWidget(self._title)
        column.addWidget(self._size)
        column.addWidget(self.cuts)
        column.addLayout(form)
        column.addWidget(group_label("Margins for pairs of roles"))
        column.addLayout(self._pairs)
        column.addLayout(adding)
        column.addWidget(group_label("Obstacles"))
        column.addWidget(self._no_states)
        column.addLayout(self._obstacles)
        column.addStretch(1)
        scroll_through(self, body)
        self.name.editingFinished.connect(self._on_name)
        self.revision.editingFinished.connect(self._on_revision)
        self.margin.typed_mm.connect(
            lambda mm: session.apply("Set margin", lambda la: set_margin(la, mm))
        )
        self.judge.textActivated.connect(self._on_judge)
        session.document_changed.connect(self.refresh)
        skin.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the document's enclosure and settings."""
        layout = self._session.document.layout
        enclosure = layout.enclosure
        self._title.setText(enclosure.name)
        self._size.setText(_cavity_text(self._session, self._skin))
        cuts = cut_lines(enclosure)
        self.cuts.setText("\n".join([*cuts, f"Caution: {CUT_CAUTION}"]) if cuts else "")
        self.cuts.setVisible(bool(cuts))
        for field, text in ((self.name, layout.name), (self.revision, layout.revision)):
            if not (field.hasFocus() and field.isModified()):
                field.setText(text)
                field.setCursorPosition(0)
        self.margin.set_mm(layout.settings.margin_mm)
        with QSignalBlocker(self.judge):
            self.judge.setCurrentText(JUDGED[layout.settings.judge])
        self._show_pairs()
        movable = [o for o in enclosure.obstacles if len(o.states) > 1]
        ids = tuple(o.id for o in movable)
        if ids != self._obstacle_ids:
            self._rebuild_states()
        self._no_states.setVisible(not movable)
        for obstacle in movable:
            box = self.states[obstacle.id]
            with QSignalBlocker(box):
                box.setCurrentIndex(box.findData(obstacle_state(obstacle, layout.states).id))

    def _on_judge(self, judge: str) -> None:
        wanted = next(how for how, words in JUDGED.items() if words == judge)
        name = "Judge by worst case" if wanted == "worst case" else "Judge as drawn"
        self._session.apply(name, lambda layout: set_judge(layout, wanted))

    def _rebuild_states(self) -> None:
        while self._obstacles.rowCount():
            self._obstacles.removeRow(0)
        self.states = {}
        enclosure = self._session.document.layout.enclosure
        movable = [o for o in enclosure.obstacles if len(o.states) > 1]
        self._obstacle_ids = tuple(o.id for o in movable)
        for obstacle in movable:
            tip = f"Where {obstacle.name} is: in place, taken out, or moved"
            box = combo(f"State of {obstacle.name}", tip)
            for state in obstacle.states:
                box.addItem(state.name, state.id)
            box.activated.connect(partial(self._on_state, obstacle.id, obstacle.name))
            label = QLabel(obstacle.name)
            label.setWordWrap(True)
            label.setBuddy(box)
            self._obstacles.addRow(label, box)
            self.states[obstacle.id] = box

    def _show_pairs(self) -> None:
        margins = self._session.document.layout.settings.margins
        wanted = tuple((*m.roles, m.margin_mm, self._skin.unit.value) for m in margins)
        if wanted == self._pairs_shown:
            return
        self._pairs_shown = wanted
        clear_layout(self._pairs)
        for row, pair in enumerate(margins):
            name = " to ".join(pair.roles)
            field = LengthField(self._skin, f"Margin from {name}", "", 0.0)
            field.set_mm(pair.margin_mm)
            field.typed_mm.connect(partial(self._set_pair, pair.roles))
            drop = QPushButton("Remove")
            drop.setToolTip(f"Use the layout's margin for {name}")
            drop.clicked.connect(partial(self._set_pair, pair.roles, None))
            self._pairs.addWidget(QLabel(name), row, 0)
            self._pairs.addWidget(field, row, 1)
            self._pairs.addWidget(drop, row, 2)

    def _set_pair(
        self, roles: tuple[MarginRole, MarginRole], margin_mm: float | None, *_: object
    ) -> None:
        self._session.apply(
            f"Set margin from {roles[0]} to {roles[1]}",
            lambda layout: set_margin(layout, margin_mm, roles),
        )

    def _add_pair(self) -> None:
        roles = (ROLES[self._first.currentIndex()], ROLES[self._second.currentIndex()])
        self._set_pair(roles, self._session.document.layout.settings.margin_mm)

    def _on_state(self, obstacle_id: str, name: str, index: int) -> None:
        state = str(self.states[obstacle_id].itemData(index))
        text = self.states[obstacle_id].itemText(index)
        if not self._session.apply(
            f"{name}: {text}", lambda layout: set_state(layout, obstacle_id, state)
        ):
            self.refresh()

    def _on_name(self) -> None:
        text = self.name.text().strip()
        if text and text != self._session.document.layout.name:
            self._session.apply("Rename layout", lambda layout: set_name(layout, text))
        self.name.setModified(False)
        self.refresh()

    def _on_revision(self) -> None:
        text = self.revision.text().strip()
        if text != self._session.document.layout.revision:
            self._session.apply("Set revision", lambda layout: set_revision(layout, text))
        self.revision.setModified(False)
        self.refresh()


def _cavity_text(session: Session, skin: Skin) -> str:
    from geometry.part_solids import shape_prism

    bounds = [shape_prism(s).bounds for s in session.document.layout.enclosure.cavity]
    sizes = [max(b[k + 3] for b in bounds) - min(b[k] for b in bounds) for k in range(3)]
    length, depth, height = (length_text(size, skin.unit) for size in sizes)
    return f"Cavity {length} long, {depth} deep from the access side, {height} high"
