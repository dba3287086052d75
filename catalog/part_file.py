"""One part in a file of its own, as the user's library keeps them."""

from __future__ import annotations

from typing import Any

from pydantic import ConfigDict, RootModel

from catalog.parts import Part


class PartFile(RootModel[Any]):
    """One part in a file of its own; `RootModel[Part]` would be built while this is loaded."""

    model_config = ConfigDict(defer_build=True)
    root: Part
