"""The shop's rates, read from one small TOML table that anybody may edit."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model

from vent_family.base.materials import MATERIALS
from vent_family.base.problems import InputError, Problem

CATALOGUE_NAME: Final = "vent-family catalogue"
ORGANISATION: Final = "hatchery vent shop (demo)"
"""Author and organisation in the headers of released files."""

Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0.0, lt=1.0)]
Count = Annotated[int, Field(ge=1)]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Process(_Table):
    """Speeds (mm/s), acceleration (mm/s2) and fixed times (s) of the machine."""

    outer_wall_mm_s: Positive
    inner_wall_mm_s: Positive
    infill_mm_s: Positive
    travel_mm_s: Positive
    acceleration_mm_s2: Positive
    wall_count: Count
    layer_change_s: NotNegative
    layer_min_s: NotNegative
    move_overhead_s: NotNegative
    plate_start_s: NotNegative


class Machine(_Table):
    """Bed (mm), cost of a machine hour, number of machines and hours a day."""

    bed_x_mm: Positive
    bed_y_mm: Positive
    bed_z_mm: Positive
    part_gap_mm: NotNegative
    hour_rate: Positive
    machines: Count
    hours_per_day: Annotated[float, Field(gt=0.0, le=24.0)]


class _MaterialRates(_Table):
    """Bulk discount, and waste as a share of the part's mass."""

    bulk_from_parts: Count
    bulk_discount: Share
    waste: Share

    def per_kg(self, material: str, order_parts: int = 1) -> float:
        """Return the price per kg in an order of so many parts."""
        price = float(getattr(self, material))
        return price * (1.0 - self.bulk_discount) if order_parts >= self.bulk_from_parts else price


if TYPE_CHECKING:
    MaterialPrices = _MaterialRates
else:
    MaterialPrices = create_model(
        "MaterialPrices",
        __base__=_MaterialRates,
        __doc__="Price per kg of each printing material, bulk discount and waste.",
        **dict.fromkeys(MATERIALS, (Positive, ...)),
    )


class Labour(_Table):
    """Labour rate per hour, minutes per plate, part and order, and the share of scrap."""

    hour_rate: Positive
    plate_min: NotNegative
    part_min: NotNegative
    order_min: NotNegative
    scrap: Share


class Price(_Table):
    """Margin on cost, 0.25 for a quarter on top."""

    margin: NotNegative


class Mould(_Table):
    """Injection moulding: tool, money per piece besides resin, resin per kg, setup per order."""

    tool: Positive
    piece_excess: Positive
    resin_per_kg: Positive
    shots_setup: NotNegative


class CutStack(_Table):
    """Cut plates stacked by hand: sheet per m2, cut per m, minutes per plate, glue per part."""

    sheet_per_m2: Positive
    cut_per_m: Positive
    assembly_min_per_plate: Positive
    glue_and_spacers: NotNegative


class Shop(_Table):
    """All rates of a shop."""

    currency: str
    process: Process
    machine: Machine
    material: MaterialPrices
    labour: Labour
    price: Price
    mould: Mould
    cut_stack: CutStack


@lru_cache(maxsize=1)
def demo_shop() -> Shop:
    """Return the rates that come with the package; every value is invented.

    Raises
    ------
    InputError
        if the file that comes with the package was damaged
    """
    text = files("vent_family.base").joinpath("shop.toml").read_text(encoding="utf-8")
    return _parsed(text, "shop.toml")


def read_shop(path: Path) -> Shop:
    """Return the rates of a file.

    Raises
    ------
    InputError
        if the file cannot be read, is no TOML, or a value is missing, unknown or out of range;
        all faults at once
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise InputError(
            [
                Problem(
                    f"the table of rates cannot be read: {reason}",
                    file=str(path),
                    suggestion="check the path, or leave out --shop for the demo rates",
                )
            ]
        ) from error
    return _parsed(text, str(path))


def _parsed(text: str, name: str) -> Shop:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            [
                Problem(
                    f"the table of rates is not valid TOML: {error}",
                    file=name,
                    suggestion="correct the line named, decimals with a point",
                )
            ]
        ) from error
    try:
        return Shop.model_validate(data)
    except ValidationError as error:
        raise InputError([_problem(fault, name) for fault in error.errors()]) from error


def _problem(fault: object, name: str) -> Problem:
    details = dict(fault)  # type: ignore[call-overload]
    kind, place = details["type"], ".".join(str(p) for p in details["loc"])
    if kind == "missing":
        return Problem("a rate is missing", file=name, column=place, suggestion="add it")
    if kind == "extra_forbidden":
        return Problem(
            "there is no rate of this name",
            file=name,
            column=place,
            suggestion="correct its spelling or delete it",
        )
    return Problem(
        "a rate is not usable",
        file=name,
        column=place,
        value=str(details.get("input")),
        allowed=str(details["msg"]).removeprefix("Input should be ").lower(),
        suggestion="correct the value",
    )
