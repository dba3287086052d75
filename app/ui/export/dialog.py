"""How the clearance sheet shall be exported: file, paper, resolution, scale."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.sheet.compose import NO_NAMES, Names
from app.sheet.title_block import FIELD
from app.ui.combo import CalmCombo
from app.ui.export.path_field import PathField
from app.ui.file_dialog import ask_for_file
from app.ui.tick_box import TickBox
from app.ui.widgets import group_label, heading, keep_on_screen, muted, scrolled

SCALES = ("1:1", "1:2", "1:2.5", "1:5", "1:7.5", "1:10", "1:20")
"""Of ISO 5455, those at which an enclosure fits a sheet."""

RESOLUTIONS = (150, 254, 300, 600)

OTHER_FORMATS = (".pdf", ".svg", ".dxf", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".gif", ".webp")
"""Endings of a name by which another format is meant than the one that is written."""

NAME_WORDS = {
    "owner": "Legal owner",
    "creator": "Creator",
    "approver": "Approval person",
    "department": "Responsible department",
    "reference": "Technical reference",
    "status": "Document status",
}
"""Fields of the title block that no layout knows, in the words of ISO 7200."""


class ExportDialog(QDialog):
    """`chosen` carries file, paper, dots per inch, scale (empty: the largest that fits), names.

    Last comes whether what fits is wanted too, which can be chosen where something was `searched`.
    """

    chosen = Signal(object, str, int, str, object, bool)

    def __init__(
        self,
        proposed: Path,
        names: Names = NO_NAMES,
        parent: QWidget | None = None,
        *,
        searched: bool = False,
        with_fits: bool = False,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export clearance sheet")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.file = PathField(
            str(proposed), "Further sheets get -2, -3 and so on before the ending"
        )
        self.file.setAccessibleName("File")
        browse = QPushButton("&Browse…")
        browse.setAutoDefault(False)
        browse.setToolTip("Choose folder and name of the file")
        browse.clicked.connect(self._browse)
        row = QHBoxLayout()
        row.addWidget(self.file, 1)
        row.addWidget(browse)
        self.paper, self.dpi, self.scale = CalmCombo(), CalmCombo(), CalmCombo()
        self.paper.addItems(["A3", "A4"])
        self.paper.setAccessibleName("Paper")
        self.paper.setToolTip("Size of the sheets (ISO 216): A3 420 × 297 mm, A4 210 × 297 mm")
        for dpi in RESOLUTIONS:
            self.dpi.addItem(f"{dpi} dpi", dpi)
        self.dpi.setCurrentIndex(self.dpi.findData(300))
        self.dpi.setAccessibleName("Resolution")
        self.dpi.setToolTip("Dots per inch of the pictures; 300 is enough for print")
        self.scale.addItem("the largest that fits", "")
        for scale in SCALES:
            self.scale.addItem(scale, scale)
        self.scale.setAccessibleName("Scale")
        self.scale.setToolTip("Scale of the views (ISO 5455); a larger one may not fit the paper")
        self.with_fits = TickBox("&With what fits")
        self.with_fits.setChecked(searched and with_fits)
        self.with_fits.setEnabled(searched)
        self.with_fits.setToolTip(
            "Add sheets with the answer of the last search: count, best trade-offs, exclusions"
            if searched
            else "Search what fits first (Check menu); its answer can then go on sheets too"
        )
        form = QFormLayout()
        label = QLabel("&File")
        label.setBuddy(self.file)
        form.addRow(label, row)
        self.told = muted()
        self.told.hide()
        self._may_replace: Path | None = None
        """The file that is there already of which it was said that it will be replaced."""
        form.addRow("", self.told)
        form.addRow("&Paper", self.paper)
        form.addRow("&Resolution", self.dpi)
        form.addRow("&Scale", self.scale)
        form.addRow("", self.with_fits)
        title_block = QFormLayout()
        self.names: dict[str, QLineEdit] = {}
        for name, text in asdict(names).items():
            field = QLineEdit(text)
            field.setMaxLength(FIELD[name].most_characters or 80)
            field.setAccessibleName(NAME_WORDS[name])
            field.setPlaceholderText("printed as a dash")
            field.setToolTip(f"At most {field.maxLength()} characters")
            title_block.addRow(NAME_WORDS[name], field)
            self.names[name] = field
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        export = buttons.addButton("&Export", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        body = QWidget()
        body.setObjectName("scrolled")
        column = QVBoxLayout(body)
        column.setContentsMargins(14, 12, 14, 0)
        column.setSpacing(10)
        column.addWidget(heading("Clearance sheet"))
        column.addLayout(form)
        column.addWidget(muted("Print it at 100 %, not fitted to the page: it is true to scale."))
        column.addWidget(group_label("Title block (ISO 7200)"))
        column.addLayout(title_block)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(scrolled(body), 1)
        foot = QVBoxLayout()
        foot.setContentsMargins(14, 4, 14, 12)
        foot.addWidget(buttons)
        whole.addLayout(foot)
        tall = body.sizeHint().height() + foot.sizeHint().height() + whole.spacing()
        keep_on_screen(self, QSize(520, tall))
        # Only a button that is in its dialog already can be the one that Enter presses there.
        export.setDefault(True)
        export.setFocus()

    def accept(self) -> None:
        """Hand the choice on."""
        text = self.file.text().strip()
        if not text:
            self.file.setFocus()
            return
        path = _path(text)
        ending = path.suffix.lower()
        if path.name in ("", ".."):
            self._tell("This is a folder; type the name of a file in it.")
            return
        if ending in OTHER_FORMATS:
            self.file.setText(str(path.with_suffix(".png")))
            self._tell(
                f"Sheets are written as PNG only, not {ending[1:].upper()}; the name ends in "
                ".png now. Export again if that will do."
            )
            return
        path = path if ending == ".png" else path.with_name(f"{path.name}.png")
        if path.exists() and path != self._may_replace:
            self._may_replace = path
            self._tell(f"{path.name} is there already. Export again to replace it.")
            return
        super().accept()
        self.chosen.emit(
            path,
            self.paper.currentText(),
            self.dpi.currentData(),
            self.scale.currentData(),
            Names(**{name: field.text().strip() for name, field in self.names.items()}),
            self.with_fits.isChecked(),
        )

    def _tell(self, text: str) -> None:
        """Say what is wrong with the name of the file."""
        self.told.setText(text)
        self.told.show()
        self.file.setFocus()

    def _browse(self) -> None:
        at = _path(self.file.text())
        name = ask_for_file(self, "Export clearance sheet", at, "Pictures (*.png)", ".png")
        if name:
            self.file.setText(name)
            # Whoever chose a file that is there has been asked.
            self._may_replace = Path(name)


def _path(text: str) -> Path:
    """Return a file as it is typed; a home folder that nobody has is taken for a name."""
    try:
        return Path(text).expanduser()
    except RuntimeError:
        return Path(text)
