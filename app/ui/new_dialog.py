"""Choose an enclosure for a new layout, with a preview of each."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.drawing.board import BoardFrame, board_drawing
from app.drawing.board_making import Shows
from app.drawing.primitives import Drawing
from app.ui.board.drawing_view import DrawingView
from app.ui.skin import Skin
from app.ui.units import Unit, length_text
from app.ui.widgets import heading, keep_on_screen, muted
from catalog.enclosure import Enclosure
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout
from geometry.scene import Scene
from geometry.zone_names import zone_names

ROW_PX = 14
"""What a row of the list is higher than its text."""


class NewDialog(QDialog):
    """`chosen` carries an empty layout in the enclosure that was chosen.

    With `now`, the enclosure of a layout that is there already, another one is chosen for it.
    """

    chosen = Signal(object)

    def __init__(
        self,
        enclosures: Sequence[Enclosure],
        skin: Skin,
        parent: QWidget | None = None,
        now: Enclosure | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("New layout" if now is None else "Change enclosure")
        self._skin = skin
        self._previews: dict[str, Checked] = {}
        self.list = QListWidget()
        self.list.setAccessibleName("Enclosures")
        for enclosure in enclosures:
            item = QListWidgetItem(enclosure.name)
            item.setData(Qt.ItemDataRole.UserRole, enclosure)
            item.setSizeHint(QSize(0, self.list.fontMetrics().height() + ROW_PX))
            self.list.addItem(item)
        self._view = DrawingView(skin)
        self._view.setMinimumSize(200, 90)
        self._about = muted()
        self.name = QLineEdit()
        self.name.setMaxLength(80)
        self.name.setAccessibleName("Name of the layout")
        self.name.setPlaceholderText("named after the enclosure")
        self.name.setToolTip("Stands in the title block of the sheet, its first 25 characters")
        self._buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self._create = self._buttons.addButton(
            "&Create" if now is None else "&Change", QDialogButtonBox.ButtonRole.AcceptRole
        )
        form = QFormLayout()
        form.addRow("&Name", self.name)
        kept = muted(
            "Stacks stay where a zone of that name takes them; other parts stand free where they "
            "were. Undo reverts it."
        )
        for row, shown in ((self.name, now is None), (form.labelForField(self.name), now is None)):
            row.setVisible(shown)
        kept.setVisible(now is not None)
        right = QVBoxLayout()
        right.addWidget(self._view, 1)
        right.addWidget(self._about)
        right.addLayout(form)
        right.addWidget(kept)
        middle = QHBoxLayout()
        middle.setSpacing(12)
        middle.addWidget(self.list, 2)
        middle.addLayout(right, 3)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 12, 14, 12)
        column.setSpacing(10)
        column.addWidget(heading("Choose an enclosure"))
        column.addLayout(middle, 1)
        column.addWidget(self._buttons)
        keep_on_screen(self, QSize(760, 480))
        self._create.setDefault(True)
        self.list.currentItemChanged.connect(lambda *_: self._show())
        self.list.itemDoubleClicked.connect(lambda _: self.accept())
        self._buttons.accepted.connect(self.accept)
        self._buttons.rejected.connect(self.reject)
        ids = [enclosure.id for enclosure in enclosures]
        self.list.setCurrentRow(ids.index(now.id) if now is not None and now.id in ids else 0)
        self.list.setFocus()

    @property
    def enclosure(self) -> Enclosure | None:
        """The enclosure that is chosen."""
        item = self.list.currentItem()
        found = item.data(Qt.ItemDataRole.UserRole) if item is not None else None
        return found if isinstance(found, Enclosure) else None

    def accept(self) -> None:
        """Hand on an empty layout in the enclosure that is chosen."""
        enclosure = self.enclosure
        if enclosure is None:
            return
        name = self.name.text().strip() or enclosure.name
        super().accept()
        self.chosen.emit(Layout(name=name, enclosure=enclosure))

    def _show(self) -> None:
        enclosure = self.enclosure
        self._create.setEnabled(enclosure is not None)
        if enclosure is None:
            self._view.set_drawing(None)
            return
        if enclosure.id not in self._previews:
            layout = Layout(name=enclosure.name, enclosure=enclosure)
            self._previews[enclosure.id] = check_layout(layout, None)
        checked = self._previews[enclosure.id]
        frame = BoardFrame.of(checked.scene.layout)

        def draw(mm_per_px: float) -> Drawing:
            inches = self._skin.unit is Unit.INCH
            return board_drawing(checked, frame, mm_per_px, Shows(inches=inches))

        self._view.set_drawing(draw)
        self._about.setText(_about(enclosure, checked.scene, self._skin))


def _about(enclosure: Enclosure, scene: Scene, skin: Skin) -> str:
    b = scene.walls.cavity
    sizes = " × ".join(length_text(b[k + 3] - b[k], skin.unit) for k in range(3))
    zones = ", ".join(zone_names(enclosure).values()) or "none"
    return f"Cavity {sizes} (length × depth × height). Mount zones: {zones}."
