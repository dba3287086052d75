"""Why a search cannot be made."""

from __future__ import annotations


class SearchError(ValueError):
    """A search that cannot begin; the message says why, and what would mend it."""
