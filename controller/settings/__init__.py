"""One rig's settings: what it can be told, and how its rig.toml is read."""

from controller.settings.reading import default_settings_text, parse_settings, read_settings
from controller.settings.sections import BAND_TOP_LIMIT, TRIP_LIMIT, Settings

__all__ = [
    "BAND_TOP_LIMIT",
    "TRIP_LIMIT",
    "Settings",
    "default_settings_text",
    "parse_settings",
    "read_settings",
]
