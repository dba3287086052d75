"""The list inside the parts panel: groups with their parts, drawn in two columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QByteArray,
    QMimeData,
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QColor,
    QDrag,
    QFont,
    QFontMetrics,
    QKeyEvent,
    QPainter,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QToolTip,
    QWidget,
)

from app.ui.panels.part_texts import (
    KIND_GROUPS,
    MIME,
    listed_name,
    size_text,
    sized_text,
    tip_lines,
)
from app.ui.skin import Skin
from app.ui.units import Unit
from catalog.parts import Part

PART_ROLE = Qt.ItemDataRole.UserRole
LEFT_PX, RIGHT_PX, GAP_PX = 18, 11, 10
Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True)
class Row:
    """A group's title, or a part of it."""

    title: str
    part: Part | None = None


class PartModel(QAbstractListModel):
    """Parts in groups, their sizes in the unit of the skin."""

    def __init__(self, skin: Skin) -> None:
        super().__init__()
        self._skin = skin
        self._rows: list[Row] = []

    def set_parts(self, parts: Sequence[Part]) -> None:
        """Show these parts."""
        self.beginResetModel()
        self._rows = []
        for kind, title in KIND_GROUPS.items():
            of_kind = [part for part in parts if part.kind == kind]
            if of_kind:
                self._rows.append(Row(title))
                self._rows.extend(Row(listed_name(part), part) for part in of_kind)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self._rows)

    def row(self, index: Index) -> Row:
        """Return what stands in a row."""
        return self._rows[index.row()]

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return text, tool tip or part of a row."""
        if not index.isValid():
            return None
        row = self.row(index)
        if role == Qt.ItemDataRole.DisplayRole:
            return row.title
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return _spoken(row, self._skin.unit)
        if role == Qt.ItemDataRole.ToolTipRole and row.part is not None:
            return "\n".join(tip_lines(row.part, self._skin.unit))
        if role == PART_ROLE:
            return row.part
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Groups cannot be chosen; parts can, and can be dragged."""
        if not index.isValid() or self.row(index).part is None:
            return Qt.ItemFlag.NoItemFlags
        return (
            Qt.ItemFlag.ItemIsEnabled
            | Qt.ItemFlag.ItemIsSelectable
            | Qt.ItemFlag.ItemIsDragEnabled
            | Qt.ItemFlag.ItemNeverHasChildren
        )

    def mimeTypes(self) -> list[str]:
        """Return the one type that leaves this list."""
        return [MIME]

    def mimeData(self, indexes: Sequence[QModelIndex]) -> QMimeData:
        """Return a dragged part's id."""
        return part_mime(self.row(indexes[0]).part) if indexes else QMimeData()


def _spoken(row: Row, unit: Unit) -> str:
    if row.part is None:
        return f"Group {row.title}"
    return f"{row.part.name}, {sized_text(row.part, unit)}"


def part_mime(part: Part | None) -> QMimeData:
    """Return what a part travels as."""
    mime = QMimeData()
    if part is not None:
        mime.setData(MIME, QByteArray(part.id.encode()))
        mime.setText(part.name)
    return mime


class PartDelegate(QStyledItemDelegate):
    """Paints a part's name on the left and its size on the right."""

    def __init__(self, skin: Skin, parts: QListView) -> None:
        super().__init__(parts)
        self._skin, self._list = skin, parts

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return a row's height: as many lines as name and size take."""
        part = index.data(PART_ROLE)
        line = option.fontMetrics.height()
        if part is None:
            return QSize(120, line + 12)
        room = self._list.viewport().width() - LEFT_PX - RIGHT_PX
        title = str(index.data(Qt.ItemDataRole.DisplayRole))
        count = len(self._lines(option, title, part, room))
        return QSize(120, line * count + (9 if count == 1 else 8))

    def _size(self, part: Part) -> str:
        return size_text(part, self._skin.unit)

    def _lines(
        self, option: QStyleOptionViewItem, title: str, part: Part, room: int
    ) -> tuple[str, ...]:
        """Return the lines of a name; the last one has the size, or is free for it."""
        size_px = QFontMetrics(_small(option.font)).horizontalAdvance(self._size(part))
        return name_lines(title, option.fontMetrics, room, size_px + GAP_PX)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a group's title or a part."""
        chrome = self._skin.chrome
        part = index.data(PART_ROLE)
        title = str(index.data(Qt.ItemDataRole.DisplayRole))
        rect: QRect = option.rect
        painter.save()
        if part is None:
            font = QFont(option.font)
            font.setBold(True)
            painter.setFont(font)
            painter.setPen(QColor(chrome.muted))
            place = rect.adjusted(12, 4, -8, 0)
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, title)
            painter.restore()
            return
        if option.state & QStyle.StateFlag.State_Selected:
            focus = bool(option.state & QStyle.StateFlag.State_HasFocus)
            frame = rect.adjusted(4, 1, -5, -2)
            painter.fillRect(frame, QColor(chrome.accent_fill))
            painter.setPen(QColor(chrome.accent if focus else chrome.control))
            painter.drawRect(frame)
        inside = rect.adjusted(LEFT_PX, 0, -RIGHT_PX, 0)
        size = self._size(part)
        lines = self._lines(option, title, part, inside.width())
        high = option.fontMetrics.height()
        over = (inside.height() - high * len(lines)) // 2
        places = [
            QRect(inside.left(), inside.top() + over + high * k, inside.width(), high)
            for k in range(len(lines))
        ]
        left = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.setFont(option.font)
        painter.setPen(QColor(chrome.text))
        for line, place in zip(lines, places, strict=True):
            painter.drawText(place, left, line)
        small = _small(option.font)
        painter.setFont(small)
        painter.setPen(QColor(chrome.muted))
        size = cut_size(size, QFontMetrics(small), places[-1].width())
        right = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
        painter.drawText(places[-1], right, size)
        painter.restore()


def cut_size(size: str, metrics: QFontMetrics, room_px: int) -> str:
    """Return a size as wide as there is room (px): its first numbers count most, so they stay."""
    return metrics.elidedText(size, Qt.TextElideMode.ElideRight, room_px)


def name_lines(name: str, metrics: QFontMetrics, room_px: int, beside_px: int) -> tuple[str, ...]:
    """Return a name in one line or in two, as wide as there is room (px).

    The last line leaves `beside_px` free; where it cannot, an empty one follows. Only what has no
    room in two lines is cut.
    """
    words = name.split(" ")
    count = 1
    while count < len(words) and metrics.horizontalAdvance(" ".join(words[: count + 1])) <= room_px:
        count += 1
    lines = [" ".join(words[:count]), *filter(None, (" ".join(words[count:]),))]
    lines = [_cut(line, metrics, room_px) for line in lines]
    free = metrics.horizontalAdvance(lines[-1]) + beside_px <= room_px
    return tuple(lines) if free else (*lines, "")


def _cut(text: str, metrics: QFontMetrics, room_px: int) -> str:
    if metrics.horizontalAdvance(text) <= room_px:
        return text
    return metrics.elidedText(text, Qt.TextElideMode.ElideMiddle, room_px)


def _small(font: QFont) -> QFont:
    small = QFont(font)
    small.setPointSizeF(max(7.0, font.pointSizeF() * 0.86))
    return small


class PartList(QListView):
    """Parts to choose from: drag one over the board, or press Enter on it."""

    place_wanted = Signal(object)
    drag_started = Signal(object)
    drag_ended = Signal()

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = PartModel(skin)
        self.setModel(self._model)
        self.setItemDelegate(PartDelegate(skin, self))
        self.setDragEnabled(True)
        self.setDragDropMode(QListView.DragDropMode.DragOnly)
        self.setMouseTracking(True)
        self.setUniformItemSizes(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # Always there, so that rows keep the width for which their height was found.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setAccessibleName("Parts")
        self.doubleClicked.connect(self._place)
        skin.changed.connect(self._dress)

    def _dress(self) -> None:
        """Follow colours and unit; sizes in another one may take another line."""
        self.scheduleDelayedItemsLayout()
        self.viewport().update()

    def set_parts(self, parts: Sequence[Part]) -> None:
        """Show these parts; the part chosen before stays chosen where it is still shown."""
        chosen = self.chosen
        self._model.set_parts(parts)
        if chosen is not None:
            self.choose(chosen.id)

    @property
    def chosen(self) -> Part | None:
        """The part that is chosen."""
        index = self.currentIndex()
        return index.data(PART_ROLE) if index.isValid() else None

    def index_of(self, part_id: str) -> QModelIndex:
        """Return where a part stands; an invalid index when it is not shown."""
        for number in range(self._model.rowCount()):
            index = self._model.index(number)
            part = index.data(PART_ROLE)
            if part is not None and part.id == part_id:
                return index
        return QModelIndex()

    def choose(self, part_id: str) -> None:
        """Choose a part and bring it into sight."""
        index = self.index_of(part_id)
        if index.isValid():
            self.setCurrentIndex(index)
            self.scrollTo(index)

    def choose_first(self) -> None:
        """Choose the first part shown."""
        for number in range(self._model.rowCount()):
            index = self._model.index(number)
            if index.data(PART_ROLE) is not None:
                self.setCurrentIndex(index)
                return

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Find the rows' heights again for another width (a list view does so for heights only)."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.scheduleDelayedItemsLayout()

    def startDrag(self, supported: Qt.DropAction) -> None:  # noqa: ARG002 - Qt's signature
        """Drag the chosen part; the board shows a ghost, so the pointer carries no picture."""
        part = self.chosen
        if part is None:
            return
        drag = QDrag(self)
        drag.setMimeData(part_mime(part))
        nothing = QPixmap(1, 1)
        nothing.fill(Qt.GlobalColor.transparent)
        drag.setPixmap(nothing)
        drag.setHotSpot(QPoint(0, 0))
        QToolTip.hideText()
        self.drag_started.emit(part)
        drag.exec(Qt.DropAction.CopyAction)
        self.drag_ended.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter places the chosen part with the keys."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.chosen is not None:
            self._place(self.currentIndex())
            return
        super().keyPressEvent(event)

    def _place(self, index: QModelIndex) -> None:
        part = index.data(PART_ROLE)
        if part is not None:
            self.place_wanted.emit(part)
