"""A catalogue row with every default filled in: what the rules between columns work on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict

from vent_family.base.limits import GAP_MIN
from vent_family.catalog.model import (
    AirDirection,
    CatalogRow,
    Colour,
    Family,
    FanPosition,
    FlammabilityClass,
    MaterialName,
    Orientation,
    OtherOpenings,
    SlatForm,
    StlOrientation,
)
from vent_family.spec import defaults
from vent_family.spec.feet import Feet
from vent_family.spec.forms import DEFAULT_FORM, FORMS
from vent_family.spec.forms.form import FormDefaults


class FilledRow(BaseModel):
    """The columns that every family has; each family's own row adds its own.

    Lengths in mm, angles in degrees, velocities in m/s, pressures in Pa. ``None`` stands where a
    blank cell is computed from the others, and nowhere else. ``source`` is the row as it was
    written.

    Raises
    ------
    pydantic.ValidationError
        where neither the row nor the defaults have a value for a column: a fault of the defaults
    """

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True)

    source: CatalogRow
    part_number: str
    family: Family
    size: str
    revision: str
    description: str | None
    material: MaterialName
    flammability_class: FlammabilityClass | None
    """Blank: none is asked for."""
    colour: Colour
    print_orientation: Orientation
    stl_orientation: StlOrientation

    slat_form: SlatForm
    slat_thickness_mm: float
    slat_foot_mm: float
    pitch_mm: float
    overlap_mm: float
    """The overlap asked for; without meaning where ``slat_height_mm`` is given."""
    slat_height_mm: float | None
    """Blank: from pitch and overlap."""
    bank_count: int
    bank_gaps_mm: str | None
    """Blank: ``bank_gap_mm`` everywhere, widened where a straight path would stay open."""
    bank_gap_mm: float
    bank_stagger: float
    slopes: str
    rib_count: int | None
    """Blank: the fewest ribs that let every slat print and bear a thumb."""
    rib_thickness_mm: float
    wall_mm: float
    plate_mm: float | None
    """Blank: as thick as the walls, or a round head's usual floor and ceiling."""

    floor_slope_deg: float
    drain_height_mm: float
    sill_height_mm: float | None
    """Blank: over the drain, raised until no straight line passes."""
    panel_thickness_mm: float

    exposure: str
    fan: str | None
    """Blank: none is known."""
    fan_position: FanPosition
    air_direction: AirDirection
    vents_in_parallel: int
    opposite_vent: str | None
    """Blank: the same part."""
    face_velocity_m_s: float | None
    """Blank: not known."""
    extra_depression_pa: float
    other_openings: OtherOpenings | None
    """Blank: as the air side takes it."""
    mounting_tilt_deg: float
    mounting_roll_deg: float
    cabinet_surface_m2: float

    @property
    def least_gaps_mm(self) -> tuple[float, ...]:
        """Least clear distance (mm) of each two banks, from outside in."""
        return (GAP_MIN.value,) * (self.bank_count - 1)

    def given(self, column: str) -> bool:
        """Return whether a column's cell was filled in by hand."""
        return getattr(self.source, column, None) is not None


RowT = TypeVar("RowT", bound=FilledRow)


@lru_cache(maxsize=64)
def _by_form(blanks: FormDefaults) -> Mapping[str, Any]:
    """Return what blank cells mean for a form, by column."""
    return MappingProxyType(asdict(blanks))


def fill(row: CatalogRow, kind: type[RowT], blanks: Mapping[str, object]) -> RowT:
    """Return a row with its blank cells read from the family's ``blanks``, its form's, all vents'.

    A column that none of the three knows is computed later: ``None``.
    """
    form = row.slat_form or DEFAULT_FORM
    known: dict[str, Any] = {**defaults.COMMON, **_by_form(FORMS[form].defaults), **blanks}
    cells = {name: value for name, value in row if value is not None}
    blank = dict.fromkeys(kind.model_fields)
    found = {**blank, **known, **cells, "slat_form": form, "source": row}
    if row.slat_foot_mm is None:
        feet = Feet.of(FORMS[form], found["slat_thickness_mm"], found["print_orientation"])
        found["slat_foot_mm"] = feet.held_mm(found["slat_foot_mm"])
    if row.overlap_mm is None:
        found["overlap_mm"] -= FORMS[form].defaults.less_overlap_mm(found["slat_foot_mm"])
    return kind.model_validate(found)
