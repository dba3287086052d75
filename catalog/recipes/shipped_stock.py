"""Parts by id, for recipes of enclosures in which some of them stand."""

from __future__ import annotations

from catalog.parts import Board, Supply
from catalog.recipes.boards import boards
from catalog.recipes.boxed_parts import supplies


def board(ident: str) -> Board:
    """Return a shipped board."""
    return next(one for one in boards() if one.id == ident)


def supply(ident: str) -> Supply:
    """Return a shipped power supply."""
    return next(one for one in supplies() if one.id == ident)
