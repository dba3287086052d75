"""What zones are called: another way to geometry.zone_names for what searches."""

from geometry.zone_names import zone_names

__all__ = ["zone_names"]
