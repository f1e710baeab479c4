"""How surely a vent holds what is asked, and what to measure first: frozen data and sentences."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from scipy.stats import binomtest

from vent_family.base.arrays import FloatArray
from vent_family.base.said import three
from vent_family.evidence.rounding import rounded
from vent_family.proposing.robust.drawn import FLIGHTS
from vent_family.proposing.robust.inputs import Input
from vent_family.proposing.robust.shares import SURE, SobolShare

Kind = Literal["inside temperature", "water that passes", "margin"]
TOLD: Final = 3
"""So many inputs are named in a sentence."""
SHARE_TOLD: Final = 0.05
"""Smallest share (1) that is worth naming."""
EXPLAINED_LEAST: Final = 0.5
"""A surface that explains less of what it has not seen (1) says nothing about shares."""
MILLILITRES: Final = "mL"
_INTERVAL: Final = "Clopper and Pearson"


@dataclass(frozen=True, slots=True)
class Chance:
    """In how many of so many draws something holds, and what ``share`` (1) of them that is.

    ``low_share`` and ``high_share`` (1) are the ends of Clopper and Pearson's interval, which holds
    the true chance in 95 of 100 such answers or more.
    """

    held: int
    draws: int
    share: float
    low_share: float
    high_share: float

    @staticmethod
    def of(held: int, draws: int) -> Chance:
        """Return the chance that ``held`` of ``draws`` stand for.

        Examples
        --------
        >>> Chance.of(160, 160).words()
        '100 % (97.7 to 100 %)'
        """
        found = binomtest(held, draws).proportion_ci(SURE, method="exact")
        return Chance(held, draws, held / draws, float(found.low), float(found.high))

    def words(self) -> str:
        """Return the chance with its interval."""
        low, high = (f"{100.0 * end:.3g}" for end in (self.low_share, self.high_share))
        return f"{100.0 * self.share:.3g} % ({low} to {high} %)"


@dataclass(frozen=True, eq=False)
class Quantity:
    """A quantity over all draws, and what makes its spread.

    ``exposure`` is blank for the temperature. ``values`` of all draws, ``low``, ``middle`` and
    ``high``, which 95, 50 and 5 of 100 of them exceed, and ``limit``, what it is held against, have
    the unit that ``unit`` names. Of water the limit is what may pass in the middle of all draws,
    since it goes with what arrives; it is ``None`` where nothing is asked.
    ``off`` is what the surface behind the shares is off at draws it has not seen, in the unit, or
    in decades where ``decades``; ``explained`` the share (1) of their variance that it explains.
    ``shares`` are empty where that is too little, or nothing varies.
    """

    kind: Kind
    exposure: str
    unit: str
    values: FloatArray
    low: float
    middle: float
    high: float
    limit: float | None
    decades: bool = False
    off: float | None = None
    explained: float | None = None
    shares: tuple[SobolShare, ...] = ()

    @property
    def name(self) -> str:
        """What it is called."""
        where = self.exposure.replace("_", " ")
        return f"{where}, {self.kind}" if where else self.kind

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, values in the unit that they name."""
        return {
            "quantity": self.kind,
            "exposure": self.exposure or None,
            "unit": self.unit,
            "low": self.low,
            "middle": self.middle,
            "high": self.high,
            "limit": self.limit,
            "surface_unit": "decades" if self.decades else self.unit,
            "surface_off": self.off,
            "surface_explains_share": self.explained,
            "shares": [
                {
                    "input": s.name,
                    "first_share": s.first,
                    "first_share_off": s.first_off,
                    "total_share": s.total,
                    "total_share_off": s.total_off,
                }
                for s in self.shares
            ],
        }


@dataclass(frozen=True, eq=False)
class Robustness:
    """How surely a vent holds.

    ``chance`` is that of all that is asked at once, ``cooling`` that of the cabinet alone and
    ``waters`` that of each exposure alone; ``None`` and none where nothing of it is asked.
    ``lost`` draws could not be judged and count as not holding. ``whole`` is False where the draws
    were broken off.
    """

    part_number: str
    seed: int
    inputs: tuple[Input, ...]
    chance: Chance
    cooling: Chance | None
    waters: tuple[tuple[str, Chance], ...]
    quantities: tuple[Quantity, ...]
    lost: int
    whole: bool

    def sentences(self) -> list[str]:
        """Return what to know as lines for people."""
        chance = self.chance
        lines = [
            f"{self.part_number} holds all that is asked with a chance of {chance.words()},"
            f" {100.0 * SURE:.0f} % sure by {_INTERVAL}: {chance.held} of {chance.draws} draws of"
            f" {len(self.inputs)} quantities that are not known exactly."
        ]
        alone = [] if self.cooling is None else [f"the cooling {self.cooling.words()}"]
        alone += [f"{name.replace('_', ' ')} {own.words()}" for name, own in self.waters]
        if len(alone) > 1:
            lines.append(f"Each alone: {'; '.join(alone)}.")
        told = {own.name: own.told for own in self.inputs}
        lines += [line for q in self.quantities if (line := _spread_words(q, told))]
        if any(q.unit == MILLILITRES for q in self.quantities):
            lines.append(
                f"Every draw has its water judged by {FLIGHTS:,} drops or few more: what lies near"
                " a limit may fall to either side of it."
            )
        if self.lost:
            lines.append(f"{self.lost} draws could not be judged; they count as not holding.")
        if not self.whole:
            lines.append("Broken off: these are the draws that were done by then.")
        return lines

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, numbers at what they are worth."""
        found: dict[str, Any] = _worth(
            {
                "part_number": self.part_number,
                "seed": self.seed,
                "interval": f"{_INTERVAL}, {100.0 * SURE:.0f} %",
                "chance": asdict(self.chance),
                "cooling": None if self.cooling is None else asdict(self.cooling),
                "waters": [{"exposure": n, **asdict(own)} for n, own in self.waters],
                "inputs": [own.as_dict() for own in self.inputs],
                "quantities": [q.as_dict() for q in self.quantities],
                "draws_lost": self.lost,
                "whole": self.whole,
            }
        )
        return found


def _worth(value: Any) -> Any:
    """Return plain data with every number at what it is worth."""
    if isinstance(value, dict):
        return {key: _worth(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_worth(item) for item in value]
    return rounded(value)


def _spread_words(quantity: Quantity, told: dict[str, str]) -> str:
    """Return a quantity's range and what makes it, one line; blank where nothing varies."""
    low, high = three(quantity.low), three(quantity.high)
    if low == high:
        return ""
    head = f"{quantity.name[0].upper()}{quantity.name[1:]}: {low} to {high} {quantity.unit} in nine"
    head += " of ten draws"
    if not quantity.shares:
        return (
            f"{head}; what makes it cannot be told from so many draws (a surface through them"
            f" explains {_percent(quantity.explained or 0.0)} of others)."
        )
    named = [s for s in quantity.shares[:TOLD] if s.total >= SHARE_TOLD]
    first, *more = named or quantity.shares[:1]
    text = (
        f"{head}. Measure first {told[first.name]}: it makes {_percent(first.total)} of the spread"
    )
    if more:
        text += ", then " + ", then ".join(f"{told[s.name]}, {_percent(s.total)}" for s in more)
    assert quantity.explained is not None
    return (
        f"{text} (read from a surface that explains {_percent(quantity.explained)} of other draws)."
    )


def _percent(share: float) -> str:
    return f"{100.0 * min(max(share, 0.0), 1.0):.0f} %"
