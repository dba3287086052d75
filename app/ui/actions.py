"""Every command of the window: its words, keys, icon and menu. One table, read by all menus."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from app.ui.skin import Skin


class ActionSpec(NamedTuple):
    """One command. `on_board` keys hold while the board or a list of it has the keyboard."""

    name: str
    text: str
    keys: tuple[str, ...] = ()
    tip: str = ""
    icon: str = ""
    checkable: bool = False
    on_board: bool = False


SNAP_OFF = "Alt or Ctrl"
"""Either of these held while dragging snaps to nothing."""


def _spec(name: str, text: str, keys: str = "", tip: str = "", icon: str = "") -> ActionSpec:
    return ActionSpec(name, text, tuple(keys.split()), tip, icon)


def _check(name: str, text: str, keys: str = "", tip: str = "", icon: str = "") -> ActionSpec:
    return ActionSpec(name, text, tuple(keys.split()), tip, icon, checkable=True)


def _board(name: str, text: str, keys: str = "", tip: str = "", icon: str = "") -> ActionSpec:
    return ActionSpec(name, text, tuple(keys.split()), tip, icon, on_board=True)


SPECS: tuple[ActionSpec, ...] = (
    _spec("new", "&New…", "Ctrl+N", "Choose an enclosure and start a layout in it", "new"),
    _spec("open", "&Open…", "Ctrl+O", "Open a layout file", "open"),
    _spec("demo", "Open the &demo", "", "Open the layout that comes with the program"),
    _spec("kept_work", "&Recover unsaved work…", "",
          "Recover or discard what was kept when the program was ended before it was saved"),
    _spec("change_enclosure", "&Change enclosure…", "",
          "Put what is placed into another enclosure; stacks stay where their zone is there too"),
    _spec("save", "&Save", "Ctrl+S", "Save the layout to its file", "save"),
    _spec("save_as", "Save &as…", "Ctrl+Shift+S", "Save the layout to another file"),
    _spec("export", "&Export clearance sheet…", "Ctrl+E",
          "Export views, findings and tables as PNG, true to scale", "sheet"),
    _spec("quit", "&Quit", "Ctrl+Q", "Close the window"),
    _spec("undo", "&Undo", "Ctrl+Z", "Undo the last edit", "undo"),
    _spec("redo", "&Redo", "Ctrl+Shift+Z Ctrl+Y", "Redo the edit that was undone", "redo"),
    _board("rotate", "Rotate a &quarter turn", "R", "Turn the part by 90 degrees", "rotate"),
    _board("flip", "&Flip port end", "F", "Turn the part end for end", "flip"),
    _board("turn_over", "&Turn port face", "T",
           "Turn the part over, so that its ports face the other way", "face"),
    _board("air", "Change &air direction", "A", "Reverse the fan", "air"),
    _board("thicker", "Next thi&cker", "K",
           "Put the next thicker part of the same face in its place", "thicker"),
    _board("thinner", "Next thi&nner", "N",
           "Put the next thinner part of the same face in its place", "thinner"),
    _board("duplicate", "&Duplicate", "Ctrl+D", "Place a copy of the part", "copy"),
    _board("delete", "De&lete", "Del", "Remove the part from the layout", "delete"),
    _board("lock", "Loc&k", "L", "Lock the part where and as it is, or unlock it", "lock"),
    _board("lift", "Lift &out of the stack", "O",
           "Make it a free part where it stands, not held by anything"),
    _board("drop", "Drop &into a zone…", "I", "Choose a zone for the part with the keyboard"),
    _board("move_stack", "Move stack to &zone", "Z",
           "Move the whole stack, with all its layers, to another zone"),
    _board("remove_stack", "Remove the &whole stack", "Shift+Del",
           "Remove the stack with all its layers from the layout"),
    _board("details", "&Exact numbers…", "E", "Type the part's numbers in the Part tab"),
    _spec("place", "&Place the chosen part", "Ctrl+Return",
          "Place the part chosen in the list with the keyboard"),
    _spec("search", "&Find a part", "Ctrl+F", "Go to the search field of the parts list"),
    _spec("push", "Fans: pu&sh", "", "One fan per place, upstream of the core"),
    _spec("pull", "Fans: pu&ll", "", "One fan per place, downstream of the core"),
    _spec("push_pull", "Fans: push-p&ull", "", "Fans on both faces of the core"),
    _spec("no_fans", "Fans: &none", "", "Remove the fans of this stack"),
    _spec("zoom_in", "Zoom &in", "Ctrl++ Ctrl+=", "Zoom in (mouse wheel: to the pointer)",
          "zoom_in"),
    _spec("zoom_out", "Zoom &out", "Ctrl+-", "Zoom out (mouse wheel: from the pointer)",
          "zoom_out"),
    _spec("zoom_fit", "Zoom to &fit", "Ctrl+0 Home", "Show all views", "fit"),
    _check("end_view", "&End view", "Ctrl+Shift+E", "Show the view from the front as well",
           "end_view"),
    _check("depth_profile", "&Depth profile of the zone", "Ctrl+Shift+D",
           "Draw over the selected zone how far away the next solid stands"),
    _check("first_angle", "First-&angle projection", "",
           "Put the bottom view above the side view (ISO 5456-2)"),
    _check("grid", "&Grid", "Ctrl+G", "Show the grid"),
    _check("snap", "&Snap", "Ctrl+Shift+G",
           f"Snap to holes, slots, faces and the grid; hold {SNAP_OFF} while dragging to snap to "
           "nothing"),
    _check("inches", "Show inc&hes", "Ctrl+Shift+I", "Show and type lengths in inches"),
    _check("parts_panel", "&Parts panel", "F9", "Show or hide the list of parts"),
    _check("side_panel", "Stac&k and findings", "Shift+F9",
           "Show or hide the panels on the right"),
    _spec("next_view", "Move in the ne&xt view", "V",
          "Choose the view in which the arrow keys move parts"),
    _spec("next_finding", "&Next finding", "F8", "Go to the next finding"),
    _spec("previous_finding", "&Previous finding", "Shift+F8", "Go to the previous finding"),
    _spec("remedy", "&Apply the first change", "Ctrl+F8",
          "Apply the first change listed under the current finding"),
    _spec("mend", "Find the &smallest change", "Ctrl+Shift+F8",
          "Find the smallest changes that clear the current finding"),
    _spec("mend_all", "Find the smallest change for a&ll", "",
          "Look for the smallest changes that clear all findings at once"),
    _spec("what_fits", "What &fits…", "Ctrl+Shift+F",
          "Search and count all combinations that fit and list the best; again closes it",
          "fits"),
    _spec("check_help", "What the &checks look at", "Shift+F1",
          "Read what every check does and why"),
    _spec("keys_help", "&Keys and mouse", "F1", "Read all keys and mouse gestures"),
    _spec("about", "&About Gapwright", "", "Version, and what the program does not do"),
    _spec("next_pane", "Next pa&ne", "F6", "Next pane: parts, board, stack, findings, what fits"),
    _spec("previous_pane", "Pre&vious pane", "Shift+F6", "Go to the previous pane"),
)  # fmt: skip

_BY_NAME: Mapping[str, ActionSpec] = {spec.name: spec for spec in SPECS}

MENUS: Mapping[str, tuple[str, ...]] = {
    "&File": ("new", "open", "@recent", "demo", "kept_work", "-", "save", "save_as", "-",
              "change_enclosure", "export", "-", "quit"),
    "&Edit": (
        "undo", "redo", "-", "rotate", "flip", "turn_over", "air", "thicker", "thinner", "-",
        "duplicate", "delete", "lock", "details",
    ),
    "&Place": (
        "search", "place", "-", "lift", "drop", "move_stack", "remove_stack", "-",
        "push", "pull", "push_pull", "no_fans",
    ),
    "&Board": (
        "zoom_in", "zoom_out", "zoom_fit", "-", "end_view", "depth_profile", "first_angle",
        "grid", "snap",
        "inches", "-", "parts_panel", "side_panel", "next_view", "next_pane", "previous_pane", "-",
        "@theme", "@scale",
    ),
    "&Check": (
        "what_fits", "-", "next_finding", "previous_finding", "-", "remedy", "mend", "mend_all",
        "-", "check_help",
    ),
    "&Help": ("keys_help", "check_help", "-", "about"),
}  # fmt: skip

CONTEXT_MENU: tuple[str, ...] = (
    "rotate", "flip", "turn_over", "air", "-", "thicker", "thinner", "-", "duplicate", "delete",
    "lock", "-", "lift", "drop", "move_stack", "remove_stack", "-", "details",
)  # fmt: skip

NOTHING_MENU: tuple[str, ...] = (
    "search", "place", "-", "depth_profile", "-", "zoom_fit", "end_view",
)  # fmt: skip
"""What is offered where no part is selected: over a zone, an obstacle or bare board."""

TOOLBAR: tuple[str, ...] = (
    "new", "open", "save", "export", "-", "undo", "redo", "-", "rotate", "flip", "turn_over",
    "air", "thinner", "thicker", "-", "duplicate", "lock", "delete", "-", "zoom_out", "zoom_fit",
    "zoom_in", "end_view", "-", "what_fits",
)  # fmt: skip


def make_actions(parent: QObject) -> dict[str, QAction]:
    """Return an action for every command, with words and keys; icons and tips are put on later."""
    made: dict[str, QAction] = {}
    for spec in SPECS:
        action = QAction(spec.text, parent)
        action.setObjectName(spec.name)
        action.setShortcuts([QKeySequence(key) for key in spec.keys])
        action.setCheckable(spec.checkable)
        if spec.on_board:
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        made[spec.name] = action
    return made


def dress_actions(actions: Mapping[str, QAction], skin: Skin) -> None:
    """Give actions their icons in the colours of the moment."""
    for spec in SPECS:
        if spec.icon:
            actions[spec.name].setIcon(skin.icon(spec.icon))


def explain_actions(actions: Mapping[str, QAction]) -> None:
    """Give actions their tips: over a button with their keys, in the status line without."""
    for spec in SPECS:
        action = actions[spec.name]
        action.setToolTip(tip_of(spec.name))
        action.setStatusTip(spec.tip)


def key_text(key: str | QKeySequence.StandardKey) -> str:
    """Return a key as it stands on this system's keyboards."""
    return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)


def key_of(name: str) -> str:
    """Return the first key of a command, as `key_text` does. It has one."""
    return key_text(_BY_NAME[name].keys[0])


def tip_of(name: str) -> str:
    """Return what is said over a button of a command."""
    return with_keys(name, _BY_NAME[name].tip)


def with_keys(name: str, text: str) -> str:
    """Return what is said of a command with its keys after it, if it has any."""
    keys = ", ".join(key_text(key) for key in _BY_NAME[name].keys)
    return f"{text} ({keys})" if keys else text


def fill_menu(
    menu: QMenu,
    names: tuple[str, ...],
    actions: Mapping[str, QAction],
    submenus: Mapping[str, QMenu] | None = None,
) -> None:
    """Put commands into a menu; "-" draws a line, "@recent" and the like put a submenu in."""
    for name in names:
        if name == "-":
            menu.addSeparator()
        elif name.startswith("@"):
            menu.addMenu((submenus or {})[name])
        else:
            menu.addAction(actions[name])


def add_board_keys(widget: QWidget, actions: Mapping[str, QAction]) -> None:
    """Let the keys of part commands hold while `widget` has the keyboard."""
    widget.addActions([actions[spec.name] for spec in SPECS if spec.on_board])
