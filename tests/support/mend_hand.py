"""A hand at the changes that are offered on findings, and a layout that has some."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF
from PySide6.QtGui import QEnterEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.ui.mending.offer_button import PREVIEW_MS, OfferButton
from app.ui.mending.offers import Offer
from geometry.layout import Layout


def two_pegs(*pegs_mm: float, spare: bool = False) -> Layout:
    """Two-fan exchangers on the floor, each with its port end against a peg that ends there.

    Core A lies at x = 50 to 290 with its port end to 320, on slots of 8 mm; B the same, 200 mm
    further inward. A `spare` zone is left empty where B would be.
    """
    core, blower = exchanger(2, 30), fan(25)
    zones = [
        zone(f"z{k}", "floor", (50, 40 + 200 * k, 0), "+x", "+y", row(2, slot_u_mm=8.0))
        for k in range(len(pegs_mm) + spare)
    ]
    pegs = [
        block(f"peg-{k}", (mm, 90 + 200 * k, 0), (mm + 20, 110 + 200 * k, 200))
        for k, mm in enumerate(pegs_mm)
    ]
    stacks = [
        stack(f"S{k}", f"z{k}", fan_layer(f"A{k}", blower, ("c1", "c2")), one(f"E{k}", core))
        for k in range(len(pegs_mm))
    ]
    deep_mm = max(400, 200 * len(pegs_mm))
    made = layout(room((500, deep_mm, 300), zones, pegs), [core, blower], stacks)
    return made.but(settings=made.settings.but(judge="nominal"))


def enter(button: OfferButton, on_screen: QPoint | None = None) -> None:
    at = QPointF(5, 5)
    where = at if on_screen is None else QPointF(on_screen)
    QApplication.sendEvent(button, QEnterEvent(at, at, where))
    QTest.qWait(PREVIEW_MS + 50)


def leave(button: OfferButton) -> None:
    QApplication.sendEvent(button, QEvent(QEvent.Type.Leave))


def offers_of(card) -> list[Offer]:
    return [button.offer for button in card.mends.buttons]
