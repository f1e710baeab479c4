"""One question about a cabinet: which vents, what moves the air, how much heat; and its balance.

Every word of a question counts in its answer, in the search for other vents, and with the inlet
half clogged: all of them are :func:`vent_family.evidence.air.asked.balance_of` a question. A word
that says nothing beside the others is refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import cast

from vent_family.base.limits import (
    FAN_PRESSURE_MAX,
    FILTER_MAX,
    GUARD_MAX,
    VENTS_MAX,
    VENTS_MIN,
)
from vent_family.base.problems import InputError, Problem
from vent_family.evidence.air.airway import Direction, ExtraLoss
from vent_family.evidence.air.asked import Mode
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fan_frame import frame_words, goes_into
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import Passage, Place, System, VentGroup
from vent_family.evidence.air.ranges import off_range
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True)
class Question:
    """What is asked, with everything read and resolved.

    Parameters
    ----------
    inlet:
        the vent the air enters by, guard and filter on it
    cabinet:
        heat load, surroundings and limit
    outlet:
        the vent the air leaves by; ``None`` for the inlet's kind, without guard and filter
    candidates:
        vents among which the smallest that would do is looked for
    fan:
        what moves the air; ``None`` for natural draught or a closed cabinet
    place:
        whether the fan moves outside air in or inside air out
    inlets:
        how many vents stand side by side where the air enters
    outlets:
        how many where it leaves; ``None`` for as many as where it enters
    counter_pa:
        pressure against the fan, such as wind, Pa
    draught_height_m:
        height between the middles of low inlet and high outlet, m; ``None`` for no draught

    Raises
    ------
    InputError
        listing all words that make no sense, alone or beside the others
    """

    inlet: VentAir
    cabinet: Cabinet
    outlet: VentAir | None = None
    candidates: tuple[VentAir, ...] = ()
    fan: FanCurve | None = None
    place: Place = "intake"
    inlets: int = 1
    outlets: int | None = None
    counter_pa: float = 0.0
    draught_height_m: float | None = None

    def __post_init__(self) -> None:
        problems = [
            Problem(
                "air.vents.count",
                "the number of vents on a side is out of range",
                column=column,
                value=str(count),
                allowed=f"{VENTS_MIN.value:g} to {VENTS_MAX.value:g}",
                suggestion="give the number of vents",
            )
            for column, count in (("inlets", self.inlets), ("outlets", self.outlet_count))
            if not VENTS_MIN.value <= count <= VENTS_MAX.value
        ]
        if self.fan is not None and self.draught_height_m is not None:
            problems.append(
                Problem(
                    "air.source.twice",
                    "a fan and natural draught are asked for at once",
                    column="draught_height_m",
                    suggestion="give either --fan or --draught",
                )
            )
        if not abs(self.counter_pa) <= FAN_PRESSURE_MAX.value:
            most = FAN_PRESSURE_MAX.value
            finite = math.isfinite(self.counter_pa)
            problems.append(
                Problem(
                    "air.value.range",
                    "the pressure against the fan is "
                    + ("more than the model is offered for" if finite else "not a finite number"),
                    column="counter_pa",
                    value=f"{self.counter_pa:g}",
                    allowed=f"-{most:g} to {most:g} Pa",
                    suggestion="give it in Pa, 0 for none",
                )
            )
        if self.mode == "closed" and not self.cabinet.wall_w_k:
            problems.append(
                Problem(
                    "air.source.none",
                    "nothing carries the heat away",
                    suggestion="give a fan (--fan), the height of a draught (--draught), or what"
                    " the walls pass (--walls)",
                )
            )
        problems += self._idle()
        if problems:
            raise InputError(problems)

    def _idle(self) -> list[Problem]:
        """Return the words that say nothing beside the others."""
        found: dict[str, object] = {}
        if self.mode != "fan" and self.counter_pa:
            found["counter_pa"] = f"{self.counter_pa:g}"
        if self.mode == "closed":
            found |= {"inlets": self.inlets} if self.inlets != 1 else {}
            found |= {"outlets": self.outlets} if self.outlets is not None else {}
            found |= {"outlet": self.outlet.part_number} if self.outlet is not None else {}
            found |= {extra.name: "stated" for extra in self.inlet.extras}
        return [_idle_word(name, str(value), self.mode) for name, value in found.items()]

    @property
    def mode(self) -> Mode:
        """What moves the air."""
        if self.fan is not None:
            return "fan"
        return "closed" if self.draught_height_m is None else "draught"

    @property
    def leaving(self) -> VentAir:
        """The vent the air leaves by."""
        return self.inlet.bare() if self.outlet is None else self.outlet

    @property
    def outlet_count(self) -> int:
        """How many of them stand side by side."""
        return self.inlets if self.outlets is None else self.outlets

    @property
    def sides(self) -> tuple[tuple[VentAir, Direction, int], ...]:
        """The vents of either side, which way the air goes, and how many there are."""
        return (
            (self.inlet, "in", self.inlets),
            (self.leaving, "out", self.outlet_count),
        )

    @property
    def system(self) -> System:
        """Both groups of vents, one behind the other, and what stands against the fan."""
        return System(tuple(VentGroup(*side) for side in self.sides), self.counter_pa)

    def with_vents(self, vents: Sequence[Passage]) -> Question:
        """Return the same question with other vents on either side."""
        inlet, outlet = (cast(VentAir, vent) for vent in vents)
        return replace(self, inlet=inlet, outlet=outlet)

    def with_fan(self, fan: FanCurve) -> Question:
        """Return the same question with another fan."""
        return replace(self, fan=fan)

    def with_cabinet(self, cabinet: Cabinet) -> Question:
        """Return the same question about another cabinet."""
        return replace(self, cabinet=cabinet)


def candidates(
    specs: Iterable[VentSpec], family: str, extras: tuple[ExtraLoss, ...] = ()
) -> tuple[VentAir, ...]:
    """Return the air side of the released vents of a family, for sizing.

    ``extras`` are added to every one of them.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> rows = parse_catalog(
    ...     "part_number,family,size,status\\n"
    ...     "V-40,rectangular,40x40,released\\nV-60,rectangular,60x60,draft\\n"
    ... )
    >>> [vent.part_number for vent in candidates(ResolvedRows(rows).specs(), "rectangular")]
    ['V-40']
    """
    return tuple(
        vent_air(spec, extras)
        for spec in specs
        if spec.family == family and spec.row.status == "released"
    )


def extras_of(guard_k: float, filter_pa_s_m: float) -> tuple[ExtraLoss, ...]:
    """Return guard and filter as extra losses; 0 for none.

    Parameters
    ----------
    guard_k:
        loss coefficient on the velocity in the panel opening
    filter_pa_s_m:
        pressure drop per velocity in the panel opening, Pa per m/s

    Raises
    ------
    InputError
        for a loss that is negative, no number, or more than the model is offered for

    Examples
    --------
    >>> [(extra.name, extra.k) for extra in extras_of(0.8, 0.0)]
    [('guard', 0.8)]
    """
    problems = off_range("guard_k", guard_k, "the guard's loss", "", GUARD_MAX.value)
    most = FILTER_MAX.value
    problems += off_range("filter_pa_s_m", filter_pa_s_m, "the filter's loss", "Pa per m/s", most)
    if problems:
        raise InputError(problems)
    guard = (ExtraLoss("guard", k=guard_k),) if guard_k else ()
    fibre = (ExtraLoss("filter", linear_pa_s_m=filter_pa_s_m),) if filter_pa_s_m else ()
    return guard + fibre


def place_of(word: str) -> Place:
    """Return where the fan stands.

    Raises
    ------
    InputError
        for an unknown word

    Examples
    --------
    >>> place_of("roof")
    Traceback (most recent call last):
    ...
    vent_family.base.problems.InputError: column place: the fan's place is unknown (value 'roof').
    Allowed: intake, outlet. Say intake for a fan that moves outside air in.
    """
    if word == "intake":
        return "intake"
    if word == "outlet":
        return "outlet"
    raise InputError(
        [
            Problem(
                "air.place.unknown",
                "the fan's place is unknown",
                column="place",
                value=word,
                allowed="intake, outlet",
                suggestion="say intake for a fan that moves outside air in",
            )
        ]
    )


def question_of(
    inlet: VentSpec,
    cabinet: Cabinet,
    *,
    outlet: VentSpec | None = None,
    among: Iterable[VentSpec] = (),
    fan: FanCurve | None = None,
    place: str | None = None,
    inlets: int = 1,
    outlets: int | None = None,
    guard_k: float = 0.0,
    filter_pa_s_m: float = 0.0,
    counter_pa: float = 0.0,
    draught_height_m: float | None = None,
) -> Question:
    """Return a question about resolved vents.

    Parameters
    ----------
    inlet:
        the vent the air enters by
    cabinet:
        heat load, surroundings and limit
    outlet:
        the vent the air leaves by, the inlet's kind if not given
    among:
        where to look for the smallest vent that would do: released ones of the inlet's family
    fan:
        what moves the air; ``None`` for natural draught or a closed cabinet
    place:
        ``intake`` for a fan that moves outside air in, ``outlet`` for one that moves inside air
        out; ``intake`` if not given
    inlets, outlets:
        how many vents stand side by side on each side; as many outlets as inlets if not given
    guard_k:
        loss coefficient of a guard on the inlet
    filter_pa_s_m:
        filter on the inlet, Pa per m/s in the opening
    counter_pa:
        pressure against the fan, such as wind, Pa
    draught_height_m:
        height between the middles of low inlet and high outlet, m

    Raises
    ------
    InputError
        for values that make no sense, alone or together
    """
    extras = extras_of(guard_k, filter_pa_s_m)
    where = place_of(place or "intake")
    beside = inlet if where == "intake" else outlet or inlet
    held = None if beside.body.fan_mount is None else beside.body.fan_mount.frame
    if fan is not None and held is not None and not goes_into(fan, held):
        words, fix = frame_words(fan, held), f"give a fan whose file states {held.side_mm:g} mm"
        raise InputError(
            [Problem("air.fan.frame", words, column="fan", value=fan.name, suggestion=fix)]
        )
    if place is not None and fan is None:
        mode: Mode = "closed" if draught_height_m is None else "draught"
        raise InputError([_idle_word("place", place, mode)])
    return Question(
        inlet=vent_air(inlet, extras),
        cabinet=cabinet,
        outlet=None if outlet is None else vent_air(outlet),
        candidates=candidates(among, inlet.family, extras),
        fan=fan,
        place=where,
        inlets=inlets,
        outlets=outlets,
        counter_pa=counter_pa,
        draught_height_m=draught_height_m,
    )


def _idle_word(name: str, value: str, mode: Mode) -> Problem:
    """Return why a word says nothing."""
    if mode == "draught":
        text, fix = "it says nothing of a draught without a fan", "leave it out, or give a fan"
    else:
        text = "it says nothing of a closed cabinet, in which no air moves"
        fix = "give a fan or a draught, or leave it out"
    return Problem("air.option.idle", text, column=name, value=value, suggestion=fix)
