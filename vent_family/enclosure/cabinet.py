"""Cooling of a cabinet from its model: flow and temperature by the records of the vents in place.

Each vent counts with the resistance that its source states, a catalogue's row or a release's
record. Vents of several kinds and at several heights share the flow as their losses let them. A
draught rises by the true heights of the vents' middles; with a fan the buoyancy is left out, a
pascal or less beside the fan's tens.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import cadquery as cq

from vent_family.base.limits import COOLING_RESERVE, HALF_BLOCKED, LEVEL_MM
from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.bill import bill_of_materials
from vent_family.enclosure.members import place_within
from vent_family.enclosure.siting import (
    PlacedVent,
    named,
    placed_in,
    siting_warnings,
)
from vent_family.enclosure.upright import UP, WORLD_UP, VectorLike, direction
from vent_family.enclosure.vents import Vents
from vent_family.evidence.air.airway import AirPath, Direction
from vent_family.evidence.air.answer import CAUTION, predicted_dict
from vent_family.evidence.air.balance import Cooling
from vent_family.evidence.air.beside import OTHER_WAY, Beside, SideBySide
from vent_family.evidence.air.cabinet import Cabinet, required_flow_m3_s
from vent_family.evidence.air.fan_files import read_fan
from vent_family.evidence.air.fan_frame import frame_words, goes_into
from vent_family.evidence.air.fans import FanCurve, in_parallel
from vent_family.evidence.air.mixed import MixedQuestion
from vent_family.evidence.air.point import HOUR_S
from vent_family.evidence.air.predicted import Predicted, predict
from vent_family.evidence.air.question import place_of
from vent_family.evidence.air.sizing import greatest_heat_w
from vent_family.spec.fan_mount import FRAMES

if TYPE_CHECKING:
    import pandas as pd

_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class VentFlow:
    """What one vent passes; ``flow_m3_h`` is that of the air it passes, drawn in or let out."""

    name: str
    part_number: str
    air: Direction
    flow_m3_h: float


@dataclass(frozen=True)
class EnclosureCooling:
    """What is predicted of a cabinet, and what works against it.

    ``required_m3_s`` is the flow (outside air) that keeps the limit, ``reserved_m3_s`` the flow
    that does so with a quarter in hand, ``greatest_heat_w`` the greatest heat lost inside that
    holds, ``None`` if none does. ``half_clogged`` is what half of every inlet clogged leaves.
    """

    question: MixedQuestion
    predicted: Predicted
    half_clogged: Predicted | None
    required_m3_s: float
    reserved_m3_s: float
    greatest_heat_w: float | None
    passed: tuple[VentFlow, ...]
    warnings: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether the cabinet is predicted to hold its limit."""
        return self.predicted.holds

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data; units in the names."""
        return {
            "driven_by": self.question.mode,
            "required_flow_m3_h": self.required_m3_s * HOUR_S,
            "required_flow_with_reserve_m3_h": self.reserved_m3_s * HOUR_S,
            "reserve_needed": COOLING_RESERVE.value,
            **predicted_dict(self.predicted),
            "half_clogged": None
            if self.half_clogged is None
            else predicted_dict(self.half_clogged),
            "greatest_heat_w": self.greatest_heat_w,
            "vents": [
                {
                    "name": one.name,
                    "part_number": one.part_number,
                    "air": one.air,
                    "flow_m3_h": one.flow_m3_h,
                }
                for one in self.passed
            ],
            "placement": list(self.warnings),
            "caution": CAUTION,
        }


@dataclass(frozen=True, eq=False)
class Enclosure:
    """A cabinet with vents on it.

    Parameters
    ----------
    vents
        where the parts come from, a catalogue or a library
    placed
        the vents on it
    assembly
        its assembly, for the bill of materials
    up
        against gravity
    sun
        towards the sun; ``None`` where it does not matter
    """

    vents: Vents
    placed: tuple[PlacedVent, ...]
    assembly: cq.Assembly | None = None
    up: VectorLike = WORLD_UP
    sun: VectorLike | None = None

    def bill(self, *, attributes: Sequence[str] = (), nested: bool = False) -> pd.DataFrame:
        """Return what is in its assembly, as :mod:`vent_family.enclosure.bill` lists it.

        Raises
        ------
        ValueError
            if it has no assembly, or a member's metadata cannot be read
        """
        if self.assembly is None:
            raise ValueError("no assembly was given, so there is nothing to list")
        return bill_of_materials(self.assembly, attributes=attributes, nested=nested)

    def cooling(
        self,
        cabinet: Cabinet,
        *,
        fan: FanCurve | str | PathLike[str] | None = None,
        place: str = "intake",
    ) -> EnclosureCooling:
        """Return flow and temperature, and what of the vents' places works against them.

        Without a fan air rises by the heights of the vents. A fan stands behind every vent of its
        side that holds one; where none does, all vents of that side share one fan. Vents without a
        fan on a side where others hold one pass air the other way, and are counted so.

        Parameters
        ----------
        cabinet
            heat load, surroundings, limit, walls, and what the sun shines on
        fan
            a fan, or the CSV file of its curve; ``None`` for natural draught
        place
            ``intake`` for a fan that moves outside air in, ``outlet`` for one that moves inside
            air out

        Raises
        ------
        InputError
            if a part cannot be had, the fan's file cannot be used or does not go into a vent's
            frame, several kinds of vents hold a fan, or values make no sense

        Examples
        --------
        >>> import vent_family
        >>> text = "part_number,family,size,status\\n"
        >>> text += "V-80,rectangular,80x60,released\\nV-60,rectangular,60x60,released\\n"
        >>> parts = vent_family.Parts.from_text(text)
        >>> low = PlacedVent("V-80", (0, -150, 100), (0, -1, 0), "in")
        >>> high = PlacedVent("V-60", (0, 150, 900), (0, 1, 0), "out")
        >>> found = Enclosure(parts, (low, high)).cooling(Cabinet(10.0, 25.0, 50.0))
        >>> found.question.draught_height_m, found.predicted.outcome, found.warnings
        (0.8, 'holds', ())
        """
        curve = fan if fan is None or isinstance(fan, FanCurve) else read_fan(Path(fan))
        airways = {v.part_number: self.vents.airway(v.part_number) for v in self.placed}
        asked = _Asking(self, cabinet, airways)
        asked.warnings += siting_warnings(self.placed, self.up, self.sun)
        question = asked.with_draught() if curve is None else asked.with_fan(curve, place)
        return asked.answered(question)


def enclosure_of(
    assembly: cq.Assembly,
    vents: Vents,
    air: Mapping[str, Direction],
    *,
    up: VectorLike | None = None,
    sun: VectorLike | None = None,
) -> Enclosure:
    """Return a cabinet whose vents stand in an assembly.

    Parameters
    ----------
    assembly
        the assembly
    vents
        where the parts come from
    air
        names of the vents' assemblies in it, and which way the air goes by each: ``in`` or ``out``
    up
        against gravity; by default what the assembly's metadata say under ``up``, else what its
        vents were fitted by, else z
    sun
        towards the sun; ``None`` where it does not matter

    Raises
    ------
    InputError
        if no vent of a name stands there, or its vents were fitted with different directions up
    """
    placed = placed_in(assembly, air)
    against = _up_of(assembly, air) if up is None else up
    return Enclosure(vents, placed, assembly, against, sun)


def _up_of(assembly: cq.Assembly, names: Iterable[str]) -> VectorLike:
    """Return which way is up by an assembly, or by the vents of these names in it."""
    if UP in assembly.metadata:
        up: VectorLike = assembly.metadata[UP]
        return up
    said = (_up_by(assembly, assembly.objects[name]) for name in names)
    found = {tuple(round(x, 6) + 0.0 for x in one.toTuple()) for one in said if one is not None}
    if len(found) > 1:
        raise InputError(
            [
                Problem(
                    "cabinet.up.unlike",
                    "the vents were fitted with different directions up",
                    column="up",
                    value="; ".join(f"({x:g}, {y:g}, {z:g})" for x, y, z in sorted(found)),
                    suggestion="say up, or fit them with one",
                    place="option",
                )
            ]
        )
    return next(iter(found), WORLD_UP)


def _up_by(assembly: cq.Assembly, vent: cq.Assembly) -> cq.Vector | None:
    """Return which way was up when a vent was fitted, in the coordinates of the whole.

    It was said in those of the assembly that the vent was fitted into, a door's for instance.
    """
    said, door = vent.metadata.get(UP), vent.parent
    if said is None or door is None or door is assembly:
        return None if said is None else cq.Vector(said)
    place = place_within(assembly, door)
    ends = [cq.Vertex.makeVertex(*at).moved(place).Center() for at in (said, (0.0, 0.0, 0.0))]
    return ends[0] - ends[1]


class _Asking:
    """A question in the making: which vent is on which side, and what is to be said of it."""

    def __init__(self, enclosure: Enclosure, cabinet: Cabinet, airways: dict[str, AirPath]) -> None:
        self.placed = named(enclosure.placed)
        self.up = direction(enclosure.up, "up")
        self.cabinet, self.airways = cabinet, airways
        self.sides = {name: vent.air for name, vent in self.placed.items()}
        self.warnings: list[str] = []
        self._kept: dict[str, tuple[Direction, int]] = {}
        self.missing = ""

    def with_fan(self, fan: FanCurve, place: str) -> MixedQuestion:
        """Return the question of a cabinet with a fan, or with several alike.

        Raises
        ------
        InputError
            if the place is unknown, the fan does not go into the frame of a vent, or vents of
            several kinds hold one
        """
        where = place_of(place)
        way: Direction = "in" if where == "intake" else "out"
        beside = [name for name, side in self.sides.items() if side == way]
        frames = {name: self._airway(name).fan_frame_mm for name in beside}
        holders = [name for name, frame in frames.items() if frame is not None]
        _one_kind({self.placed[name].part_number for name in holders})
        for name in holders:
            frame = FRAMES.get(f"{frames[name]:g}")
            if frame is not None and not goes_into(fan, frame):
                raise InputError(
                    [
                        Problem(
                            "air.fan.frame",
                            frame_words(fan, frame),
                            part_number=self.placed[name].part_number,
                            column="fan",
                            value=fan.name,
                            suggestion=f"give a fan whose file states {frame.side_mm:g} mm",
                            place="option",
                        )
                    ]
                )
        for name in beside if holders else ():
            if name not in holders:
                self.sides[name] = OTHER_WAY[way]
                self.warnings.append(
                    f"{name} has no fan, and the fan on {holders[0]} drives air the other way"
                    f" through it: it counts as an {'outlet' if way == 'in' else 'inlet'}"
                )
        moved = in_parallel(fan, len(holders)) if holders else fan
        return self._asked(MixedQuestion(self.cabinet, fan=moved, place=where), level=True)

    def with_draught(self) -> MixedQuestion:
        """Return the question of a cabinet that breathes by itself."""
        heights = self._middles()
        if len(heights) < 2:
            return MixedQuestion(self.cabinet)
        rise = heights["out"] - heights["in"]
        if abs(rise) <= LEVEL_MM.value:
            self.missing = "inlets and outlets are at one height, so no draught rises"
            return MixedQuestion(self.cabinet)
        if rise < 0.0:
            self.sides = {name: OTHER_WAY[way] for name, way in self.sides.items()}
            self.warnings.append(
                "the inlets are above the outlets: warm air rises, so it leaves by them, and they"
                " count as outlets"
            )
        asked = MixedQuestion(self.cabinet, draught_height_m=abs(rise) * _MM)
        return self._asked(asked, level=False)

    def answered(self, question: MixedQuestion) -> EnclosureCooling:
        """Return what is predicted."""
        cabinet = self.cabinet
        if question.inlets is None and (question.fan is not None or not cabinet.wall_w_k):
            why = self.missing or "no air moves: vents on both sides are needed"
            predicted, heat = Predicted(None, why, "fails", (why,)), None
        else:
            predicted, heat = predict(question), greatest_heat_w(question)
        half = None
        if question.inlets is not None:
            half = predict(replace(question, inlets=question.inlets.blocked(HALF_BLOCKED.value)))
        passed = self._passed(question, predicted.cooling)
        return EnclosureCooling(
            question=question,
            predicted=predicted,
            half_clogged=half,
            required_m3_s=required_flow_m3_s(cabinet),
            reserved_m3_s=required_flow_m3_s(cabinet, COOLING_RESERVE.value),
            greatest_heat_w=heat,
            passed=passed,
            warnings=tuple(dict.fromkeys([*self.warnings, *self._turned(passed)])),
        )

    def _airway(self, name: str) -> AirPath:
        return self.airways[self.placed[name].part_number]

    def _middles(self) -> dict[Direction, float]:
        """Return the mean height of either side's vents, mm, of those there are."""
        found: dict[Direction, float] = {}
        ways: tuple[Direction, Direction] = ("in", "out")
        for way in ways:
            heights = [self._height_mm(name) for name, side in self.sides.items() if side == way]
            if heights:
                found[way] = sum(heights) / len(heights)
        return found

    def _height_mm(self, name: str) -> float:
        return self.placed[name].height_mm(self.up)

    def _asked(self, question: MixedQuestion, *, level: bool) -> MixedQuestion:
        """Return a question with the vents of both sides; as it is if one side has none."""
        middles = self._middles()
        if len(middles) < 2:
            return question
        inlets, outlets = (self._side(way, middle, level) for way, middle in middles.items())
        return replace(question, inlets=inlets, outlets=outlets)

    def _side(self, way: Direction, middle_mm: float, level: bool) -> SideBySide:
        """Return the vents of a side; equal ones at one height are one member."""
        groups: dict[tuple[str, float], list[str]] = {}
        for name, side in self.sides.items():
            if side == way:
                rise = 0.0 if level else round(self._height_mm(name) - middle_mm, 3)
                groups.setdefault((self.placed[name].part_number, rise + 0.0), []).append(name)
        members: list[Beside] = []
        for (number, rise), names in groups.items():
            self._kept |= {name: (way, len(members)) for name in names}
            members.append(Beside(self.airways[number], len(names), rise * _MM))
        return SideBySide(tuple(members))

    def _passed(self, question: MixedQuestion, cooling: Cooling | None) -> tuple[VentFlow, ...]:
        """Return what every vent passes."""
        sides = {"in": question.inlets, "out": question.outlets}
        if cooling is None or not cooling.mass_kg_s:
            return ()
        outside = cooling.cabinet.outside
        inside = outside.at(cooling.inside_c)
        masses = {
            way: side.masses_kg_s(cooling.mass_kg_s, outside, inside, _way(way))
            for way, side in sides.items()
            if side is not None
        }
        found = []
        for name, (way, at) in self._kept.items():
            side = sides[way]
            assert side is not None
            mass = masses[way][at] / side.members[at].count
            turned = way if mass >= 0.0 else OTHER_WAY[way]
            air = outside if turned == "in" else inside
            flow = abs(mass) / air.density_kg_m3 * HOUR_S
            found.append(VentFlow(name, self.placed[name].part_number, turned, flow))
        return tuple(found)

    def _turned(self, passed: Sequence[VentFlow]) -> list[str]:
        """Return a sentence for every vent through which the draught goes the other way."""
        return [
            f"through {one.name} the draught goes the other way: it {_DOES[one.air]} by its height"
            " among the others; what that carries off is not counted"
            for one in passed
            if one.air != self.sides[one.name]
        ]


_DOES: Final[dict[Direction, str]] = {"in": "draws air in", "out": "lets air out"}


def _way(word: str) -> Direction:
    return "in" if word == "in" else "out"


def _one_kind(part_numbers: set[str]) -> None:
    """Refuse fans behind vents of several kinds.

    Raises
    ------
    InputError
        naming them
    """
    if len(part_numbers) > 1:
        raise InputError(
            [
                Problem(
                    "air.fans.kinds",
                    "vents of several kinds hold a fan on one side, and one curve cannot say what"
                    " each of them moves",
                    column="part_number",
                    value=", ".join(sorted(part_numbers)),
                    suggestion="put the fans behind vents of one part number",
                    place="option",
                )
            ]
        )
