"""A contract moulder's rates: what tools, machines and resins cost; a table of ``shop.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field, ValidationInfo, field_validator

from vent_family.base.by_material import ByMaterial, with_materials
from vent_family.base.frozen import Frozen

_Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
_NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
_Share = Annotated[float, Field(ge=0.0, lt=1.0)]


class ToolRates(Frozen):
    """What a tool costs: steel by mass, work by the hour, and how many shots it lasts.

    ``border_mm`` is the steel around a cavity, ``plates_mm`` the height of all plates besides the
    cavity's depth. ``slide_h``, ``lifter_h`` and ``unscrewing_h`` are the hours that one of each
    adds, ``life_shots`` the shots after which the tool is bought again.
    """

    hour_rate: _Positive
    fixed: _NotNegative
    steel_per_kg: _Positive
    border_mm: _Positive
    plates_mm: _Positive
    slide_h: _NotNegative
    lifter_h: _NotNegative
    unscrewing_h: _NotNegative
    life_shots: Annotated[int, Field(ge=1)]


class PressRates(Frozen):
    """What a moulding machine costs and how long it takes besides cooling.

    An hour costs ``hour_fixed`` and ``hour_per_kn`` for each kN of its clamp, at least
    ``clamp_min_kn``. ``cavity_mpa`` is the pressure it holds shut against. ``handling_s`` is the
    time to close, fill, open and eject; every slide adds ``slide_s``, a core that unscrews
    ``unscrewing_s``.
    """

    hour_fixed: _Positive
    hour_per_kn: _NotNegative
    clamp_min_kn: _Positive
    cavity_mpa: _Positive
    handling_s: _NotNegative
    slide_s: _NotNegative
    unscrewing_s: _NotNegative


class Resin(Frozen):
    """Resin of a material: price per kg, temperatures (deg C), thermal diffusivity (mm2/s).

    A wall is filled at ``melt_deg_c``, cools towards ``mould_deg_c`` and is stiff enough to be
    ejected when its mean is ``eject_deg_c``.
    """

    per_kg: _Positive
    melt_deg_c: Annotated[float, Field(ge=100.0, le=450.0)]
    eject_deg_c: Annotated[float, Field(ge=20.0, le=400.0)]
    mould_deg_c: Annotated[float, Field(ge=0.0, le=200.0)]
    diffusivity_mm2_s: Annotated[float, Field(ge=0.01, le=1.0)]

    @field_validator("eject_deg_c")
    @classmethod
    def _below_the_melt(cls, value: float, info: ValidationInfo) -> float:
        """Return the temperature of ejection if the melt is hotter."""
        return _below(value, info, "melt_deg_c")

    @field_validator("mould_deg_c")
    @classmethod
    def _below_ejection(cls, value: float, info: ValidationInfo) -> float:
        """Return the mould's temperature if the ejected piece is hotter."""
        return _below(value, info, "eject_deg_c")


def _below(value: float, info: ValidationInfo, other: str) -> float:
    """Return a value that is below another one of the table.

    Raises
    ------
    ValueError
        if it is not; where the other value is itself not usable nothing is said
    """
    if other in info.data and value >= info.data[other]:
        raise ValueError(f"below the {other} of {info.data[other]:g}")
    return value


if TYPE_CHECKING:
    Resins = ByMaterial[Resin]
else:
    Resins = with_materials(ByMaterial, __name__, "Resins", Resin)


class Mould(Frozen):
    """Injection moulding by a contract moulder.

    ``nominal_wall_mm`` is the wall to which thicker ones are cored, ``ring_mm`` the width of the
    ring that holds a bank of slats together. ``runner_waste`` is a share of the resin, ``scrap`` a
    share of the pieces, ``setup`` money per tool and order, ``joint_min`` minutes of work per
    piece that is put in and fastened.
    """

    nominal_wall_mm: _Positive
    ring_mm: _Positive
    runner_waste: _NotNegative
    scrap: _Share
    setup: _NotNegative
    joint_min: _NotNegative
    tool: ToolRates
    press: PressRates
    resin: Resins
