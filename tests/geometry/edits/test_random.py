"""Whatever is edited, in whatever order: a sound layout comes out, and the one put in stays."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_edits import KINDS, filled_layout, random_edit

from geometry.edits import EditError
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout
from geometry.placement import Placed, place_free, place_stack
from geometry.references import reference_faults

MOVING_LOCKED = ("lock", "lock stack", "set_state", "replace_enclosure")
"""Edits that may lock or unlock, or take a bracket or the enclosure away from under a lock."""


def all_placed(layout: Layout) -> dict[str, Placed]:
    stacked = [one for stack in layout.stacks for one in place_stack(layout, stack)]
    return {one.id: one for one in (*stacked, *(place_free(layout, one) for one in layout.free))}


def is_locked(one: Placed) -> bool:
    return one.use.locked or (one.stack is not None and one.stack.locked)


@pytest.mark.parametrize("kind", KINDS)
def test_edits_keep_layouts_sound_locked_parts_in_place_and_their_input_untouched(kind) -> None:
    done: list[str] = []

    @settings(max_examples=12)
    @given(st.data())
    def any_sequence(data: st.DataObject) -> None:
        layout = filled_layout()
        for turn in range(data.draw(st.integers(1, 8))):
            name, edit = data.draw(random_edit(layout, [kind] if turn == 0 else None))
            before_text, before = layout_text(layout), all_placed(layout)
            try:
                after = edit(layout)
            except EditError:
                assert layout_text(layout) == before_text
                continue
            done.append(name)
            assert layout_text(layout) == before_text
            assert reference_faults(after) == ()
            assert parse_layout(layout_text(after).encode(), "after") == after
            stands = all_placed(after)
            locked = [] if name in MOVING_LOCKED else [o for o in before.values() if is_locked(o)]
            assert [(one.pose, one.part) for one in locked] == [
                (stands[one.id].pose, stands[one.id].part) for one in locked
            ]
            layout = after

    any_sequence()
    # It was not refused every time, so its result has been looked at.
    assert kind in done
