"""What a vent must do, as one small TOML file states it.

Units stand in the names of the entries. Everything that a row of the catalogue can say is said in
the catalogue's own words: sizes, exposures, fans and cells mean what they mean there.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Final, Self

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from vent_family.base.frozen import Frozen
from vent_family.base.limits import (
    ORDER_MOST,
    PANEL_MAX,
    PANEL_MIN,
    REACH_MOST,
    VENTS_MAX,
    VENTS_MIN,
)
from vent_family.base.problems import InputError, Problem
from vent_family.base.tables import Said, Wording, checked_settings, read_settings
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import (
    COLOUR_NAMES,
    DRY,
    FAMILIES,
    MATERIAL_NAMES,
    CatalogRow,
    FanPosition,
    Orientation,
    OtherOpenings,
    families_sized,
)
from vent_family.evidence.air.cabinet import Cabinet, sunlit_of
from vent_family.evidence.outcomes import Outcome
from vent_family.proposing.sizes import is_thread, size_fault

WORDING: Final = Wording(
    unread=Said("requirement.file.unread", "the requirement cannot be read"),
    syntax=Said("requirement.file.syntax", "the requirement is not valid TOML"),
    missing=Said("requirement.entry.missing", "{one} is missing"),
    unknown=Said("requirement.entry.unknown", "there is no {what} of this name"),
    unusable=Said("requirement.entry.unusable", "{one} is not usable"),
    entry="entry",
    advice="check the path",
)

Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]


def _listed(value: object) -> object:
    """Return one text as a list of one: both may be written."""
    return [value] if isinstance(value, str) else value


Texts = Annotated[tuple[str, ...], BeforeValidator(_listed), Field(min_length=1)]


class OpeningAsked(Frozen):
    """The opening and the room around it.

    ``size`` is one size or several to choose from, as in the catalogue; ``at_most`` instead is the
    largest opening that may be cut: smaller ones are tried, too. ``families`` are those that may be
    used, blank for all that such an opening takes. Depths count from the wall's outer face.
    """

    size: Texts | None = None
    at_most: str | None = None
    families: Texts | None = None
    panel_thickness_mm: Annotated[float, Field(ge=PANEL_MIN.value, le=PANEL_MAX.value)] = 2.0
    in_front_most_mm: Annotated[float, Field(gt=0.0, le=REACH_MOST.value)] | None = None
    behind_most_mm: Annotated[float, Field(gt=0.0, le=REACH_MOST.value)] | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        """Return the opening if its sizes can be read and its families take them."""
        if (self.size is None) == (self.at_most is None):
            raise ValueError(
                "either size (one or several to choose from) or at_most (the largest opening)"
            )
        faults = [f for text in self.sizes if (f := size_fault(text))]
        if faults:
            raise ValueError("; ".join(faults))
        unknown = [f for f in self.families or () if f not in FAMILIES]
        if unknown:
            raise ValueError(f"families from {', '.join(FAMILIES)}, not {', '.join(unknown)}")
        kinds = {is_thread(text) for text in self.sizes}
        usable = {f for kind in kinds for f in families_sized("thread" if kind else "opening")}
        if not usable & set(self.families or usable):
            raise ValueError(
                f"families that take {' or '.join(self.sizes)}: {', '.join(sorted(usable))}"
            )
        return self

    @property
    def sizes(self) -> tuple[str, ...]:
        """The sizes as written: those to choose from, or the largest."""
        return self.size or ((self.at_most,) if self.at_most else ())

    def families_for(self, size: str) -> tuple[str, ...]:
        """Return the families, in the catalogue's order, that a size may be made as."""
        fit = families_sized("thread" if is_thread(size) else "opening")
        return tuple(f for f in fit if self.families is None or f in self.families)


class CabinetAsked(Frozen):
    """Heat load and surroundings: W, degC, m, W/K, m2, W/m2.

    ``surface_m2`` is the cabinet's outer surface that a nozzle wets in turn.
    """

    heat_w: Finite
    ambient_c: Finite
    limit_c: Finite
    altitude_m: Finite = 0.0
    wall_w_k: Finite = 0.0
    sunlit_m2: Finite | None = None
    colour: str | None = None
    absorptance: Finite | None = None
    irradiance_w_m2: Finite | None = None

    def cabinet(self) -> Cabinet:
        """Return the cabinet.

        Raises
        ------
        InputError
            listing every value that makes no sense
        """
        sun = sunlit_of(self.sunlit_m2, self.colour, self.absorptance, self.irradiance_w_m2)
        return Cabinet(
            self.heat_w, self.ambient_c, self.limit_c, self.altitude_m, self.wall_w_k, sun
        )


class AirAsked(Frozen):
    """What moves the air, and what stands in its way.

    ``fan`` is one fan or the stock to choose from: names of packaged curves, or CSV files beside
    the catalogue. ``vents`` stand side by side on either side of the cabinet.
    """

    fan: Texts | None = None
    fan_position: FanPosition | None = None
    vents: Annotated[int, Field(ge=int(VENTS_MIN.value), le=int(VENTS_MAX.value))] = 1
    draught_height_m: Positive | None = None
    guard_k: Finite = 0.0
    filter_pa_s_m: Finite = 0.0
    back_pressure_pa: Finite = 0.0
    other_openings: OtherOpenings | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        """Return the air if each of its words says something beside the others."""
        if self.fan is not None and self.draught_height_m is not None:
            raise ValueError("either a fan or draught_height_m, not both")
        idle = [
            name
            for name in ("fan_position", "back_pressure_pa")
            if self.fan is None and getattr(self, name)
        ]
        if idle:
            raise ValueError(f"a fan besides: {' and '.join(idle)} say nothing without one")
        return self


class WaterAsked(Frozen):
    """The water that the vent meets, and what must be predicted of it at least."""

    exposure: str = "rain"
    at_least: Outcome = "holds"
    tilt_deg: Finite = 0.0
    roll_deg: Finite = 0.0
    surface_m2: Positive | None = None


class OrderAsked(Frozen):
    """How many, what they may cost each, and what they may be made of.

    ``print_orientation`` may name one way to print or both, blank for both.
    """

    quantity: Annotated[int, Field(ge=1, le=int(ORDER_MOST.value))] = 1000
    price_most: Positive | None = None
    material: Texts = ("ASA",)
    print_orientation: Annotated[tuple[Orientation, ...], BeforeValidator(_listed)] | None = None
    colour: str | None = None

    @model_validator(mode="after")
    def _known(self) -> Self:
        """Return the order if its materials and colour are known."""
        unknown = [m for m in self.material if m not in MATERIAL_NAMES]
        if unknown:
            raise ValueError(f"material from {', '.join(MATERIAL_NAMES)}, not {', '.join(unknown)}")
        if self.colour is not None and self.colour not in COLOUR_NAMES:
            raise ValueError(f"colour from {', '.join(COLOUR_NAMES)}, not {self.colour}")
        return self


class Requirement(Frozen):
    """What a vent must do.

    ``cells`` are cells of the catalogue, by column, that every row must have as they are. Without
    a ``cabinet`` nothing is asked of the cooling.
    """

    name: str = ""
    opening: OpeningAsked
    cabinet: CabinetAsked | None = None
    air: AirAsked = AirAsked()
    water: WaterAsked = WaterAsked()
    order: OrderAsked = OrderAsked()
    cells: Mapping[str, str | int | float] = {}

    @property
    def sizes(self) -> tuple[str, ...]:
        """The sizes as written: those to choose from, or the largest."""
        return self.opening.sizes

    def row_cells(self, family: str, size: str, material: str, fan: str | None) -> dict[str, Any]:
        """Return the cells that a requirement decides, by column; blank ones are left out."""
        air, water, order = self.air, self.water, self.order
        asked = {
            "family": family,
            "size": size,
            "status": "draft",
            "material": material,
            "colour": order.colour,
            "panel_thickness_mm": self.opening.panel_thickness_mm,
            "exposure": water.exposure,
            "mounting_tilt_deg": water.tilt_deg or None,
            "mounting_roll_deg": water.roll_deg or None,
            "cabinet_surface_m2": water.surface_m2,
            "fan": fan,
            "fan_position": air.fan_position,
            "vents_in_parallel": air.vents if fan is not None and air.vents != 1 else None,
            "other_openings": air.other_openings,
        }
        own = {n: v for n, v in self.cells.items() if family in COLUMNS[n].families}
        return {name: value for name, value in (asked | own).items() if value is not None}


DECIDED: Final = frozenset(
    {
        *("part_number", "family", "size", "status", "revision", "material", "colour"),
        *("print_orientation", "panel_thickness_mm", "exposure", "fan", "fan_position"),
        *("vents_in_parallel", "other_openings", "mounting_tilt_deg", "mounting_roll_deg"),
        *("cabinet_surface_m2", "description", "opposite_vent"),
    }
)
"""Columns that other sections decide, or that are written with the row."""


def read_requirement(path: Path) -> Requirement:
    """Return the requirement of a file.

    Raises
    ------
    InputError
        if the file cannot be read or is no TOML, or entries are missing, unknown, out of range or
        at odds with one another
    """
    return _sound(read_settings(path, Requirement, WORDING), str(path))


def requirement_of(data: Mapping[str, Any], name: str = "requirement") -> Requirement:
    """Return the requirement that plain data state; ``name`` is what messages call them.

    Raises
    ------
    InputError
        as :func:`read_requirement`

    Examples
    --------
    >>> asked = requirement_of({"opening": {"size": "160x120"}, "water": {"exposure": "splashing"}})
    >>> asked.opening.families_for("160x120"), asked.order.quantity
    (('rectangular', 'flanged'), 1000)
    >>> requirement_of({"opening": {"size": "160x120"}, "water": {"exposed": "rain"}})
    Traceback (most recent call last):
    ...
    vent_family.base.problems.InputError: requirement, entry water.exposed: there is no entry of
    this name. Did you mean exposure?
    """
    return _sound(checked_settings(dict(data), name, Requirement, WORDING), name)


def _sound(asked: Requirement, name: str) -> Requirement:
    """Return a requirement whose cells, cabinet and exposures make sense together.

    Raises
    ------
    InputError
        listing everything that does not
    """
    problems = _cell_problems(asked)
    if asked.cabinet is not None:
        try:
            cabinet = asked.cabinet.cabinet()
        except InputError as error:
            problems += [_in("cabinet", p) for p in error.problems]
        else:
            still = asked.air.fan is None and asked.air.draught_height_m is None
            if still and not cabinet.wall_w_k:
                problems.append(
                    Problem(
                        "requirement.air.none",
                        "nothing carries the heat away",
                        column="cabinet.heat_w",
                        place="entry",
                        value=f"{cabinet.heat_w:g}",
                        suggestion="give air.fan, air.draught_height_m, or what the walls pass as"
                        " cabinet.wall_w_k",
                    )
                )
    elif asked.air.draught_height_m is not None:
        problems.append(
            Problem(
                "requirement.cabinet.none",
                "a draught is driven by the heat of a cabinet, and none is stated",
                column="air.draught_height_m",
                place="entry",
                suggestion="add a section [cabinet], or leave the draught out",
            )
        )
    if asked.water.exposure == DRY and asked.water.model_fields_set & {"at_least"}:
        problems.append(
            Problem(
                "requirement.water.dry",
                "a vent that meets no water cannot be asked to hold any",
                column="water.at_least",
                place="entry",
                value=asked.water.at_least,
                suggestion="leave it out, or name the water in water.exposure",
            )
        )
    if problems:
        raise InputError([replace(p, file=name) for p in problems])
    return asked


def _cell_problems(asked: Requirement) -> list[Problem]:
    """Return what is wrong with the cells of a requirement, each sized as one of its rows."""
    problems = []
    for column in asked.cells:
        if column in DECIDED:
            problems.append(
                Problem(
                    "requirement.cell.decided",
                    "this cell is decided by another entry, or written with the row",
                    column=f"cells.{column}",
                    place="entry",
                    suggestion="leave it out here",
                )
            )
        elif column not in COLUMNS:
            problems.append(
                Problem(
                    "requirement.cell.unknown",
                    "the catalogue has no column of this name",
                    column=f"cells.{column}",
                    place="entry",
                    suggestion=_near(column),
                )
            )
    if problems:
        return problems
    taken = {f for size in asked.sizes for f in asked.opening.families_for(size)}
    for column in asked.cells:
        if not taken & set(COLUMNS[column].families):
            problems.append(
                Problem(
                    "requirement.cell.family",
                    f"no {' or '.join(sorted(taken))} vent has this column",
                    column=f"cells.{column}",
                    place="entry",
                    suggestion="leave it out, or allow another family in opening.families",
                )
            )
    fan = asked.air.fan[0] if asked.air.fan else None
    size = asked.sizes[0]
    family = next(f for f in asked.opening.families_for(size))
    cells = asked.row_cells(family, size, asked.order.material[0], fan) | dict(asked.cells)
    try:
        CatalogRow(part_number="A", **cells)
    except ValidationError as error:
        for fault in error.errors():
            column = str(fault["loc"][0])
            entry = f"cells.{column}" if column in asked.cells else _ENTRIES.get(column, column)
            problems.append(
                Problem(
                    "requirement.entry.unusable",
                    "the catalogue does not take this value",
                    column=entry,
                    place="entry",
                    value=str(fault["input"]),
                    allowed=COLUMNS[column].allowed(),
                    suggestion="correct the value",
                )
            )
    return problems


def _near(column: str) -> str:
    near = difflib.get_close_matches(column, list(COLUMNS), 1)
    return f"did you mean {near[0]}?" if near else "vent-family columns lists all columns"


_ENTRIES: Final = {
    "exposure": "water.exposure",
    "mounting_tilt_deg": "water.tilt_deg",
    "mounting_roll_deg": "water.roll_deg",
    "cabinet_surface_m2": "water.surface_m2",
    "fan": "air.fan",
}
"""Entries by the columns that they fill."""


def _in(section: str, problem: Problem) -> Problem:
    """Return a problem of a section's value as one of an entry of the file."""
    column = f"{section}.{problem.column}" if problem.column else section
    return replace(problem, column=column, place="entry")
