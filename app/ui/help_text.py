"""Help texts of the window: what every check looks at, all keys and gestures, about."""

from __future__ import annotations

import html
import inspect
from collections.abc import Callable, Mapping

from app import __version__
from app.ui.actions import SNAP_OFF, SPECS, key_of, key_text
from geometry.checks.runner import RULES

GESTURES: tuple[tuple[str, str], ...] = (
    ("Drag a part from the list", "place it; zones that can take it light up"),
    (
        "Drag a part on the board",
        "move it; in a zone its stack slides in its slots, or it alone changes its layer",
    ),
    (
        "A whole stack",
        "slides with any of its parts, by its numbers in the stack panel too; Z moves it to "
        "another zone, Shift with Delete takes it out",
    ),
    (f"{SNAP_OFF} while dragging", "snap to nothing"),
    ("R while dragging or placing", "rotate the part being dragged"),
    ("Esc", "cancel a drag; else clear the selection; else show all views"),
    ("Click again on the same place", "select what lies behind"),
    ("Double click on a part", "type its numbers"),
    ("Right click on an obstacle", "choose where it is, if it can be moved or taken out"),
    ("Wheel", "zoom to the pointer; with Shift pan along"),
    ("Drag the paper, or anything with the middle button or Space", "pan"),
    ("Arrow keys", "move the selected part by 1 mm; Ctrl 0.1 mm, Shift 10 mm"),
    ("Arrow keys while placing", "choose the place in a zone; free in the room, move the part"),
    ("Tab while placing", "choose the next place"),
    ("Tab on the board", "select the next part or empty zone"),
    ("Alt with up or down on a layer", "move the layer in its stack"),
    ("Rest on a row of what fits, or go to it with the arrow keys", "preview it on the board"),
    ("Double click or Enter on a row of what fits", "apply it as one edit; Esc leaves it"),
    ("Ctrl+click two rows of what fits", "compare them side by side"),
)


def checks_html() -> str:
    """Return what every check looks at, why, and what mends it, from the checks themselves."""
    parts = ["<h2>What the checks look at</h2>"]
    for kind, check in RULES:
        text = inspect.cleandoc(check.__doc__ or "")
        first, _, rest = text.partition("\n")
        parts.append(f"<h3>{html.escape(first.rstrip('.'))}</h3>")
        for paragraph in _paragraphs(rest):
            head, colon, body = paragraph.partition(":")
            if colon and len(head) <= 10:
                paragraph_html = f"<b>{html.escape(head)}:</b> {html.escape(body.strip())}"
            else:
                paragraph_html = html.escape(paragraph)
            parts.append(f"<p>{paragraph_html}</p>")
        parts.append(f"<p><small>In reports it is called {html.escape(kind)}.</small></p>")
    return "\n".join(parts)


def _paragraphs(text: str) -> list[str]:
    """Return the paragraphs of a docstring; a line that begins with a word and a colon is one."""
    out: list[str] = []
    for line in text.strip().splitlines():
        word = line.split(":", 1)[0]
        starts = ":" in line and word.isalpha() and word[:1].isupper()
        if not line.strip():
            continue
        if starts or not out:
            out.append(line.strip())
        else:
            out[-1] += f" {line.strip()}"
    return out


def keys_html() -> str:
    """Return all keys and mouse gestures."""
    rows = [
        (", ".join(key_text(key) for key in spec.keys), spec.tip or spec.text.replace("&", ""))
        for spec in SPECS
        if spec.keys
    ]
    return (
        "<h2>Mouse and board</h2>"
        + _table(GESTURES)
        + "<h2>Keys</h2><p>Keys without Ctrl hold while the board, the findings or the stack have "
        f"the keyboard; {html.escape(key_of('next_pane'))} goes from one to the next.</p>"
        + _table(rows)
    )


def _table(rows: list[tuple[str, str]] | tuple[tuple[str, str], ...]) -> str:
    lines = "".join(
        f"<tr><td style='padding:3px 18px 3px 0'><b>{html.escape(left)}</b></td>"
        f"<td style='padding:3px 0'>{html.escape(right)}</td></tr>"
        for left, right in rows
    )
    return f"<table>{lines}</table>"


def about_html() -> str:
    """Return what the program is, and what it does not do."""
    return (
        f"<h2>Gapwright {html.escape(__version__)}</h2>"
        "<p>Fit and clearance of liquid cooling in compact enclosures.</p>"
        "<p>It states geometry only. It does not judge electrical safety, tightness, pressure or "
        "chemistry: keep liquid away from live parts, disconnect mains before work inside, test "
        "for leaks with the electronics unpowered, and follow local codes and licensed "
        "practice.</p>"
        "<p>Figures without a stated origin are taken as drawn; measure before you cut.</p>"
    )


PAGES: Mapping[str, Callable[[], str]] = {
    "What the checks look at": checks_html,
    "Keys and mouse": keys_html,
    "About Gapwright": about_html,
}
"""The pages of help by their titles."""
