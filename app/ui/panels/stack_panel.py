"""The stack panel: the layers of the zone at hand, to scale and by number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.ui.actions import key_of
from app.ui.combo import combo
from app.ui.panels.layer_rows import LayerRows
from app.ui.panels.short_lines import ShortLines, SteadyColumn
from app.ui.panels.stack_bar import StackBar
from app.ui.panels.stack_settings import StackSettings
from app.ui.panels.stack_texts import (
    add_layer_edit,
    fans_for,
    layer_candidates,
    leftover_text,
    limit_text,
    standing_text,
)
from app.ui.panels.tolerance_texts import contributors_tip, tolerance_line
from app.ui.session import Edit, Session, sentence
from app.ui.skin import Skin
from app.ui.units import length_text
from app.ui.widgets import AS_NOW_TIP, as_now, group_label, heading, muted, scroll_through, wrapping
from catalog.enclosure import Zone
from catalog.parts import Fan, Part
from geometry.checks.finding_figures import depth_figure
from geometry.edits import (
    FanPlan,
    fan_plan,
    fill_fans,
    slide_note,
)
from geometry.finding import StackDepth
from geometry.layout import Side, Stack
from geometry.zone_names import zone_names

PLANS: tuple[tuple[FanPlan, str, str], ...] = (
    ("none", "None", "Remove the fans"),
    ("push", "Push", "One fan per place, upstream of the core: they blow into it"),
    ("pull", "Pull", "One fan per place, downstream of the core: they draw out of it"),
    ("push-pull", "Push-pull", "Fans on both faces of the core"),
)


FROM_PLATE_TIP = (
    "Total and clear depth count from the face of the plate on which this side is seated, "
    "without the plate's thickness"
)


FIGURE_LINES = 2
WORD_LINES = 4
"""Kept for the figures and for the words below them, so that no button moves as they change."""


class StackPanel(QWidget):
    """What is stacked on one side of one zone; every number can be typed."""

    def __init__(
        self, session: Session, skin: Skin, parts: Sequence[Part], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._skin, self._parts = session, skin, tuple(parts)
        self._zones: Mapping[str, str] = {}
        self.title = heading("Stack")
        self.zone = combo("Selected zone", "The mount zone that this panel shows")
        self.side = combo("Side of the plate", "Inner side of the zone's plate, or its outer side")
        self.side.setMinimumContentsLength(7)
        self.bar = StackBar(skin)
        self.bar.layer_clicked.connect(self._select_layer)
        self._figures = wrapping()
        self._figures.setTextFormat(Qt.TextFormat.RichText)
        self._figures.setToolTip(FROM_PLATE_TIP)
        self._figure_words: tuple[str, ...] = ()
        self._figures_shown: tuple[str, ...] = ()
        self._limit, self.tolerance, self._standing = ShortLines(), ShortLines(), ShortLines()
        self._words = SteadyColumn((self._limit, self.tolerance, self._standing), WORD_LINES)
        self._empty = muted()
        self.plan_buttons: dict[FanPlan, QPushButton] = {}
        self.fan = combo("Fan for push and pull", "The fan that the buttons above put in")
        self.rows = LayerRows(session, skin)
        self.add = QPushButton("A&dd layer")
        self.add.setToolTip("Put a part on top of this stack")
        self._add_menu = QMenu(self.add)
        self._add_menu.setToolTipsVisible(True)
        self._add_menu.aboutToShow.connect(self._fill_add_menu)
        self.add.setMenu(self._add_menu)
        self.settings = StackSettings(session, skin)
        self._build()
        self._keep_room()
        self.zone.activated.connect(self._on_zone)
        self.side.activated.connect(self._on_side)
        self.settings.asked.connect(self.refresh)
        session.selection_changed.connect(self.refresh)
        skin.changed.connect(self.refresh)
        self.refresh()

    def set_parts(self, parts: Sequence[Part]) -> None:
        """Take another library."""
        self._parts = tuple(parts)
        self.refresh()

    def _build(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self.zone, 1)
        top.addWidget(self.side)
        plans = QHBoxLayout()
        plans.setSpacing(4)
        for plan, text, tip in PLANS:
            button = QPushButton(text)
            button.setObjectName("plan")
            button.setCheckable(True)
            button.setToolTip(tip)
            button.setAccessibleName(f"Fans: {text}")
            button.clicked.connect(lambda _=False, p=plan: self.set_plan(p))
            plans.addWidget(button, len(text) + 3)
            self.plan_buttons[plan] = button
        self._fans_title = group_label("Fans")
        self._layers_title = group_label("Layers, from the plate")
        self._details = QWidget()
        details = QVBoxLayout(self._details)
        details.setContentsMargins(0, 0, 0, 0)
        details.setSpacing(6)
        details.addWidget(self.bar)
        details.addWidget(self._figures)
        details.addWidget(self._words)
        details.addWidget(self._fans_title)
        details.addLayout(plans)
        details.addWidget(self.fan)
        details.addWidget(self._layers_title)
        details.addWidget(self.rows)
        body = QWidget()
        body.setObjectName("scrolled")
        column = QVBoxLayout(body)
        column.setContentsMargins(12, 8, 12, 10)
        column.setSpacing(7)
        column.addWidget(self.title)
        column.addLayout(top)
        column.addWidget(self._empty)
        column.addWidget(self._details)
        column.addWidget(self.add)
        column.addWidget(self.settings)
        column.addStretch(1)
        scroll_through(self, body)

    # showing

    def changeEvent(self, event: QEvent) -> None:
        """Keep the room of the figures in another font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._keep_room()

    def _keep_room(self) -> None:
        self._figures.setMinimumHeight(FIGURE_LINES * self._figures.fontMetrics().lineSpacing())

    def refresh(self, moving: bool = False) -> None:
        """Show the zone at hand as it is on the board; the window asks for it when that changes.

        Figures are marked as older while something is `moving`.
        """
        previewing = self._session.previewing
        self.title.setText(as_now("Stack", previewing))
        self.title.setToolTip(AS_NOW_TIP if previewing else "")
        self._show_zones()
        zone, stack = self._zone, self._session.stack_at_hand
        side = self._side
        layers = stack.side(side) if stack is not None else ()
        self._details.setVisible(bool(layers))
        self.settings.setVisible(stack is not None)
        self._empty.setVisible(not layers)
        self.add.setEnabled(zone is not None)
        if zone is None:
            self._empty.setText("This enclosure has no mount zone; parts can stand free in it.")
            return
        self._empty.setText(
            "Nothing is stacked here yet. Drag an exchanger or a fan over the zone, "
            "or add a layer below."
        )
        if stack is None:
            return
        self.settings.show_stack(zone, stack)
        if layers:
            self._show_layers(stack, side)
            self._say_figures(stale=moving or (self._session.stale and not previewing))

    def tell_stale(self) -> None:
        """Say at once that the figures are of an earlier layout; new ones follow at their pace."""
        self._say_figures(stale=True)

    def _say_figures(self, *, stale: bool) -> None:
        known = self._figure_words
        shown = (*known, "checking…") if known and stale else known or ("Checking…",)
        if shown == self._figures_shown:
            return
        self._figures_shown = shown
        self._figures.setText(" &nbsp; ".join(w.replace(" ", "&nbsp;") for w in shown))

    @property
    def _zone(self) -> Zone | None:
        at = self._session.at_hand
        zones = self._session.edited.scene.layout.enclosure.zones
        return next((z for z in zones if at is not None and z.id == at.zone), None)

    @property
    def _side(self) -> Side:
        at = self._session.at_hand
        return at.side if at is not None else "inner"

    def _show_zones(self) -> None:
        zones = zone_names(self._session.edited.scene.layout.enclosure)
        with QSignalBlocker(self.zone), QSignalBlocker(self.side):
            if zones != self._zones or self.zone.count() != len(zones):
                self._zones = zones
                self.zone.clear()
                for zone, name in zones.items():
                    self.zone.addItem(name, zone)
            at = self._session.at_hand
            if at is None:
                return
            self.zone.setCurrentIndex(self.zone.findData(at.zone))
            sides = [
                name
                for name in ("inner", "outer")
                if self._zone is not None and getattr(self._zone, name) is not None
            ]
            if [self.side.itemData(k) for k in range(self.side.count())] != sides:
                self.side.clear()
                for name in sides:
                    self.side.addItem(f"{name} side", name)
            self.side.setCurrentIndex(self.side.findData(at.side))
            self.side.setEnabled(len(sides) > 1)

    def _show_layers(self, stack: Stack, side: Side) -> None:
        scene = self._session.edited.scene
        depth = self.side_depth
        self.bar.show_depth(depth, scene, self._session.selected)
        self.rows.show_side(stack, side, depth)
        unit = self._skin.unit
        self._figure_words, standing, limit = (), "", ""
        if depth is not None:
            total = f"total {length_text(depth.total_mm, unit)} from the plate"
            loud = [leftover_text(depth, unit)]
            if depth.least.sideways_mm is None:
                loud.insert(0, f"clear {length_text(depth.clear_mm, unit)}")
            self._figure_words = (total, *(f"<b>{text}</b>" for text in loud))
            standing = standing_text(scene, depth, unit)
            limit = limit_text(scene, depth, unit)
        self._standing.setText(standing)
        self._standing.setVisible(bool(standing))
        self._limit.setText(limit)
        self._show_tolerance(depth)
        plan = fan_plan(self._session.edited.scene.layout, stack, side)
        for one, button in self.plan_buttons.items():
            button.setEnabled(plan is not None)
            button.setChecked(one == plan)
        self._fans_title.setText(
            "Fans" if plan is not None else "Fans (needs an exchanger in the stack)"
        )
        self._show_fans(stack, side, plan is not None)

    def _show_tolerance(self, depth: StackDepth | None) -> None:
        """Show worst case and statistical limits once they have been worked out behind."""
        known = depth is not None and not (self._session.trying or self._session.looking)
        figure = None
        if known and depth is not None:
            figure = depth_figure(self._session.edited.report, depth.least)
        self.tolerance.setVisible(figure is not None)
        if figure is not None:
            self.tolerance.setText(tolerance_line(figure, self._skin.unit))
            self.tolerance.setToolTip(contributors_tip(figure))

    def _show_fans(self, stack: Stack, side: Side, possible: bool) -> None:
        fans = (
            fans_for(self._session.edited.scene.layout, stack, side, self._parts)
            if possible
            else []
        )
        ids = [fan.id for fan in fans]
        if [self.fan.itemData(k) for k in range(self.fan.count())] != ids:
            chosen = self.fan.currentData()
            with QSignalBlocker(self.fan):
                self.fan.clear()
                for fan in fans:
                    self.fan.addItem(fan.name, fan.id)
                self.fan.setCurrentIndex(max(0, self.fan.findData(chosen)))
        self.fan.setEnabled(bool(fans))

    @property
    def side_depth(self) -> StackDepth | None:
        """The depth of the side at hand; None until its layers have been measured as they are."""
        stack = self._session.stack_at_hand
        layers = {layer.id for layer in stack.side(self._side)} if stack is not None else set()
        for depth in self._session.edited.report.depths:
            if stack is not None and depth.stack == stack.id and depth.side == self._side:
                return depth if {span.layer for span in depth.layers} == layers else None
        return None

    # asking for edits

    def set_plan(self, plan: FanPlan) -> None:
        """Put fans on the push side, the pull side, both or none."""
        stack, side = self._session.stack_at_hand, self._side
        known = {
            part.id: part
            for part in (*self._session.edited.scene.layout.parts.values(), *self._parts)
        }
        fan = known.get(self.fan.currentData())
        if stack is None or not isinstance(fan, Fan):
            self._session.refused.emit(
                "Push and pull need an exchanger in the stack and a fan that fits its places."
            )
            self.refresh()
            return
        stack_id, text = stack.id, {p: t for p, t, _ in PLANS}[plan]
        self._apply(f"Fans: {text.lower()}", lambda la: fill_fans(la, stack_id, side, plan, fan))
        self.refresh()

    def _on_zone(self, index: int) -> None:
        self._session.take_zone(str(self.zone.itemData(index)))

    def _on_side(self, index: int) -> None:
        if self._zone is not None:
            self._session.take_zone(self._zone.id, self.side.itemData(index))

    def _select_layer(self, layer_id: str) -> None:
        stack = self._session.stack_at_hand
        for layer in stack.side(self._side) if stack is not None else ():
            if layer.id == layer_id:
                self._session.select(layer.items[0].id)

    def _fill_add_menu(self) -> None:
        self._add_menu.clear()
        zone = self._zone
        if zone is None:
            return
        stack, layout = self._session.stack_at_hand, self._session.edited.scene.layout
        layers = stack.side(self._side) if stack is not None else ()
        stacked = [layout.part(item.part) for layer in layers for item in layer.items]
        for title, parts in layer_candidates(zone, self._parts, stacked).items():
            menu = self._add_menu.addMenu(title)
            for part in parts:
                menu.addAction(part.name).triggered.connect(
                    lambda _=False, p=part: self.add_layer(p)
                )
        if self._add_menu.isEmpty():
            self._add_menu.addAction("No part of the library fits this zone").setEnabled(False)

    def add_layer(self, part: Part) -> None:
        """Put a part on top of the side at hand: a fan on every place, anything else once."""
        zone, side = self._zone, self._side
        if zone is not None:
            edit = add_layer_edit(self._session.edited.scene, zone, side, part)
            self._apply(f"Add {part.name}", edit)

    def _apply(self, name: str, edit: Edit) -> None:
        """Do an edit on the stack at hand, and tell where it has been slid for that."""
        session, stack = self._session, self._session.stack_at_hand
        before = session.document.layout
        if session.apply(name, edit) and stack is not None:
            note = slide_note(before, session.document.layout, stack.id)
            if note:
                session.told.emit(f"{sentence(note)} {key_of('undo')} undoes it.")
