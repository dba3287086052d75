"""Colours and style sheet of the window's own surfaces, light and dark.

Text pairs meet 4.5:1 and borders of controls 3:1 by the formula of WCAG 2.2 (1.4.3, 1.4.11).
"""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtGui import QColor, QPalette


class Chrome(NamedTuple):
    """Colours of panels, fields and controls."""

    name: str
    panel: str
    paper: str
    field: str
    border: str
    control: str
    text: str
    muted: str
    faint: str
    accent: str
    accent_fill: str
    on_accent: str
    blocked: str
    tight: str
    clear: str
    error_fill: str
    done_fill: str


LIGHT = Chrome(
    name="light",
    panel="#f1f0eb",
    paper="#fcfbf7",
    field="#fffefb",
    border="#d8d6cf",
    control="#868a8d",
    text="#1b1d20",
    muted="#5c6166",
    faint="#a4a6a6",
    accent="#0a5a8f",
    accent_fill="#dcebf5",
    on_accent="#ffffff",
    blocked="#a93a0a",
    tight="#765400",
    clear="#006547",
    error_fill="#fbe6da",
    done_fill="#e0f0e8",
)

DARK = Chrome(
    name="dark",
    panel="#24272c",
    paper="#1b1e21",
    field="#1a1d20",
    border="#3b4046",
    control="#7f868d",
    text="#eceae4",
    muted="#a9aeb3",
    faint="#686d72",
    accent="#8fc1f5",
    accent_fill="#243b52",
    on_accent="#10202e",
    blocked="#ff9d70",
    tight="#efc763",
    clear="#66d0ab",
    error_fill="#43271a",
    done_fill="#1c3a30",
)


def palette(c: Chrome) -> QPalette:
    """Return the Qt palette that goes with the style sheet."""
    made = QPalette()
    role = QPalette.ColorRole
    for which, colour in (
        (role.Window, c.panel),
        (role.WindowText, c.text),
        (role.Base, c.field),
        (role.AlternateBase, c.panel),
        (role.Text, c.text),
        (role.Button, c.panel),
        (role.ButtonText, c.text),
        (role.BrightText, c.blocked),
        (role.Highlight, c.accent),
        (role.HighlightedText, c.on_accent),
        (role.ToolTipBase, c.field),
        (role.ToolTipText, c.text),
        (role.PlaceholderText, c.muted),
        (role.Link, c.accent),
        (role.Mid, c.border),
        (role.Dark, c.control),
        (role.Light, c.field),
    ):
        made.setColor(which, QColor(colour))
    for which in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, which, QColor(c.faint))
    return made


def style_sheet(c: Chrome) -> str:
    """Return the style sheet of the whole window."""
    return f"""
    QMainWindow, QDialog {{ background: {c.panel}; }}
    QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
    QToolTip {{ background: {c.field}; color: {c.text}; border: 1px solid {c.control};
        padding: 3px; }}
    QMenuBar {{ background: {c.panel}; border-bottom: 1px solid {c.border}; padding: 1px 4px; }}
    QMenuBar::item {{ padding: 4px 9px; background: transparent; border-radius: 3px; }}
    QMenuBar::item:selected {{ background: {c.accent_fill}; }}
    QMenu {{ background: {c.field}; border: 1px solid {c.control}; padding: 4px; }}
    QMenu::item {{ padding: 4px 26px 4px 26px; border-radius: 3px; }}
    QMenu::item:selected {{ background: {c.accent_fill}; color: {c.text}; }}
    QMenu::item:disabled {{ color: {c.faint}; }}
    QMenu::separator {{ height: 1px; background: {c.border}; margin: 4px 6px; }}
    QMenu::icon {{ padding-left: 6px; }}
    QToolBar {{ background: {c.panel}; border: 0; border-bottom: 1px solid {c.border};
        spacing: 2px; padding: 2px 6px; }}
    QToolBar::separator {{ width: 1px; background: {c.border}; margin: 4px 5px; }}
    QToolButton {{ border: 1px solid transparent; border-radius: 4px; padding: 3px; }}
    QToolButton:hover {{ background: {c.accent_fill}; }}
    QToolButton:checked {{ background: {c.accent_fill}; border-color: {c.accent}; }}
    QToolButton:focus {{ border-color: {c.accent}; }}
    QToolButton:disabled {{ color: {c.faint}; }}
    QToolButton#bordered {{ background: {c.field}; border-color: {c.control}; padding: 1px 8px; }}
    QToolButton#bordered:checked, QToolButton#bordered:hover {{ background: {c.accent_fill}; }}
    QToolButton#bordered:checked, QToolButton#bordered:focus {{ border-color: {c.accent}; }}
    QPushButton {{ background: {c.field}; border: 1px solid {c.control}; border-radius: 4px;
        padding: 4px 10px; }}
    QPushButton:hover {{ background: {c.accent_fill}; }}
    QPushButton:focus {{ border: 2px solid {c.accent}; padding: 3px 9px; }}
    QPushButton:checked {{ background: {c.accent_fill}; border-color: {c.accent}; }}
    QPushButton#quiet {{ background: transparent; border: 1px solid transparent;
        color: {c.accent}; padding: 3px 6px; text-align: left; }}
    QPushButton#quiet:hover {{ background: {c.accent_fill}; }}
    QPushButton#quiet:focus {{ border: 2px solid {c.accent}; padding: 2px 5px; }}
    QPushButton#quiet:disabled {{ color: {c.faint}; }}
    QPushButton#plan {{ padding: 4px 3px; }}
    QPushButton#plan:focus {{ padding: 3px 2px; }}
    QPushButton:disabled {{ color: {c.faint}; border-color: {c.border}; }}
    QPushButton:default {{ border-color: {c.accent}; }}
    QLineEdit {{ background: {c.field}; border: 1px solid {c.control};
        border-radius: 4px; padding: 3px 6px; selection-background-color: {c.accent};
        selection-color: {c.on_accent}; min-height: 18px; }}
    QLineEdit:focus {{ border: 2px solid {c.accent}; padding: 2px 5px; }}
    QLineEdit:disabled {{ color: {c.faint}; border-color: {c.border}; }}
    QAbstractSpinBox QLineEdit, QComboBox QLineEdit {{ border: 0; padding: 0 2px; min-height: 0; }}
    QCheckBox {{ spacing: 7px; padding: 2px 4px 2px 2px; }}
    QCheckBox:disabled {{ color: {c.faint}; }}
    QCheckBox::indicator, QListView::indicator {{ width: 9px; height: 9px; padding: 2px;
        border: 1px solid {c.control}; border-radius: 3px; background: {c.field}; }}
    QCheckBox::indicator:checked, QListView::indicator:checked,
    QCheckBox::indicator:indeterminate, QListView::indicator:indeterminate {{
        background: {c.accent}; border-color: {c.accent}; }}
    QCheckBox::indicator:disabled, QListView::indicator:disabled {{
        background: {c.field}; border-color: {c.border}; }}
    QCheckBox:focus {{ color: {c.accent}; }}
    QCheckBox::indicator:focus {{ border: 2px solid {c.accent}; padding: 1px; }}
    QComboBox QAbstractItemView {{ background: {c.field}; border: 1px solid {c.control};
        selection-background-color: {c.accent_fill}; selection-color: {c.text}; }}
    QAbstractItemView {{ background: {c.panel}; border: 0; outline: 0;
        selection-background-color: {c.accent_fill}; selection-color: {c.text}; }}
    QListWidget::item {{ padding: 4px 5px; border: 1px solid transparent; }}
    QListWidget::item:selected {{ background: {c.accent_fill}; color: {c.text}; }}
    QListWidget::item:focus {{ border-color: {c.accent}; }}
    QScrollArea {{ border: 0; background: {c.panel}; }}
    QScrollArea > QWidget > QWidget#scrolled {{ background: {c.panel}; }}
    QWidget#foot {{ background: {c.paper}; }}
    QGraphicsView {{ border: 0; background: {c.paper}; }}
    QTabWidget::pane {{ border: 0; border-top: 1px solid {c.border}; }}
    QTabBar::tab {{ padding: 5px 10px; border: 0; border-bottom: 3px solid transparent;
        color: {c.muted}; background: transparent; }}
    QTabBar[crowded="true"]::tab {{ padding: 5px 6px; }}
    QTabBar::tab:selected {{ color: {c.text}; border-bottom-color: {c.accent}; font-weight: 600; }}
    QTabBar::tab:focus {{ background: {c.accent_fill}; }}
    QSplitter::handle {{ background: {c.border}; }}
    QSplitter::handle:horizontal {{ width: 1px; margin: 0 2px; }}
    QSplitter::handle:vertical {{ height: 1px; margin: 2px 0; }}
    QStatusBar {{ background: {c.panel}; border-top: 1px solid {c.border}; color: {c.muted}; }}
    QStatusBar::item {{ border: 0; }}
    QScrollBar:vertical {{ background: transparent; width: 11px; margin: 0; }}
    QScrollBar:horizontal {{ background: transparent; height: 11px; margin: 0; }}
    QScrollBar::handle {{ background: {c.control}; border-radius: 4px; margin: 2px;
        min-height: 24px; min-width: 24px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QLabel#heading {{ font-weight: 600; font-size: 11pt; }}
    QLabel#group {{ font-weight: 600; color: {c.muted}; }}
    QLabel#muted {{ color: {c.muted}; }}
    QLabel#empty {{ color: {c.muted}; padding: 14px 10px; }}
    QFrame#preview {{ background: {c.accent}; }}
    QFrame#preview QLabel {{ color: {c.on_accent}; }}
    QDockWidget {{ font-weight: 600; }}
    QDockWidget::title {{ background: {c.panel}; border-top: 1px solid {c.border};
        padding: 5px 12px; text-align: left; }}
    QHeaderView::section {{ background: {c.panel}; color: {c.muted}; border: 0;
        border-bottom: 1px solid {c.border}; padding: 3px 8px; }}
    QAbstractScrollArea::corner {{ background: transparent; border: 0; }}
    QTableCornerButton::section {{ background: {c.panel}; border: 0; }}
    QTreeView::item {{ padding: 3px 6px; }}
    QTableView#lines::item {{ padding: 3px 8px; }}
    QFrame#notice {{ border: 0; border-bottom: 1px solid {c.border}; background: {c.accent_fill}; }}
    QFrame#notice[weight="error"] {{ background: {c.error_fill}; }}
    QFrame#notice[weight="done"] {{ background: {c.done_fill}; }}
    QLabel#noticeWord {{ font-weight: 600; }}
    QFrame#card {{ background: {c.field}; border: 1px solid {c.border}; border-radius: 5px; }}
    QFrame#plain[full="true"] {{ border: 1px solid {c.border}; border-radius: 5px; }}
    QFrame#card:hover {{ border-color: {c.control}; }}
    QFrame#card:focus, QFrame#card[current="true"] {{ border: 2px solid {c.accent}; }}
    QLabel[verdict="blocked"] {{ color: {c.blocked}; font-weight: 600; }}
    QLabel[verdict="tight"] {{ color: {c.tight}; font-weight: 600; }}
    QLabel[verdict="clear"] {{ color: {c.clear}; font-weight: 600; }}
    """
