"""Keeps what an edit has changed in sight of a board that is zoomed in elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

from PySide6.QtCore import QRectF

from app.drawing.frame import ViewFrame
from app.ui.board.view import BoardView
from geometry.measures.pose import Vec
from geometry.scene import Scene


def keep_in_sight(board: BoardView, before: Scene, after: Scene) -> None:
    """Show all of the board where what was changed is seen whole in none of its views."""
    corners = _changed_corners(before, after)
    views, seen = board.picture.frame.views, board.seen
    if corners and not any(seen.contains(_extent(corners, view)) for view in views):
        board.all_wanted.emit()


def _changed_corners(before: Scene, after: Scene) -> list[Vec]:
    """Return the corners of what stands in a scene and did not stand so before."""
    changed = [key for key, placed in after.placed.items() if placed != before.placed.get(key)]
    hard = [solid for key in changed for solid in after.solids_of[key] if solid.hard]
    return [
        (x, y, z)
        for x0, y0, z0, x1, y1, z1 in (solid.bounds for solid in hard)
        for x, y, z in product((x0, x1), (y0, y1), (z0, z1))
    ]


def _extent(corners: Sequence[Vec], view: ViewFrame) -> QRectF:
    """Return the room that some places take on the board in a view (mm)."""
    xs, ys = zip(*map(view.to_board, corners), strict=True)
    return QRectF(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
