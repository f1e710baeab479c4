"""What a vent is exposed to: the row's exposures, air and mounting, checked."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated

from vent_family.base.limits import (
    DEPRESSION_MAX,
    FACE_VELOCITY_DEFAULT,
    FACE_VELOCITY_MAX,
    MOUNTING_TILT_MAX,
)
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import DRY
from vent_family.evidence.air.point import Drive, OperatingPoint, operating_point_of
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.water.exposures import EXPOSURES, Exposure
from vent_family.spec.areas import VentAreas
from vent_family.spec.families import filled_row
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class StatedConditions:
    """Conditions as they stand in reports and records; the tilt is positive leaning back."""

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
        ),
    ]
    tilt_deg: Annotated[
        float, Fact("lean, face upwards", "deg", attribute="water_mounting_tilt_deg")
    ]


@dataclass(frozen=True, slots=True)
class Conditions:
    """What water and air a vent meets.

    ``exposures`` by name, the operating point without wind (``calm``), one for each exposure
    (``points``), the tilt of the mounting in degrees, positive where the vent leans back and its
    face looks upwards. ``drive`` and ``vent`` are what the points follow from; ``None`` where they
    were stated as they are.
    """

    exposures: tuple[str, ...]
    calm: OperatingPoint
    points: tuple[OperatingPoint, ...]
    tilt_deg: float
    drive: Drive | None = None
    vent: VentAir | None = None

    @property
    def table(self) -> tuple[Exposure, ...]:
        """The exposures themselves."""
        return tuple(EXPOSURES[name] for name in self.exposures)

    def point(self, exposure: str) -> OperatingPoint:
        """Return the operating point under one of the exposures."""
        return self.points[self.exposures.index(exposure)]

    def singles(self) -> Iterator[Conditions]:
        """Yield the conditions of one exposure after the other."""
        for name, point in zip(self.exposures, self.points, strict=True):
            yield replace(self, exposures=(name,), points=(point,))

    def on(self, vent: VentAir) -> Conditions:
        """Return the same exposures, drive and tilt on another vent."""
        if self.drive is None:
            return self
        return pointed(vent, self.exposures, self.drive, self.tilt_deg)

    def at_velocity(self, vent: VentAir, face_velocity_m_s: float) -> Conditions:
        """Return the conditions with another face velocity, m/s, on a vent."""
        drive = Drive("face velocity", face_velocity_m_s, self.calm.extra_pa)
        return pointed(vent, self.exposures, drive, self.tilt_deg)

    def stated(self) -> StatedConditions:
        """Return the conditions as they stand in reports."""
        return StatedConditions(self.exposures, self.calm, self.tilt_deg)


def pointed(vent: VentAir, exposures: tuple[str, ...], drive: Drive, tilt_deg: float) -> Conditions:
    """Return conditions with the operating points that a drive has on a vent; tilt in degrees."""
    point = operating_point_of(vent, drive)
    return Conditions(exposures, point, (point,) * len(exposures), tilt_deg, drive, vent)


def checked_conditions(
    vent: VentSpec,
    exposure: str,
    face_velocity_m_s: float | None,
    extra_depression_pa: float,
    tilt_deg: float,
    *,
    areas: VentAreas | None = None,
    file: str = "",
    row: int | None = None,
) -> Conditions:
    """Return checked conditions of a vent; ``exposure`` is one name or several with / between them.

    Parameters
    ----------
    vent
        the vent
    exposure
        water it meets
    face_velocity_m_s
        air drawn in, flow over the open face, m/s; ``None`` where it is not known
    extra_depression_pa
        what lowers the pressure over the pool besides, Pa
    tilt_deg
        lean of the mounting, degrees, positive where the face looks upwards
    areas
        open areas of the vent, where known already
    file, row
        where the row stands, for messages

    Raises
    ------
    InputError
        listing everything that is wrong, with file, row and part number where given
    """
    problems: list[Problem] = []

    def refuse(column: str, message: str, value: object, allowed: str, suggestion: str) -> None:
        problems.append(
            Problem(message, file, row, vent.part_number, column, str(value), allowed, suggestion)
        )

    names = [name.strip() for name in exposure.split("/")]
    if names == [DRY]:
        names = []
    for name in names:
        if name in EXPOSURES:
            continue
        near = difflib.get_close_matches(name, list(EXPOSURES), n=1, cutoff=0.5)
        refuse(
            "exposure",
            f"unknown exposure {name!r}",
            exposure,
            f"{DRY}, or {', '.join(EXPOSURES)}, several with / between them",
            f"did you mean {near[0]}?" if near else "choose from the list",
        )
    if len(set(names)) != len(names):
        refuse("exposure", "an exposure is named twice", exposure, "", "name each only once")
    for column, value, low, high, unit, what in (
        (
            "face_velocity_m_s",
            face_velocity_m_s,
            0.0,
            FACE_VELOCITY_MAX.value,
            "m/s",
            "face velocity",
        ),
        (
            "extra_depression_pa",
            extra_depression_pa,
            0.0,
            DEPRESSION_MAX.value,
            "Pa",
            "extra depression",
        ),
        (
            "mounting_tilt_deg",
            tilt_deg,
            -MOUNTING_TILT_MAX.value,
            MOUNTING_TILT_MAX.value,
            "degrees",
            "mounting tilt",
        ),
    ):
        if value is not None and not (math.isfinite(value) and low <= value <= high):
            refuse(
                column,
                f"impossible {what}",
                f"{value:g}",
                f"{low:g} to {high:g} {unit}",
                "correct the value or leave the cell blank",
            )
    if problems:
        raise InputError(problems)
    if face_velocity_m_s is None:
        drive = Drive("default", FACE_VELOCITY_DEFAULT.value, extra_depression_pa)
    else:
        drive = Drive("face velocity", face_velocity_m_s, extra_depression_pa)
    return pointed(vent_air(vent, areas=areas), tuple(names), drive, tilt_deg)


def conditions_of(vent: VentSpec, areas: VentAreas | None = None) -> Conditions:
    """Return the conditions the row of a vent names; blank cells mean the defaults."""
    return chosen_conditions(vent, areas=areas)


def chosen_conditions(
    vent: VentSpec,
    exposure: str | None = None,
    face_velocity_m_s: float | None = None,
    extra_depression_pa: float | None = None,
    tilt_deg: float | None = None,
    *,
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
    face_velocity_m_s
        air drawn in, flow over the open face, m/s
    extra_depression_pa
        what lowers the pressure over the pool besides, Pa
    tilt_deg
        lean of the mounting, degrees, positive where the face looks upwards
    areas
        open areas of the vent, where known already
    file, row_number
        where the row stands, for messages

    Raises
    ------
    InputError
        listing everything that is wrong, with file, row and part number

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
    velocity = own.face_velocity_m_s if face_velocity_m_s is None else face_velocity_m_s
    extra = own.extra_depression_pa if extra_depression_pa is None else extra_depression_pa
    return checked_conditions(
        vent,
        own.exposure if exposure is None else exposure,
        velocity,
        extra,
        own.mounting_tilt_deg if tilt_deg is None else tilt_deg,
        areas=areas,
        file=file,
        row=row_number,
    )
