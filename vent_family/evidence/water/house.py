"""Numbers that no standard and no measurement of this part gives: one table, each with its range.

The check reads them here and nowhere else, so that each can be varied to see what hangs on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import COMMON_PRACTICE, MOUNTING_TOLERANCE, OWN_RULE

_VARIED: ContextVar[dict[str, float] | None] = ContextVar("varied house numbers", default=None)


@dataclass(frozen=True, slots=True)
class HouseNumber:
    """A number with the range it may lie in.

    ``value``, ``low`` and ``high`` are in the unit that ``unit`` names.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    kinds: tuple[str, ...] = ("rain", "drip", "nozzle")
    """Kinds of water that know it."""

    @property
    def now(self) -> float:
        """The number the check reads, in its unit: its value, unless it is being varied."""
        return (_VARIED.get() or {}).get(self.name, self.value)


@contextmanager
def varied(number: HouseNumber, value: float) -> Iterator[None]:
    """Let the check read another number; ``value`` is in its unit.

    Examples
    --------
    >>> with varied(THROWN_SEVERE, 0.5):
    ...     THROWN_SEVERE.now
    0.5
    >>> THROWN_SEVERE.now
    0.8
    """
    token = _VARIED.set({**(_VARIED.get() or {}), number.name: value})
    try:
        yield
    finally:
        _VARIED.reset(token)


def in_force() -> tuple[tuple[str, float], ...]:
    """Return what is being varied, each number's name with its value in any unit, its own.

    It stands in the keys of what is remembered of computations that read such numbers.

    Examples
    --------
    >>> with varied(THROWN_SEVERE, 0.5):
    ...     in_force()
    (('splash thrown back, severe', 0.5),)
    >>> in_force()
    ()
    """
    return tuple(sorted((_VARIED.get() or {}).items()))


_SPLASH: Final = "Bai and Gosman 1996, SAE 960626, from memory"
_SIZES: Final = (
    "Mundo et al. 1995, Cossali et al. 1997, Okawa et al. 2006, from memory; law of Bai and Gosman"
    " read in an open flow solver"
)

THROWN_MILD: Final = HouseNumber(
    "splash thrown back, mild", 0.2, 0.1, 0.3, "1", "least share of a drop thrown back", _SPLASH
)
THROWN_SEVERE: Final = HouseNumber(
    "splash thrown back, severe", 0.8, 0.6, 1.0, "1", "largest share thrown back", _SPLASH
)
SIZE_FINE: Final = HouseNumber(
    "fine secondary drops", 0.1, 0.06, 0.15, "1", "their middle diameter over the parent's", _SIZES
)
SIZE_USUAL: Final = HouseNumber(
    "usual secondary drops", 0.2, 0.15, 0.25, "1", "their middle diameter over the parent's", _SIZES
)
SIZE_COARSE: Final = HouseNumber(
    "coarse secondary drops",
    0.4,
    0.3,
    0.5,
    "1",
    "their middle diameter over the parent's",
    _SIZES,
)
EJECTION: Final = HouseNumber(
    "speed of secondary drops", 0.4, 0.2, 0.6, "1", "off the wall, over the parent's", OWN_RULE
)
ALONG: Final = HouseNumber(
    "speed kept along the wall", 0.6, 0.4, 0.8, "1", "of the parent's along the wall", OWN_RULE
)
SPREAD: Final = HouseNumber(
    "Rosin-Rammler spread",
    3.0,
    2.0,
    4.0,
    "1",
    "width of drop spectra of nozzles",
    COMMON_PRACTICE,
    kinds=("nozzle",),
)
FOOTPRINT: Final = HouseNumber(
    "wetted spot",
    1.0,
    0.5,
    2.0,
    "1",
    "factor on the spot a nozzle wets",
    OWN_RULE,
    kinds=("nozzle",),
)
WIND: Final = HouseNumber(
    "wind speed",
    1.0,
    0.7,
    1.3,
    "1",
    "factor on winds that no test prescribes",
    OWN_RULE,
    kinds=("rain",),
)
DWELL_MIN: Final = HouseNumber(
    "least time of a nozzle on the vent",
    10.0,
    5.0,
    30.0,
    "s",
    "however large the cabinet",
    OWN_RULE,
    kinds=("nozzle",),
)
TOLERANCE: Final = HouseNumber(
    "tolerance of mounting",
    MOUNTING_TOLERANCE.value,
    1.5,
    5.0,
    MOUNTING_TOLERANCE.unit,
    MOUNTING_TOLERANCE.meaning,
    MOUNTING_TOLERANCE.source,
)
FILM: Final = HouseNumber(
    "film on slats", 0.1, 0.05, 0.2, "mm", "film left on a wetted slat", COMMON_PRACTICE
)
RIB_FILM: Final = HouseNumber(
    "film on ribs", 0.1, 0.05, 0.2, "mm", "thinnest film that still runs", COMMON_PRACTICE
)
CONTACT_ANGLE: Final = HouseNumber(
    "contact angle",
    80.0,
    60.0,
    90.0,
    "deg",
    "advancing, of water on printed ASA or PETG; it says what an edge holds back",
    "typical value, from memory",
)
ORIFICE_CD: Final = HouseNumber(
    "discharge coefficient of the drain",
    0.61,
    0.58,
    0.62,
    "1",
    "of a sharp-edged orifice; textbooks give 0.60 to 0.62",
    "from memory",
)
WALLIS_C: Final = HouseNumber(
    "flooding constant of the drain",
    0.7,
    0.7,
    1.0,
    "1",
    "sharp-edged ends; rounded ones reach 1",
    "Wallis 1969, One-dimensional Two-phase Flow, from memory",
)
DRIP_FALL: Final = HouseNumber(
    "fall of drips",
    0.2,
    0.1,
    0.5,
    "m",
    "drip box to enclosure",
    "IEC 60529, from memory",
    kinds=("drip",),
)
PANEL_ABOVE: Final = HouseNumber(
    "panel above the vent",
    0.3,
    0.1,
    1.0,
    "m",
    "height of panel whose rain runs down to the joint",
    OWN_RULE,
    kinds=("rain", "drip"),
)

HOUSE: Final = (
    THROWN_MILD,
    THROWN_SEVERE,
    SIZE_FINE,
    SIZE_USUAL,
    SIZE_COARSE,
    EJECTION,
    ALONG,
    SPREAD,
    FOOTPRINT,
    WIND,
    DWELL_MIN,
    TOLERANCE,
    FILM,
    RIB_FILM,
    CONTACT_ANGLE,
    ORIFICE_CD,
    WALLIS_C,
    DRIP_FALL,
    PANEL_ABOVE,
)
