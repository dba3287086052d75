"""Edits: functions from layout to layout. What cannot be done raises EditError and says why."""

from geometry.edits.base import EditError, name_of
from geometry.edits.fans import FanPlan, fan_plan, fan_sides, fill_fans, insert_row
from geometry.edits.free import add_free, is_locked, move_free, set_held, set_pose
from geometry.edits.items import (
    flip_port_end,
    next_thickness,
    rotate,
    set_air,
    set_head_mm,
    set_locked,
    swap_part,
    toggle_air,
    turn_over,
)
from geometry.edits.placed import duplicate, nudge, remove
from geometry.edits.ports import plug_port, set_fitting, set_port
from geometry.edits.settings import (
    replace_enclosure,
    set_judge,
    set_margin,
    set_name,
    set_projection,
    set_revision,
    set_state,
)
from geometry.edits.stacks import (
    drop_in,
    insert_item,
    lift_out,
    move_item,
    move_layer,
    remove_layer,
    set_slide,
    set_stack_air,
)

__all__ = [
    "EditError",
    "FanPlan",
    "add_free",
    "drop_in",
    "duplicate",
    "fan_plan",
    "fan_sides",
    "fill_fans",
    "flip_port_end",
    "insert_item",
    "insert_row",
    "is_locked",
    "lift_out",
    "move_free",
    "move_item",
    "move_layer",
    "name_of",
    "next_thickness",
    "nudge",
    "plug_port",
    "remove",
    "remove_layer",
    "replace_enclosure",
    "rotate",
    "set_air",
    "set_fitting",
    "set_head_mm",
    "set_held",
    "set_judge",
    "set_locked",
    "set_margin",
    "set_name",
    "set_port",
    "set_pose",
    "set_projection",
    "set_revision",
    "set_slide",
    "set_stack_air",
    "set_state",
    "swap_part",
    "toggle_air",
    "turn_over",
]
