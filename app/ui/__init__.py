"""The window: everything here may import Qt widgets.

What needs no Qt is loaded first: once PySide6 is there, it reads the source of every module that is
loaded after it, to see whether that module uses it too.
"""

# ruff: noqa: F401 - loaded for the time at which it is

import app.document.document
import app.drawing.board
import app.shipped_demo
import catalog.store
import geometry.edits
