"""What a vent is exposed to: the row's exposures, air and mounting, checked."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated

from vent_family.base.limits import MOUNTING_ROLL_MAX, MOUNTING_TILT_MAX
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import DRY
from vent_family.evidence.air.drive import Drive, OtherAir, drive_of
from vent_family.evidence.air.point import OperatingPoint, operating_points
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.water.exposures import EXPOSURES, Exposure, exposure_named
from vent_family.evidence.water.posture.frame import Posture
from vent_family.spec.areas import VentAreas
from vent_family.spec.defaults import CABINET_SURFACE_M2
from vent_family.spec.families import filled_row
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class StatedConditions:
    """Conditions as they stand in reports and records.

    The tilt is positive leaning back, the roll clockwise as seen from outside.
    """

    exposures: Annotated[
        tuple[str, ...],
        Fact(
            "names of the exposures",
            attribute=Shown("water_exposures", "", of=lambda c: "/".join(c.exposures) or "dry"),
        ),
    ]
    air: Annotated[
        OperatingPoint,
        Fact(
            "operating point without wind",
            attribute=(
                Shown("water_face_velocity_m_s", "m/s", of=lambda c: c.air.face_velocity_m_s),
                Shown("water_depression_pa", "Pa", of=lambda c: c.air.depression_pa),
            ),
            index=Shown("water_depression_pa", "Pa", of=lambda c: c.air.depression_pa, digits=1),
        ),
    ]
    driven_by: Annotated[
        str,
        Fact("what drives the air, and how other openings lie", attribute="water_air_driven_by"),
    ]
    tilt_deg: Annotated[
        float, Fact("lean, face upwards", "deg", attribute="water_mounting_tilt_deg")
    ]
    roll_deg: Annotated[
        float,
        Fact(
            "turn in the opening, clockwise as seen from outside",
            "deg",
            attribute="water_mounting_roll_deg",
        ),
    ]
    cabinet_surface_m2: Annotated[
        float, Fact("outer surface of the cabinet that a nozzle wets in turn", "m2")
    ]


@dataclass(frozen=True, slots=True)
class Conditions:
    """What water and air a vent meets.

    ``exposures`` by name; the operating point without wind (``calm``) and those of each exposure,
    one for each state of fan and wind, the usual one first (``states``); tilt and roll of the
    mounting in degrees, positive where the vent leans back and its face looks upwards, and where it
    is turned clockwise as seen from outside. ``drive`` and ``vent`` are what the points follow
    from; ``None`` where they were stated as they are. ``cabinet_m2`` is the outer surface of the
    cabinet in m2.
    """

    exposures: tuple[str, ...]
    calm: OperatingPoint
    states: tuple[tuple[OperatingPoint, ...], ...]
    tilt_deg: float
    drive: Drive | None = None
    vent: VentAir | None = None
    cabinet_m2: float = CABINET_SURFACE_M2
    roll_deg: float = 0.0

    @property
    def posture(self) -> Posture:
        """Lean and roll together."""
        return Posture(self.tilt_deg, self.roll_deg)

    @property
    def table(self) -> tuple[Exposure, ...]:
        """The exposures themselves."""
        return tuple(exposure_named(name) for name in self.exposures)

    def point(self, exposure: str) -> OperatingPoint:
        """Return the operating point under one of the exposures, the usual one of several."""
        return self.states[self.exposures.index(exposure)][0]

    def singles(self) -> Iterator[tuple[Conditions, ...]]:
        """Yield, one exposure after the other, its conditions in each state of fan and wind."""
        for name, points in zip(self.exposures, self.states, strict=True):
            yield tuple(replace(self, exposures=(name,), states=((p,),)) for p in points)

    def on(self, vent: VentAir) -> Conditions:
        """Return the same exposures, drive and mounting on another vent.

        Of several states of fan and wind only those that are among these are kept.
        """
        if self.drive is None:
            return self
        made = pointed(vent, self.exposures, self.drive, self.posture, self.cabinet_m2)
        kept = tuple(
            tuple(p for p in points if p.state in {own.state for own in mine}) or points
            for points, mine in zip(made.states, self.states, strict=True)
        )
        return replace(made, states=kept)

    def at_velocity(self, vent: VentAir, face_velocity_m_s: float) -> Conditions:
        """Return the conditions on a vent with another face velocity, m/s, in place of a fan."""
        own = self.drive or Drive(extra_pa=self.calm.extra_pa)
        drive = replace(own, fan=None, face_velocity_m_s=face_velocity_m_s)
        return replace(self, drive=drive).on(vent)

    def stated(self) -> StatedConditions:
        """Return the conditions as they stand in reports."""
        return StatedConditions(
            exposures=self.exposures,
            air=self.calm,
            driven_by="stated as it is" if self.drive is None else self.drive.words(),
            tilt_deg=self.tilt_deg,
            roll_deg=self.roll_deg,
            cabinet_surface_m2=self.cabinet_m2,
        )


def pointed(
    vent: VentAir,
    exposures: tuple[str, ...],
    drive: Drive,
    posture: Posture,
    cabinet_m2: float = CABINET_SURFACE_M2,
) -> Conditions:
    """Return conditions with the operating points that a drive has on a vent.

    ``cabinet_m2`` is the outer surface of the cabinet in m2.
    """
    wind_of = {name: exposure_named(name).wind_m_s for name in exposures}
    winds = {0.0, *wind_of.values()}
    points = {wind: tuple(operating_points(vent, drive, wind)) for wind in winds}
    states = tuple(points[wind_of[name]] for name in exposures)
    (calm, *_) = points[0.0]
    tilt, roll = posture.tilt_deg, posture.roll_deg
    return Conditions(exposures, calm, states, tilt, drive, vent, cabinet_m2, roll)


def conditions_of(vent: VentSpec, areas: VentAreas | None = None) -> Conditions:
    """Return the conditions the row of a vent names; blank cells mean the defaults.

    Raises
    ------
    InputError
        where the row names a fan or vent that cannot be used
    """
    return chosen_conditions(vent, areas=areas)


def chosen_conditions(
    vent: VentSpec,
    exposure: str | None = None,
    tilt_deg: float | None = None,
    air: OtherAir | None = None,
    *,
    roll_deg: float | None = None,
    areas: VentAreas | None = None,
    file: str = "",
    row_number: int | None = None,
) -> Conditions:
    """Return the conditions of a vent's row with others in their place where given.

    Parameters
    ----------
    vent
        the vent
    exposure
        one name or several with / between them
    tilt_deg
        lean of the mounting, degrees, positive where the face looks upwards
    air
        air in place of the row's
    roll_deg
        turn in the opening, degrees, positive clockwise as seen from outside
    areas
        open areas of the vent, where known already
    file, row_number
        where the row stands, for messages

    Raises
    ------
    InputError
        listing everything that is wrong, with file, row and part number where the row is wrong

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolve import resolve
    >>> text = "part_number,family,size,status,exposure\\nV-1,round,M20x1.5,draft,splashing\\n"
    >>> vent = resolve(parse_catalog(text).rows[0].row)
    >>> chosen_conditions(vent).exposures, chosen_conditions(vent, "rain/jets").exposures
    (('splashing',), ('rain', 'jets'))
    >>> chosen_conditions(vent, tilt_deg=5.0).tilt_deg
    5.0
    >>> chosen_conditions(vent).calm.source
    'default'
    """
    own = filled_row(vent.row)
    names, problems = _exposures(own.exposure if exposure is None else exposure)
    asked = {"exposure": exposure, "mounting_tilt_deg": tilt_deg, "mounting_roll_deg": roll_deg}
    tilt = own.mounting_tilt_deg if tilt_deg is None else tilt_deg
    roll = own.mounting_roll_deg if roll_deg is None else roll_deg
    for what, angle, most in (
        ("tilt", tilt, MOUNTING_TILT_MAX.value),
        ("roll", roll, MOUNTING_ROLL_MAX.value),
    ):
        if not abs(angle) <= most:
            problems.append(
                Problem(
                    "water.mounting.range",
                    f"impossible mounting {what}",
                    column=f"mounting_{what}_deg",
                    value=f"{angle:g}",
                    allowed=f"{-most:g} to {most:g} degrees",
                    suggestion="correct the value or leave it out",
                )
            )
    drive = Drive()
    try:
        drive = drive_of(vent)
        if air is not None:
            drive = air.instead_of(drive)
    except InputError as error:
        problems += error.problems
    if problems:
        # What was asked for is no fault of the row's.
        raise InputError(
            [
                replace(p, place="option")
                if asked.get(p.column) is not None
                else replace(p, file=file, row=row_number, part_number=vent.part_number)
                for p in problems
            ]
        )
    posture = Posture(tilt, roll)
    return pointed(vent_air(vent, areas=areas), names, drive, posture, own.cabinet_surface_m2)


def _exposures(text: str) -> tuple[tuple[str, ...], list[Problem]]:
    """Return the exposures a text names, and what is wrong with them."""
    names = [name.strip() for name in text.split("/")]
    if names == [DRY]:
        return (), []
    problems = []
    for name in names:
        if name in EXPOSURES:
            continue
        near = difflib.get_close_matches(name, list(EXPOSURES), n=1, cutoff=0.5)
        problems.append(
            Problem(
                "water.exposure.unknown",
                f"unknown exposure {name!r}",
                column="exposure",
                value=text,
                allowed=f"{DRY}, or {', '.join(EXPOSURES)}, several with / between them",
                suggestion=f"did you mean {near[0]}?" if near else "choose from the list",
            )
        )
    if len(set(names)) != len(names):
        problems.append(
            Problem(
                "water.exposure.repeated",
                "an exposure is named twice",
                column="exposure",
                value=text,
                suggestion="name each only once",
            )
        )
    return tuple(names), problems
