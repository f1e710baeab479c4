"""Colours of the figures: those of Okabe and Ito, told apart by colour-blind readers."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

INK: Final = "#222222"
SOLID: Final = "#c9c9c9"
SLAT: Final = "#8a8a8a"
BLUE: Final = "#0072B2"
SKY: Final = "#56B4E9"
ORANGE: Final = "#E69F00"
RED: Final = "#D55E00"
GREEN: Final = "#009E73"
PINK: Final = "#CC79A7"
YELLOW: Final = "#F0E442"
NAMES: Final = MappingProxyType(
    {
        INK: "black",
        BLUE: "blue",
        SKY: "light blue",
        ORANGE: "orange",
        RED: "red",
        GREEN: "green",
        PINK: "pink",
        YELLOW: "yellow",
    }
)
"""What the colours of curves are called."""
