"""Work that pauses: a generator that yields where whoever drives it may stop it, or tell of it."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeVar

T = TypeVar("T")

Pauses = Generator[None, None, T]
"""Yields at least as often as a user who wants to stop should be heard; returns what it found."""
