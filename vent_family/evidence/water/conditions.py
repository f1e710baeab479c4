"""What a vent is exposed to: the row's exposures, air and mounting, checked."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass
from typing import Annotated

from vent_family.base.limits import DEPRESSION_MAX, FACE_VELOCITY_MAX, MOUNTING_TILT_MAX
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import DRY, CatalogRow
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.water.exposures import EXPOSURES, Exposure
from vent_family.spec.families import filled_row


@dataclass(frozen=True, slots=True)
class Conditions:
    """Exposures by name, face velocity (m/s into the cabinet), depression (Pa), tilt (deg).

    The tilt is positive where the vent leans back, its face looking upwards.
    """

    exposures: Annotated[
        tuple[str, ...],
        Fact(
            "names of the exposures",
            attribute=Shown("water_exposures", "", of=lambda c: "/".join(c.exposures) or "dry"),
        ),
    ]
    face_velocity_m_s: Annotated[
        float, Fact("air drawn in, on the open face", "m/s", attribute="water_face_velocity_m_s")
    ]
    depression_pa: Annotated[
        float, Fact("inside below outside", "Pa", attribute="water_fan_depression_pa")
    ]
    tilt_deg: Annotated[
        float, Fact("lean, face upwards", "deg", attribute="water_mounting_tilt_deg")
    ]

    @property
    def table(self) -> tuple[Exposure, ...]:
        """The exposures themselves."""
        return tuple(EXPOSURES[name] for name in self.exposures)


def checked_conditions(
    exposure: str,
    face_velocity_m_s: float,
    depression_pa: float,
    tilt_deg: float,
    *,
    part_number: str = "",
    file: str = "",
    row: int | None = None,
) -> Conditions:
    """Return checked conditions; ``exposure`` is one name or several with / between them.

    Raises
    ------
    InputError
        listing everything that is wrong, with file, row and part number where given
    """
    problems: list[Problem] = []

    def refuse(column: str, message: str, value: object, allowed: str, suggestion: str) -> None:
        problems.append(
            Problem(message, file, row, part_number, column, str(value), allowed, suggestion)
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
        ("fan_depression_pa", depression_pa, 0.0, DEPRESSION_MAX.value, "Pa", "fan depression"),
        (
            "mounting_tilt_deg",
            tilt_deg,
            -MOUNTING_TILT_MAX.value,
            MOUNTING_TILT_MAX.value,
            "degrees",
            "mounting tilt",
        ),
    ):
        if not math.isfinite(value) or not low <= value <= high:
            refuse(
                column,
                f"impossible {what}",
                f"{value:g}",
                f"{low:g} to {high:g} {unit}",
                "correct the value or leave the cell blank",
            )
    if problems:
        raise InputError(problems)
    return Conditions(tuple(names), face_velocity_m_s, depression_pa, tilt_deg)


def conditions_of(row: CatalogRow) -> Conditions:
    """Return the conditions a row names; blank cells mean the defaults."""
    filled = filled_row(row)
    return checked_conditions(
        filled.exposure,
        filled.face_velocity_m_s,
        filled.fan_depression_pa,
        filled.mounting_tilt_deg,
        part_number=row.part_number,
    )


def chosen_conditions(
    row: CatalogRow,
    exposure: str | None = None,
    face_velocity_m_s: float | None = None,
    depression_pa: float | None = None,
    tilt_deg: float | None = None,
    *,
    file: str = "",
    row_number: int | None = None,
) -> Conditions:
    """Return a row's conditions with others in their place where given.

    Parameters
    ----------
    exposure:
        one name or several with / between them
    face_velocity_m_s:
        air drawn in, flow over the open face, m/s
    depression_pa:
        pressure inside below the pressure outside, Pa
    tilt_deg:
        lean of the mounting, degrees, positive where the face looks upwards
    file, row_number:
        where the row stands, for messages

    Raises
    ------
    InputError
        listing everything that is wrong, with file, row and part number

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> text = "part_number,family,size,status,exposure\\nV-1,round,M20x1.5,draft,splashing\\n"
    >>> row = parse_catalog(text).rows[0].row
    >>> chosen_conditions(row).exposures, chosen_conditions(row, "rain/jets").exposures
    (('splashing',), ('rain', 'jets'))
    >>> chosen_conditions(row, tilt_deg=5.0).tilt_deg
    5.0
    """
    own = conditions_of(row)
    return checked_conditions(
        "/".join(own.exposures) or DRY if exposure is None else exposure,
        own.face_velocity_m_s if face_velocity_m_s is None else face_velocity_m_s,
        own.depression_pa if depression_pa is None else depression_pa,
        own.tilt_deg if tilt_deg is None else tilt_deg,
        part_number=row.part_number,
        file=file,
        row=row_number,
    )
