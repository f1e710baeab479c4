"""The wash-down rows: channel slats, the outermost bank outside the trough, a sheltered drain."""

from __future__ import annotations

from typing import Any, Final

WASHDOWN: Final[dict[str, tuple[str, dict[str, Any]]]] = {
    "HV-R160W": ("rectangular", {"size": "160x120", "screw": "M5", "seal": "gasket"}),
    "HV-F180W": ("flanged", {"size": "180x120", "screw": "M5"}),
    "HV-N63W": ("round", {"size": "M63x1.5"}),
}
"""Family and size of each; what they share is :data:`SHARED`."""
SHARED: Final[dict[str, Any]] = {
    "slat_form": "channel",
    "banks_outside": 1,
    "drain_height_mm": 8.0,
    "sill_height_mm": 26.0,
    "exposure": "hose_down",
    "face_velocity_m_s": 0.5,
}
