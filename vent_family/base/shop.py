"""The shop's settings and rates, read from one small TOML table that anybody may edit."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from pydantic import Field, ValidationInfo, field_validator

from vent_family.base.by_material import ByMaterial, with_materials
from vent_family.base.frozen import Frozen
from vent_family.base.limits import (
    LAYER_HEIGHT,
    LAYER_HEIGHT_THREAD,
    LINE_WIDTH,
    NOZZLE,
    Limit,
)
from vent_family.base.mould import Mould
from vent_family.base.problems import Problem
from vent_family.base.shrinkage import Shrinkages
from vent_family.base.tables import Said, Wording, parsed_settings, read_settings

CATALOGUE_NAME: Final = "vent-family catalogue"
ORGANISATION: Final = "hatchery vent shop (demo)"
"""Author and organisation in the headers of released files."""

_WORDING: Final = Wording(
    unread=Said("shop.file.unread", "the table of rates cannot be read"),
    syntax=Said("shop.file.syntax", "the table of rates is not valid TOML"),
    missing=Said("shop.entry.missing", "{one} is missing"),
    unknown=Said("shop.entry.unknown", "there is no {what} of this name"),
    unusable=Said("shop.entry.unusable", "{one} is not usable"),
    entry="rate",
    advice="check the path, or leave out --shop for the demo rates",
)

Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0.0, lt=1.0)]
Count = Annotated[int, Field(ge=1)]


_MARGIN_MAX: Final = 3.0
"""Largest margin, a share of the cost: more is a percentage put in by mistake; own rule."""
_LINE_SHARES: Final = (0.75, 2.0)
_LAYER_SHARES: Final = (0.0, 0.8)
"""Least and largest line width and layer height, of the nozzle's bore: common practice."""


class Process(Frozen):
    """Speeds (mm/s), acceleration (mm/s2) and fixed times (s) of the machine."""

    outer_wall_mm_s: Positive
    inner_wall_mm_s: Positive
    infill_mm_s: Positive
    travel_mm_s: Positive
    acceleration_mm_s2: Positive
    layer_change_s: NotNegative
    layer_min_s: NotNegative
    move_overhead_s: NotNegative
    plate_start_s: NotNegative


class SlicerSettings(Frozen):
    """How the slicer is set: nozzle, lines, layers (mm), walls, skins and infill.

    ``infill_share`` is how much of a core is filled, 1 for solid; a core is what lies farther from
    the outline than the walls reach and farther from top and bottom than the skins do. Pieces of
    core smaller than ``core_min_mm2`` are filled solid.
    """

    nozzle_mm: Annotated[float, Field(ge=0.1, le=2.0)]
    line_width_mm: Annotated[float, Field(ge=0.1, le=3.0)]
    layer_mm: Annotated[float, Field(ge=0.04, le=1.5)]
    thread_layer_mm: Annotated[float, Field(ge=0.04, le=1.5)]
    wall_count: Annotated[int, Field(ge=1, le=50)]
    infill_share: Annotated[float, Field(ge=0.05, le=1.0)]
    top_layers: Annotated[int, Field(ge=1, le=100)]
    bottom_layers: Annotated[int, Field(ge=1, le=100)]
    core_min_mm2: Annotated[float, Field(ge=0.0, le=1000.0)]
    filament_mm: Annotated[float, Field(ge=1.0, le=3.5)]

    @field_validator("line_width_mm")
    @classmethod
    def _laid_by_the_nozzle(cls, value: float, info: ValidationInfo) -> float:
        """Return the width of a line if the nozzle can lay it, from 0.75 to 2 of its bore."""
        return _within(value, info, "nozzle_mm", _LINE_SHARES)

    @field_validator("layer_mm")
    @classmethod
    def _pressed_by_the_nozzle(cls, value: float, info: ValidationInfo) -> float:
        """Return the height of a layer if the nozzle still presses it down, 0.8 of its bore."""
        return _within(value, info, "nozzle_mm", _LAYER_SHARES)

    @field_validator("thread_layer_mm")
    @classmethod
    def _no_higher_than_others(cls, value: float, info: ValidationInfo) -> float:
        """Return the height of the layers over a thread if they are no higher than the others."""
        return _within(value, info, "layer_mm", (0.0, 1.0))

    @property
    def shell_mm(self) -> float:
        """Thickness of all walls side by side, mm."""
        return self.wall_count * self.line_width_mm

    @property
    def sparse(self) -> bool:
        """True if cores are not filled solid."""
        return self.infill_share < 1.0

    def beyond_design(self) -> list[tuple[str, float, Limit]]:
        """Return the settings coarser than the parts are designed for: name, mm, and the limit."""
        pairs = [
            ("nozzle_mm", self.nozzle_mm, NOZZLE),
            ("line_width_mm", self.line_width_mm, LINE_WIDTH),
            ("layer_mm", self.layer_mm, LAYER_HEIGHT),
            ("thread_layer_mm", self.thread_layer_mm, LAYER_HEIGHT_THREAD),
        ]
        return [(name, value, limit) for name, value, limit in pairs if value > limit.value]


def _within(value: float, info: ValidationInfo, base: str, shares: tuple[float, float]) -> float:
    """Return a value that lies within shares of another one of the table.

    Raises
    ------
    ValueError
        if it does not; where the other value is itself not usable nothing is said
    """
    if base not in info.data:
        return value
    low, high = (share * info.data[base] for share in shares)
    if not low <= value <= high * (1.0 + 1e-9):
        words = f"from {low:g} to {high:g} mm" if low else f"at most {high:g} mm"
        raise ValueError(f"{words} with a {base} of {info.data[base]:g}")
    return value


class Temperature(Frozen):
    """Nozzle, bed and, where it is heated, chamber, degrees Celsius."""

    nozzle_deg_c: Annotated[float, Field(ge=150.0, le=450.0)]
    bed_deg_c: Annotated[float, Field(ge=0.0, le=200.0)]
    chamber_deg_c: Annotated[float, Field(ge=0.0, le=150.0)] | None = None

    def text(self) -> str:
        """Return the temperatures in words."""
        words = f"nozzle {self.nozzle_deg_c:g} degC, bed {self.bed_deg_c:g} degC"
        if self.chamber_deg_c is not None:
            words += f", chamber {self.chamber_deg_c:g} degC"
        return words


if TYPE_CHECKING:
    Temperatures = ByMaterial[Temperature]
else:
    Temperatures = with_materials(ByMaterial, __name__, "Temperatures", Temperature)


class Machine(Frozen):
    """Bed (mm), cost of a machine hour, number of machines, hours a day with somebody there (h)."""

    bed_x_mm: Positive
    bed_y_mm: Positive
    bed_z_mm: Positive
    part_gap_mm: NotNegative
    hour_rate: Positive
    failures_per_h: Annotated[float, Field(ge=0.0, le=0.1)]
    machines: Count
    attended_h_per_day: Annotated[float, Field(gt=0.0, le=24.0)]


class _MaterialRates(ByMaterial[float]):
    """Bulk discount, and waste as a share of the part's mass."""

    bulk_from_parts: Count
    bulk_discount: Share
    waste: Share

    def per_kg(self, material: str, order_parts: int = 1) -> float:
        """Return the price per kg in an order of so many parts."""
        price = self.of(material)
        return price * (1.0 - self.bulk_discount) if order_parts >= self.bulk_from_parts else price


if TYPE_CHECKING:
    MaterialPrices = _MaterialRates
else:
    MaterialPrices = with_materials(_MaterialRates, __name__, "MaterialPrices", Positive)


class Labour(Frozen):
    """Labour rate per hour, minutes per plate, part and order, the share that does not pass.

    ``unattended_share`` of the plates of parts that a machine can push off are cleared without a
    hand; ``plate_min_unattended`` is the work on such a plate.
    """

    hour_rate: Positive
    plate_min: NotNegative
    plate_min_unattended: NotNegative
    unattended_share: Annotated[float, Field(ge=0.0, le=1.0)]
    part_min: NotNegative
    order_min: NotNegative
    scrap_base: Share


class Price(Frozen):
    """Margin on cost, 0.25 for a quarter on top."""

    margin: NotNegative

    @field_validator("margin")
    @classmethod
    def _a_share(cls, value: float) -> float:
        """Return the margin if it can be one: 25 stands for 2500 %."""
        if value > _MARGIN_MAX:
            raise ValueError(
                f"0 to {_MARGIN_MAX:g}, a share of the cost: 0.25 for a quarter on top"
            )
        return value


class CutStack(Frozen):
    """Cut plates stacked by hand: sheet per m2, cut per m, minutes per plate, glue per part."""

    sheet_per_m2: Positive
    cut_per_m: Positive
    assembly_min_per_plate: Positive
    glue_and_spacers: NotNegative


class Shop(Frozen):
    """All rates of a shop."""

    currency: str
    printing: SlicerSettings
    temperature: Temperatures
    shrinkage: Shrinkages
    compensate_meshes: bool
    process: Process
    machine: Machine
    material: MaterialPrices
    labour: Labour
    price: Price
    mould: Mould
    cut_stack: CutStack

    @field_validator("currency")
    @classmethod
    def _named(cls, value: str) -> str:
        """Return the currency's name without spaces around it, if there is one."""
        if not value.strip():
            raise ValueError("a name, such as USD")
        return value.strip()


@lru_cache(maxsize=1)
def demo_shop() -> Shop:
    """Return the rates that come with the package; every value is invented.

    Raises
    ------
    InputError
        if the file that comes with the package was damaged
    """
    text = files("vent_family.base").joinpath("shop.toml").read_text(encoding="utf-8")
    return parsed_settings(text, "shop.toml", Shop, _WORDING)


def read_shop(path: Path) -> Shop:
    """Return the rates of a file.

    Raises
    ------
    InputError
        if the file cannot be read, is no TOML, or a value is missing, unknown or out of range;
        all faults at once
    """
    return read_settings(path, Shop, _WORDING)


def design_problems(shop: Shop, name: str) -> list[Problem]:
    """Return which settings of a shop are coarser than the parts are designed for.

    Parameters
    ----------
    shop
        the shop
    name
        what its table is called: the path of its file

    Examples
    --------
    >>> shop = demo_shop()
    >>> design_problems(shop, "own.toml")
    []
    >>> high = shop.printing.model_copy(update={"layer_mm": 0.3})
    >>> [fault] = design_problems(shop.model_copy(update={"printing": high}), "own.toml")
    >>> fault.sentence()
    "own.toml, entry printing.layer_mm: coarser than the parts are designed for (value '0.3').
    Allowed: at most 0.2 mm. Set the slicer finer, or do not print these parts with it."
    """
    return [
        Problem(
            "shop.setting.coarse",
            "coarser than the parts are designed for",
            file=name,
            column=f"printing.{setting}",
            place="entry",
            value=f"{value:g}",
            allowed=f"at most {limit.value:g} {limit.unit}",
            suggestion="set the slicer finer, or do not print these parts with it",
        )
        for setting, value, limit in shop.printing.beyond_design()
    ]
