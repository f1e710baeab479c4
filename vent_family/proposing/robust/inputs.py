"""What is not known exactly: one table, each entry with its range, its shape and its source.

Ranges are those that the checks know already. Three are stated here, because no check has them: how
far shrinkage may lie from the shop's table, how far the hottest day from the stated one, and how
assumptions on a jet's sheets lie between the check's own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

from vent_family.base.limits import COMMON_PRACTICE, FAN_TOLERANCE, MOUNTING_TOLERANCE, OWN_RULE
from vent_family.base.shrinkage import Shrinkage
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.house import (
    HOUSE,
    SIZE_COARSE,
    SIZE_FINE,
    SIZE_USUAL,
    THROWN_MILD,
    THROWN_SEVERE,
    TOLERANCE,
    WIND,
    HouseNumber,
)
from vent_family.proposing.robust.spread import SHAPE_WORDS, Spread

SHRINKAGE_SPREAD: Final = 0.5
"""How far shrinkage may lie from the shop's table, a share of it: filament, temperatures and shape
change it. Common practice, no source."""
AMBIENT_SPREAD_K: Final = 3.0
"""How far the air that a cabinet draws in may lie from the stated one, K: what rises along a sunlit
wall, what neighbours blow out, a hotter day. Common practice, no source."""
SHOP_TABLE: Final = "the shop's table of shrinkage and scatter"

SLATS: Final = "slat thickness"
DRAIN: Final = "drain height"
SILL: Final = "sill height"
IN_PLANE: Final = "shrinkage in the layers"
IN_HEIGHT: Final = "shrinkage across the layers"
LOSS: Final = "loss of the slats"
FAN: Final = "fan curve"
AMBIENT: Final = "ambient temperature"
SUN: Final = "sun that comes in"
MOUNTING: Final = "mounting"
THROWN: Final = "splash thrown back"
DROPS: Final = "size of secondary drops"
GRAZING: Final = "splash of grazing drops"
SHEETS: Final = "sheets of a jet"
BEYOND: Final = "jet beyond its sheets"

_OWN: Final = (THROWN_MILD, THROWN_SEVERE, SIZE_FINE, SIZE_USUAL, SIZE_COARSE, TOLERANCE)
"""House numbers that entries of their own stand for."""


Acts = Literal["on both", "on the cabinet", "on water"]


@dataclass(frozen=True, slots=True)
class Input:
    """A quantity that is not known exactly; its spread is in ``unit``.

    ``told`` is what it is called in a sentence, ``acts`` what it can change, ``house`` the number
    of the water check that it stands for, if any.
    """

    name: str
    told: str
    unit: str
    spread: Spread
    source: str
    acts: Acts = "on both"
    house: HouseNumber | None = None

    @property
    def steps(self) -> bool:
        """Whether it has two values and none between."""
        return self.spread.shape == "either"

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, the range in the unit it names."""
        return {
            "name": self.name,
            "what": self.told,
            "unit": self.unit,
            "low": self.spread.low,
            "middle": self.spread.middle,
            "high": self.spread.high,
            "shape": SHAPE_WORDS[self.spread.shape],
            "acts": self.acts,
            "source": self.source,
        }


def printing_inputs(shrinkage: Shrinkage) -> Iterator[Input]:
    """Yield what printing leaves open, of a material that shrinks so."""
    off = Spread("even", -shrinkage.scatter_mm, 0.0, shrinkage.scatter_mm)
    words = {
        SLATS: "how thick slats are printed",
        DRAIN: "how high the drain is printed",
        SILL: "how high the sill is printed",
    }
    for name, told in words.items():
        yield Input(name, told, "mm over the drawing", off, SHOP_TABLE)
    ways = {
        IN_PLANE: (shrinkage.in_plane, "how much the material shrinks in its layers"),
        IN_HEIGHT: (shrinkage.in_height, "how much it shrinks across its layers"),
    }
    for name, (share, told) in ways.items():
        low, high = (share * (1.0 + end) for end in (-SHRINKAGE_SPREAD, SHRINKAGE_SPREAD))
        source = f"{SHOP_TABLE}; half of it either way: {COMMON_PRACTICE}"
        yield Input(name, told, "1", Spread("triangle", low, share, high), source)


def loss_input(factors: tuple[float, float]) -> Input:
    """Return the slats' loss, whose true value lies between two ``factors`` (1) on the model's."""
    low, high = factors
    return Input(
        LOSS,
        "what pressure the slats cost",
        "1",
        Spread("triangle of the logarithm", low, 1.0, high),
        "the air model's own band against solved flows",
    )


def fan_input() -> Input:
    """Return the fan's curve."""
    off = FAN_TOLERANCE.value
    spread = Spread("even", 1.0 - off, 1.0, 1.0 + off)
    return Input(FAN, "the fan's curve", "1", spread, FAN_TOLERANCE.source)


def ambient_input() -> Input:
    """Return the air outside."""
    spread = Spread("triangle", -AMBIENT_SPREAD_K, 0.0, AMBIENT_SPREAD_K)
    told = "the temperature of the air that is drawn in"
    return Input(AMBIENT, told, "K over the stated one", spread, COMMON_PRACTICE, "on the cabinet")


def sun_input(low_w: float, middle_w: float, high_w: float) -> Input:
    """Return the heat of the sun that comes in, W: its range and its typical value."""
    return Input(
        SUN,
        "what comes in of the sun",
        "W",
        Spread("triangle", low_w, middle_w, high_w),
        "range of the colour's absorptance and of the air along the wall",
        "on the cabinet",
    )


def wind_input() -> Input:
    """Return the wind, a factor on its speed."""
    return _of_house(WIND, "how hard the wind blows", "on both")


def water_inputs(exposures: tuple[Exposure, ...]) -> Iterator[Input]:
    """Yield what is not known of the water of some exposures, wind left out."""
    if not exposures:
        return
    most = MOUNTING_TOLERANCE.value
    yield Input(
        MOUNTING,
        "how far the cabinet stands out of true",
        "deg of lean and roll, to the bad side",
        Spread("even", 0.0, 0.5 * most, most),
        MOUNTING_TOLERANCE.source,
        "on water",
    )
    amount = Spread(
        "even",
        THROWN_MILD.value,
        0.5 * (THROWN_MILD.value + THROWN_SEVERE.value),
        THROWN_SEVERE.value,
    )
    yield Input(
        THROWN, "how much of a drop a slat throws back", "1", amount, THROWN_MILD.source, "on water"
    )
    sizes = Spread("triangle", SIZE_FINE.value, SIZE_USUAL.value, SIZE_COARSE.value)
    told = "how large the drops are that a slat throws back"
    yield Input(DROPS, told, "1, of the parent's diameter", sizes, SIZE_USUAL.source, "on water")
    yield Input(
        GRAZING,
        "whether grazing drops splash",
        "1: they do",
        Spread("either", 0.0, 0.0, 1.0),
        "both ends of the check's own splash bracket",
        "on water",
    )
    if any(e.coherent for e in exposures):
        yield Input(
            SHEETS,
            "how clean the sheets of a jet stay",
            "1: 0 lossy, 1 clean",
            Spread("triangle", 0.0, 0.5, 1.0),
            "the check's own assumptions on sheets, lossy, middling and clean",
            "on water",
        )
        yield Input(
            BEYOND,
            "what a jet does beyond its sheets",
            "1, of what the free-surface solution found",
            Spread("even", 0.0, 0.5, 1.0),
            f"none to all of the difference that was found; {OWN_RULE}",
            "on water",
        )
    kinds = {e.kind for e in exposures}
    for number in HOUSE:
        if kinds & set(number.kinds) and number not in (*_OWN, WIND):
            yield _of_house(number)


def _of_house(number: HouseNumber, told: str = "", acts: Acts = "on water") -> Input:
    """Return a number that nobody gives, over the range that the check states for it."""
    spread = Spread("triangle", number.low, number.value, number.high)
    return Input(
        number.name, told or f"the {number.name}", number.unit, spread, number.source, acts, number
    )
