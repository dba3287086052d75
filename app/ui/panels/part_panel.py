"""The part panel: what is selected, which way it stands, and its numbers to type."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Literal, get_args

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QFormLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.ui.actions import with_keys
from app.ui.combo import combo
from app.ui.numbers import LengthField
from app.ui.panels.part_texts import sized_text
from app.ui.panels.port_rows import PortRows
from app.ui.panels.room_rows import RoomRows
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.units import Unit, figure_text, length_text
from app.ui.widgets import as_now, group_label, muted, scroll_through, wrapping
from catalog.enclosure import Obstacle
from catalog.model import Direction
from catalog.parts import Fan, Part, Pump, PumpReservoir
from geometry.depths import far_mm
from geometry.edits import move_free, set_head_mm, set_held, set_locked, set_pose
from geometry.layout import FreePart, Held, Layout
from geometry.measures.pose import AXES
from geometry.placement import Placed, obstacle_state
from geometry.references import holder_ids
from geometry.scene import Scene
from geometry.stack_sides import zone_side
from geometry.walls import WALL_NAMES
from geometry.zone_names import zone_names

DIRECTIONS: tuple[Direction, ...] = ("+x", "-x", "+y", "-y", "+z", "-z")
HeldBy = Literal["zone cells", "holes", "clamp", "adhesive", "nothing"]
HELD_BY: tuple[HeldBy, ...] = get_args(HeldBy)
HELD_ON_NOTHING = "nothing named"


class PartPanel(QWidget):
    """Shows the selected part; without one, how to select one."""

    def __init__(
        self, session: Session, skin: Skin, parts: Sequence[Part], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._skin = session, skin
        self._holders: list[tuple[str, str]] = []
        self._title = wrapping("Part")
        self._title.setObjectName("heading")
        self._about = muted()
        self.place = tuple(
            LengthField(skin, f"Place along {axis}", "Middle of the part's seat face")
            for axis in AXES
        )
        along = "the part's own axis along a direction of the enclosure"
        self.x_to = combo("Port end points to", f"Port end points to: {along}")
        self.z_to = combo("Far face points to", f"Far face points to: {along}")
        for box in (self.x_to, self.z_to):
            box.addItems(list(DIRECTIONS))
            box.activated.connect(self._on_pose)
        self.held_by = combo("Held by", "What holds this free part; held by nothing is a finding")
        self.held_by.addItems(list(HELD_BY))
        self.held_on = combo("Held on", "The wall, obstacle, zone or part that it is held on")
        self.head = LengthField(
            skin, "Screw heads", "How far standing screw heads stick out of the part", 0.0, 50.0
        )
        self.lock = QPushButton("Lock")
        self.lock.setCheckable(True)
        self.lock.setToolTip(with_keys("lock", "Keep the part where and as it is"))
        self.ports = PortRows(session, skin, parts)
        self._room_title = group_label("Room round it")
        self.room = RoomRows(session, skin)
        self._free = QWidget()
        free = self._free_form = QFormLayout(self._free)
        free.setContentsMargins(0, 0, 0, 0)
        for axis, field in zip(AXES, self.place, strict=True):
            free.addRow(f"Place {axis}", field)
            field.typed_mm.connect(lambda _: self._on_place())
        self._x_label = QLabel("Port end to")
        free.addRow(self._x_label, self.x_to)
        free.addRow("Far face to", self.z_to)
        free.addRow("Held by", self.held_by)
        free.addRow("Held on", self.held_on)
        self._stacked = QWidget()
        stacked = QFormLayout(self._stacked)
        stacked.setContentsMargins(0, 0, 0, 0)
        stacked.addRow("Screw heads", self.head)
        self._ports_title = group_label("Ports")
        body = QWidget()
        body.setObjectName("scrolled")
        column = QVBoxLayout(body)
        column.setContentsMargins(12, 8, 12, 10)
        column.setSpacing(7)
        for widget in (
            self._title, self._about, self._free, self._stacked, self._ports_title, self.ports,
            self.lock, self._room_title, self.room,
        ):  # fmt: skip
            column.addWidget(widget)
        column.addStretch(1)
        scroll_through(self, body)
        self.held_by.activated.connect(self._on_held)
        self.held_on.activated.connect(self._on_held)
        self.head.typed_mm.connect(self._on_head)
        self.lock.clicked.connect(self._on_lock)
        session.selection_changed.connect(self.refresh)
        skin.changed.connect(self.refresh)
        self.refresh()

    def focus_first(self) -> None:
        """Put the keyboard into the first field that can be typed in."""
        one = self._placed
        first = self.place[0] if one is not None and one.free else self.head
        first.setFocus(Qt.FocusReason.ShortcutFocusReason)
        first.selectAll()

    @property
    def _placed(self) -> Placed | None:
        return self._session.edited.scene.placed.get(self._session.selected or "")

    def refresh(self) -> None:
        """Show what is selected; the window asks for it when that changes, also in a drag."""
        one = self._placed
        self._free.setVisible(one is not None and one.free)
        self._stacked.setVisible(one is not None and not one.free)
        self.lock.setVisible(one is not None)
        self.ports.show_part(one)
        has_ports = bool(self.ports.boxes)
        self._ports_title.setVisible(has_ports)
        self.room.show_part(one)
        self._room_title.setVisible(bool(self.room.lines))
        if one is None:
            self._show_other()
            return
        self._title.setText(as_now(one.part.name, self._session.previewing))
        self._about.setText("\n".join(_about(self._session.edited.scene, one, self._skin.unit)))
        with QSignalBlocker(self.lock):
            self.lock.setChecked(one.use.locked)
        self.lock.setText("Unlock" if one.use.locked else "Lock")
        if isinstance(one.use, FreePart):
            self._name_length(one.part, has_ports=has_ports)
            self._show_free(one.use)
        else:
            self.head.set_mm(one.use.head_mm)

    def _show_other(self) -> None:
        obstacles = self._session.edited.scene.layout.enclosure.obstacles
        found = next((o for o in obstacles if o.id == self._session.selected), None)
        if found is not None:
            self._title.setText(found.name)
            self._about.setText("\n".join(_about_obstacle(found, obstacles)))
            return
        self._title.setText("Part")
        self._about.setText(
            "Nothing is selected. Click a part on the board, or go through the parts with Tab "
            "while the board has the keyboard."
        )

    def _name_length(self, part: Part, *, has_ports: bool) -> None:
        """Call a part's own x axis what it is of it; a fan is as long as it is wide."""
        self._free_form.setRowVisible(self.x_to, not isinstance(part, Fan))
        what = "Port end" if has_ports else "Length"
        self._x_label.setText(f"{what} to")
        self.x_to.setAccessibleName(f"{what} points to")

    def _show_free(self, use: FreePart) -> None:
        for field, value in zip(self.place, use.at_mm, strict=True):
            field.set_mm(value)
        holders = _holders(self._session.edited.scene.layout, use)
        with (
            QSignalBlocker(self.x_to),
            QSignalBlocker(self.z_to),
            QSignalBlocker(self.held_by),
            QSignalBlocker(self.held_on),
        ):
            self.x_to.setCurrentText(use.x_to)
            self.z_to.setCurrentText(use.z_to)
            self.held_by.setCurrentText(use.held.by)
            if holders != self._holders:
                self._holders = holders
                self.held_on.clear()
                for holder_id, name in holders:
                    self.held_on.addItem(name, holder_id)
            self.held_on.setCurrentIndex(max(0, self.held_on.findData(use.held.on or "")))

    # asking for edits

    def _on_place(self) -> None:
        one = self._placed
        if one is not None:
            at = (self.place[0].value_mm, self.place[1].value_mm, self.place[2].value_mm)
            self._session.apply(f"Move {one.part.name}", lambda la: move_free(la, one.id, at))
            self.refresh()

    def _on_pose(self) -> None:
        one = self._placed
        if one is None or not isinstance(one.use, FreePart):
            return
        use, x_to = one.use, DIRECTIONS[self.x_to.currentIndex()]
        z_to = DIRECTIONS[self.z_to.currentIndex()]
        if x_to[1] == z_to[1]:
            spare = next(d for d in DIRECTIONS if d[1] != x_to[1])
            x_to, z_to = (x_to, spare) if x_to != use.x_to else (spare, z_to)
        self._session.apply(
            f"Turn {one.part.name}", lambda la: set_pose(la, one.id, use.at_mm, x_to, z_to)
        )
        self.refresh()

    def _on_held(self) -> None:
        one = self._placed
        if one is None:
            return
        by = HELD_BY[self.held_by.currentIndex()]
        on = str(self.held_on.currentData() or "")
        held = Held(by=by, on=None if not on or by == "nothing" else on)
        self._session.apply(f"Hold {one.part.name}: {by}", lambda la: set_held(la, one.id, held))
        self.refresh()

    def _on_head(self, head_mm: float) -> None:
        one = self._placed
        if one is not None:
            self._session.apply("Set screw heads", lambda la: set_head_mm(la, one.id, head_mm))
            self.refresh()

    def _on_lock(self, locked: bool) -> None:
        one = self._placed
        if one is not None:
            name = f"Lock {one.part.name}" if locked else f"Unlock {one.part.name}"
            self._session.apply(name, partial(set_locked, placed_id=one.id, locked=locked))
            self.refresh()


def _holders(layout: Layout, use: FreePart) -> list[tuple[str, str]]:
    """Return id and name of all that can hold a free part; what is taken out cannot."""
    enclosure = layout.enclosure
    gone = {
        o.id
        for o in enclosure.obstacles
        if obstacle_state(o, layout.states).out and o.id != use.held.on
    }
    names = dict(WALL_NAMES)
    names |= {zone: f"mount zone {name}" for zone, name in zone_names(enclosure).items()}
    for things in (enclosure.obstacles, enclosure.panels, enclosure.outside):
        names |= {thing.id: thing.name for thing in things}
    for placed_id, part_id in _placed_parts(layout):
        names[placed_id] = f"{layout.part(part_id).name} ({placed_id})"
    ids = [h for h in holder_ids(layout) if h != use.id and h not in gone]
    return [("", HELD_ON_NOTHING), *((h, names.get(h, h)) for h in ids)]


def _placed_parts(layout: Layout) -> Iterator[tuple[str, str]]:
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            yield from ((item.id, item.part) for item in layer.items)
    yield from ((free.id, free.part) for free in layout.free)


def _about_obstacle(obstacle: Obstacle, every: Sequence[Obstacle]) -> list[str]:
    kind = "" if obstacle.kind in ("other", obstacle.id) else f"{obstacle.kind} "
    holder = next((one.name for one in every if one.id == obstacle.owner), None)
    lines = [f"Part of the enclosure: {kind}{obstacle.id}"]
    if holder is not None:
        lines.append(f"It stands on {holder} and moves with it.")
    if len(obstacle.states) > 1:
        states = ", ".join(state.name for state in obstacle.states)
        lines.append(f"States: {states}. Choose one in the Enclosure tab.")
    elif holder is None:
        lines.append("It cannot be taken out or moved.")
    return lines


def _about(scene: Scene, one: Placed, unit: Unit) -> list[str]:
    lines = [f"{one.id}   {sized_text(one.part, unit)}"]
    if one.frame is not None:
        lines.append(f"in the stack on {scene.name_of(one.frame.zone.id)}, {one.side} side")
        seat = zone_side(one).plate_mm
        # A pump's plate carries what comes next; its body goes on beside that.
        pump = isinstance(one.part, Pump | PumpReservoir)
        end_mm = far_mm(scene, one, fittings=False) if pump else one.top_mm
        base, top = figure_text(one.base_mm - seat, unit), length_text(end_mm - seat, unit)
        lines.append(f"from {base} to {top} off the plate of the zone")
    else:
        lines.append("free in the room")
    lines.append(f"port end to {one.pose.x.name}, far face to {one.pose.z.name}")
    return lines
