"""What became of an option's neighbours, one sentence each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.base.said import said
from vent_family.catalog.columns import COLUMNS
from vent_family.proposing.figures import NONE_PASSES_ML, margin_told, water_words
from vent_family.proposing.ladder import RUNGS, WATER, Candidate, Margin
from vent_family.proposing.lesser import LesserRow, Stands

NAMES: Final[Mapping[str, str]] = {
    "slat_thickness_mm": "slats of {} mm",
    "bank_count": "{} banks",
    "pitch_mm": "a pitch of {} mm",
    "overlap_mm": "an overlap of {} mm",
    "bank_gaps_mm": "{} mm between banks",
    "head_diameter_mm": "a head of {} mm",
    "wall_mm": "a wall of {} mm",
    "lip_thickness_mm": "a lip of {} mm",
    "flange_thickness_mm": "a flange of {} mm",
}
"""What is tried less of, by column."""
_LESS: Final[Mapping[str, tuple[str, str]]] = {
    "price": ("{0:.2f} {1} cheaper", "{0:.2f} {1} dearer"),
    "rise_k": ("{0:.1f} K cooler", "{0:.1f} K warmer"),
    "depth_mm": ("{0:.1f} mm shallower", "{0:.1f} mm deeper"),
    "passed_ml": ("{0:.0f} mL drier", "{0:.0f} mL wetter"),
}
"""How less and more of an aim is told."""


@dataclass(frozen=True, slots=True)
class NeighbourTold:
    """An option with one thing less, and what became of it.

    ``now`` and ``value`` are what the column means in the option and here, in its unit.
    """

    column: str
    now: float
    value: float
    unit: str
    stands: Stands
    words: str


def neighbour_told(neighbour: LesserRow, currency: str) -> NeighbourTold:
    """Return what became of a neighbour as it is told; ``currency`` is that of prices."""
    return NeighbourTold(
        neighbour.column,
        round(neighbour.now, 2),
        round(neighbour.value, 2),
        COLUMNS[neighbour.column].unit,
        neighbour.stands,
        _words(neighbour, currency),
    )


def _words(found: LesserRow, currency: str) -> str:
    if found.stands == "end":
        return f"{_name(found.column, found.now)}: the catalogue takes no less"
    name = _name(found.column, found.value)
    if found.stands == "stopped":
        assert found.candidate is not None
        return f"{name}: {stopped_words(found.candidate, found.refused)}"
    gains = _differences(found.gained, currency, less=True)
    losses = _differences(found.lost, currency, less=False)
    if found.stands == "no gain":
        return f"{name}: {_and(losses) if losses else 'neither cheaper, cooler nor shallower'}"
    told = _and(gains) + (f", but {_and(losses)}" if losses else "")
    if found.stands == "trade":
        return f"{name}: would do as well, {told}"
    solid = found.solid
    if solid is not None and not solid.good:
        return f"{name}: {told}, were it not for its solid: {solid.failed[0]}"
    built = "not built" if solid is None else "it passes"
    return f"{name}: better, {told}; the search has missed it (its solid: {built})"


def _name(column: str, value: float) -> str:
    """Return what there is less of.

    Examples
    --------
    >>> _name("bank_count", 1), _name("bank_count", 2), _name("wall_mm", 1.30)
    ('1 bank', '2 banks', 'a wall of 1.3 mm')
    """
    if column == "bank_count" and value == 1:
        return "1 bank"
    return NAMES[column].format(said(value))


def stopped_words(candidate: Candidate, refused: str = "") -> str:
    """Return in words what stops a row; ``refused`` says which rule it breaks."""
    if candidate.rung == RUNGS[0]:
        return refused or "it breaks a rule"
    short = [m for m in candidate.margins if not m.kept]
    if not short:
        return candidate.reason
    return short_words(min(short, key=lambda m: m.share), candidate.reason)


def short_words(margin: Margin, reason: str) -> str:
    """Return in words a margin that is not kept; ``reason`` is why its row went no further.

    Examples
    --------
    >>> margin = Margin("water", 310.0, 0.0, "mL", -1.5)
    >>> short_words(margin, "water: hose_down: drops between the slats")
    'hose_down limited by drops between the slats, up to 310 mL pass'
    """
    own = f"{WATER}: "
    if margin.name != WATER or not reason.startswith(own):
        return margin_told(margin).words
    # The reason names the water and by what way it comes in; what passes may be nothing yet.
    amount = [water_words(margin.value)] if margin.value >= NONE_PASSES_ML else []
    water, _, way = reason.removeprefix(own).partition(": ")
    return ", ".join([f"{water} limited by {way}", *amount])


def _differences(found: Mapping[str, float], currency: str, *, less: bool) -> list[str]:
    return [_LESS[name][not less].format(value, currency) for name, value in found.items()]


def _and(words: Sequence[str]) -> str:
    return " and ".join([*([", ".join(words[:-1])] if words[:-1] else []), *words[-1:]])
