"""The contrast of two colours, as the accessibility guidelines define it."""

from __future__ import annotations

from app.drawing.theme import luminance


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours by WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
