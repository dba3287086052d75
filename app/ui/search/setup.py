"""What to search: parts, zones, fans, pump, slides, what counts, and how long."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFormLayout,
    QLayout,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.ui.combo import combo
from app.ui.numbers import CountField
from app.ui.search.columns import SectionColumns
from app.ui.search.part_choice import PartChoice
from app.ui.search.pump_choice import (
    PUMPS,
    PumpAsked,
    bare_text,
    held_pumps,
    kept_text,
    parts_for,
    wish_for,
)
from app.ui.search.rows import SHORT_NAMES
from app.ui.search.worker import SearchOrder
from app.ui.tick_box import TickBox
from app.ui.widgets import clear_layout, group_label, muted
from catalog.parts import Part
from catalog.store import Library
from geometry.layout import Layout
from geometry.search.answers import MEASURES
from geometry.search.usual import USUAL_SECONDS, USUAL_SLIDES, USUAL_WANTED
from geometry.search.wishes import (
    FAN_PLACES,
    THROUGH_THE_PLATE,
    FanPlace,
    Judging,
    Wishes,
    wishes_from,
)
from geometry.zone_names import zone_names

FAN_WORDS: dict[FanPlace, tuple[str, str]] = {
    "none": ("no fans", "An exchanger without fans of its own"),
    "plate": (
        "between plate and core",
        "Push to an exchanger on the inner side of the plate, pull to one on the outer side:\n"
        "what is listed takes its air inward",
    ),
    "far": (
        "on the core's far face",
        "Pull from an exchanger on the inner side of the plate, push to one on the outer side:\n"
        "what is listed takes its air inward",
    ),
    "both": ("push-pull: on both faces", "Fans on both faces of the core"),
    "outer": ("on the other side of the plate", "Where the zone takes parts on both its sides"),
    "across": (
        "push-pull across the plate",
        "Fans on the other side of the plate and on the core's far face,\n"
        "where the zone takes parts on both its sides",
    ),
}
SLIDES: tuple[tuple[int, str], ...] = (
    (1, "as it lies"),
    (3, "ends and middle too"),
    (5, "5 along each slot"),
    (9, "9 along each slot"),
    (21, "21 along each slot (slow)"),
)
JUDGES: tuple[tuple[Judging | None, str], ...] = (
    (None, "as the layout says"),
    ("worst case", "worst case"),
    ("nominal", "as drawn"),
)


class SearchSetup(QScrollArea):
    """`changed`: something else would be searched."""

    changed = Signal()

    def __init__(
        self, library: Library, layout: Callable[[], Layout], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._layout = layout
        self.parts = PartChoice(library, layout)
        self.zones: dict[str, TickBox] = {}
        self._zone_column = QVBoxLayout()
        self._zone_column.setSpacing(3)
        self._zones_of: tuple[tuple[str, str, bool], ...] = ()
        self.fans = {place: _tick(*FAN_WORDS[place], ticked=True) for place in FAN_PLACES}
        self.pump = combo("Pump", "A pump or pump and reservoir on an inner fan or on a plate")
        for key, text in PUMPS:
            self.pump.addItem(text, key)
        self.pump_note = muted()
        self.slides = combo("Slides", "The slides that are tried; a step is part of what is listed")
        for steps, text in SLIDES:
            self.slides.addItem(text, steps)
        self.slides.setCurrentIndex(self.slides.findData(USUAL_SLIDES))
        self.tight = _tick(
            "Allow what is tight",
            "List what is merely tight as well; otherwise only what is clear",
        )
        self.wanted = {
            key: _tick(
                SHORT_NAMES[key],
                f"{measure.name.capitalize()}\nA trade-off is better in one of what is ticked "
                "without losing in another",
                ticked=key in USUAL_WANTED,
            )
            for key, measure in MEASURES.items()
        }
        self.states = _tick(
            "Choose states of obstacles",
            "Let the search move or take out what the enclosure lists several states of",
        )
        self.mixed = _tick(
            "Mix fans", "Allow fans of different kinds on the two faces of a core; takes longer"
        )
        self.part_rows = _tick(
            "Rows with gaps",
            "List fans on only some of the cells of a core too; otherwise each row of fans covers "
            "it.\nMany more are listed",
        )
        self.side_by_side = _tick(
            "Several side by side",
            "List several exchangers on one zone too, and fans or a pump on the cells that they "
            "leave;\notherwise a zone holds one exchanger. For few parts: very many are listed",
        )
        self.free_pumps = _tick(
            "On its own feet too", "Allow a pump on the floor at listed places, held by a clamp"
        )
        self.judge = combo("Judge gaps", "With every dimension off by its tolerance, or as drawn")
        for judging, text in JUDGES:
            self.judge.addItem(text, judging)
        self.near = _tick(
            "Look for near misses",
            "At the end, look for what would beat every row but is refused, and what makes it fit",
            ticked=True,
        )
        self.no_cutting = _tick(
            "No cutting",
            "Off: cutting the enclosure, which is irreversible, is tried for near misses too.\n"
            "The same setting as above the findings",
            ticked=True,
        )
        self.seconds = CountField("Time limit in seconds", 2, 3600)
        self.seconds.setValue(round(USUAL_SECONDS))
        self.seconds.setSuffix(" s")
        self.seconds.setToolTip(
            "Time for the best trade-offs, and for the exact count before it becomes an estimate.\n"
            "Preparing the options comes before that; what excludes what and near misses come "
            "after it.\nNeither is cut short, but each can be stopped"
        )
        self._build()
        self.parts.changed.connect(self.changed)
        for box in (*self.fans.values(), *self.wanted.values()):
            box.toggled.connect(self.changed)
        self.pump.currentIndexChanged.connect(self._follow_pump)
        self.free_pumps.toggled.connect(self._follow_pump)
        self.parts.changed.connect(self._follow_pump)
        self.near.toggled.connect(self.no_cutting.setEnabled)
        self.refresh()

    def _build(self) -> None:
        zones, parts, fans, rest, wanted = (_section() for _ in range(5))
        _fill(zones, group_label("Zones"), self._zone_column)
        _fill(parts, group_label("Parts"), self.parts)
        three = (self.mixed, self.part_rows, self.side_by_side)
        _fill(fans, group_label("Fans"), *self.fans.values(), *three)
        form = QFormLayout()
        form.setContentsMargins(0, 0, 0, 0)
        form.addRow("Pump", self.pump)
        form.addRow("", self.pump_note)
        form.addRow("", self.free_pumps)
        form.addRow("Slides", self.slides)
        form.addRow("Judge gaps", self.judge)
        form.addRow("Time limit", self.seconds)
        _fill(rest, group_label("How"), form, self.tight, self.states, self.near, self.no_cutting)
        many = muted("More than three of these make many rows and take longer.")
        _fill(wanted, group_label("What counts"), *self.wanted.values(), many)
        self.columns = SectionColumns((zones, parts, fans, rest, wanted))
        self.columns.setObjectName("scrolled")
        self.setWidget(self.columns)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # In one column, as it stands here, it is narrowest.
        least = self.columns.minimumSizeHint().width()
        self.setMinimumWidth(least + self.verticalScrollBar().sizeHint().width())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stand in as many columns as there is width for."""
        self.columns.fit_width(event.size().width())
        super().resizeEvent(event)

    @property
    def _zones_ticked(self) -> tuple[str, ...]:
        return tuple(zone for zone, box in self.zones.items() if box.isChecked())

    @property
    def _pump(self) -> tuple[PumpAsked, tuple[Part, ...]]:
        """What is asked of pumps, and those that the searched stacks hold."""
        return self.pump.currentData(), held_pumps(self._layout(), self._zones_ticked)

    def _follow_pump(self) -> None:
        asked, held = self._pump
        note = ""
        if asked == "kept":
            note = kept_text(held)
        elif asked != "none" and not self.free_pumps.isChecked():
            note = bare_text(self.parts.parts)
        self.pump_note.setText(note)
        self.pump_note.setVisible(bool(note))
        self.free_pumps.setEnabled(wish_for(asked, held) != "none")

    # reading

    def refresh(self) -> None:
        """Follow the layout: its zones, those that are locked, its parts."""
        layout = self._layout()
        locked = {stack.zone for stack in layout.stacks if stack.is_fixed}
        names = zone_names(layout.enclosure)
        zones = tuple((zone, name, zone in locked) for zone, name in names.items())
        if zones != self._zones_of:
            before = {zone for zone, box in self.zones.items() if not box.isChecked()}
            same = {zone for zone, _, _ in self._zones_of} == {zone for zone, _, _ in zones}
            self._zones_of = zones
            clear_layout(self._zone_column)
            self.zones = {}
            for zone, name, is_locked in zones:
                box = _tick(
                    f"{name} (locked)" if is_locked else name,
                    "Its stack is locked and stays; unlock it to search this zone"
                    if is_locked
                    else "Fill this zone; what is stacked there is removed for the search",
                    ticked=not is_locked and not (same and zone in before),
                )
                box.setEnabled(not is_locked)
                box.toggled.connect(self._follow_pump)
                box.toggled.connect(self.changed)
                self._zone_column.addWidget(box)
                self.zones[zone] = box
            if not zones:
                self._zone_column.addWidget(muted("This enclosure has no mount zone."))
        two_sided = any(zone.inner and zone.outer for zone in layout.enclosure.zones)
        for place in THROUGH_THE_PLATE:
            self.fans[place].setEnabled(two_sided)
        self.parts.refresh()
        self._follow_pump()

    @property
    def missing(self) -> str:
        """What has to be chosen before a search can begin; empty when nothing is missing."""
        if not self._zones_of:
            return "This enclosure has no mount zone, so there is nothing to search."
        if not any(box.isChecked() for box in self.zones.values()):
            return "Tick at least one zone to fill."
        if not self.parts.parts:
            return "Tick at least one part to use."
        if not any(box.isChecked() for box in self.wanted.values()):
            return "Tick at least one measure that counts."
        if not any(box.isEnabled() and box.isChecked() for box in self.fans.values()):
            return "Tick at least one place for fans, or no fans."
        return ""

    def order(self) -> SearchOrder:
        """Return what would be searched now."""
        asked, held = self._pump
        wishes = wishes_from(
            parts_for(asked, held, self.parts.parts),
            Wishes(
                fan_places=tuple(place for place, box in self.fans.items() if box.isChecked()),
                pump=wish_for(asked, held),
                slide_steps=self.slides.currentData(),
                tight_allowed=self.tight.isChecked(),
                zones=self._zones_ticked,
                obstacle_states=self.states.isChecked(),
                mixed_fans=self.mixed.isChecked(),
                side_by_side=self.side_by_side.isChecked(),
                part_rows=self.part_rows.isChecked(),
                free_pumps=self.free_pumps.isEnabled() and self.free_pumps.isChecked(),
                judge=self.judge.currentData(),
            ),
        )
        wanted = tuple(key for key, box in self.wanted.items() if box.isChecked())
        return SearchOrder(
            self._layout(),
            wishes,
            wanted,
            float(self.seconds.value()),
            near=self.near.isChecked(),
            cutting=not self.no_cutting.isChecked(),
            pumps=self.parts.pumps,
        )


def _tick(text: str, tip: str, *, ticked: bool = False) -> TickBox:
    box = TickBox(text)
    box.setToolTip(tip)
    box.setChecked(ticked)
    return box


def _section() -> QWidget:
    section = QWidget()
    column = QVBoxLayout(section)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(5)
    return section


def _fill(section: QWidget, *content: QWidget | QLayout) -> None:
    column = section.layout()
    assert isinstance(column, QVBoxLayout)
    for one in content:
        if isinstance(one, QLayout):
            column.addLayout(one)
        else:
            column.addWidget(one)
