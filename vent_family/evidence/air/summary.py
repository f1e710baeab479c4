"""The air side of one vent as plain numbers, for records, attributes and tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.limits import HALF_BLOCKED
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.state import AirState, air_at
from vent_family.spec.areas import OpenArea, VentAreas
from vent_family.spec.vent import VentSpec

PRESSURES_PA: Final = (10.0, 25.0, 50.0)
RATED_PA: Final = 25.0
"""Pressure drop K, discharge coefficient and shares are stated for."""
TEMPERATURE_C: Final = 20.0
"""Air the table is stated for, at sea level (ISA pressure)."""


@dataclass(frozen=True, slots=True)
class FlowPoint:
    """Flow at one pressure drop, drawing in and blowing out; ``in_range`` covers both.

    ``low`` and ``high`` are with the greatest and the least K, ``half_clogged`` is with half of the
    clear areas closed (guard and filter where there are any, else slats and drain).
    """

    pressure_pa: float
    flow_in_m3_h: float
    flow_in_low_m3_h: float
    flow_in_high_m3_h: float
    flow_in_half_clogged_m3_h: float
    flow_out_m3_h: float
    flow_out_low_m3_h: float
    flow_out_high_m3_h: float
    gap_velocity_m_s: float
    reynolds: float
    in_range: bool


@dataclass(frozen=True, slots=True)
class AirSummary:
    """Resistance of a vent at the rated pressure, and its flow table.

    ``k_in``, ``k_out`` and their ends ``k_in_low``, ``k_in_high``, ``k_out_low`` and ``k_out_high``
    are in velocity heads in the panel opening of ``opening_mm2``, ``discharge_in`` and
    ``discharge_out`` shares of what an ideal nozzle of that area passes; ``shares`` gives each
    loss term's part of the pressure drop when drawing in; ``corrected`` tells whether the flow
    solver ever saw slats of this form.
    """

    opening_mm2: float
    smallest: OpenArea
    k_in: float
    k_in_low: float
    k_in_high: float
    k_out: float
    k_out_low: float
    k_out_high: float
    discharge_in: float
    discharge_out: float
    drain_share: float
    shares: dict[str, float]
    flows: tuple[FlowPoint, ...]
    density_kg_m3: float
    corrected: bool


def summarise(spec: VentSpec, areas: VentAreas | None = None) -> AirSummary:
    """Return the air summary of a resolved vent; ``areas`` are its own, where known already.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> text = "part_number,family,size,status\\nV-60,rectangular,60x60,released\\n"
    >>> (vent,) = ResolvedRows(parse_catalog(text)).specs()
    >>> round(summarise(vent).k_in, 1), [round(f.flow_in_m3_h, 1) for f in summarise(vent).flows]
    (37.6, [8.6, 13.6, 19.4])
    """
    return summary_of(vent_air(spec, areas=areas))


def summary_of(vent: VentAir, air: AirState | None = None) -> AirSummary:
    """Return the air summary of a vent in the standard air or another."""
    air = air or air_at(TEMPERATURE_C)
    pressures = np.array([*PRESSURES_PA, RATED_PA])
    drawn, blown = vent.flow(pressures, air, "in"), vent.flow(pressures, air, "out")
    drawn_ends, blown_ends = vent.ends(pressures, air, "in"), vent.ends(pressures, air, "out")
    clogged = vent.blocked(HALF_BLOCKED.value).flow(pressures, air, "in")
    flows = tuple(
        FlowPoint(
            pressure_pa=float(p),
            flow_in_m3_h=float(drawn.flow_m3_s[i] * 3600),
            flow_in_low_m3_h=float(drawn_ends[0].flow_m3_s[i] * 3600),
            flow_in_high_m3_h=float(drawn_ends[1].flow_m3_s[i] * 3600),
            flow_in_half_clogged_m3_h=float(clogged.flow_m3_s[i] * 3600),
            flow_out_m3_h=float(blown.flow_m3_s[i] * 3600),
            flow_out_low_m3_h=float(blown_ends[0].flow_m3_s[i] * 3600),
            flow_out_high_m3_h=float(blown_ends[1].flow_m3_s[i] * 3600),
            gap_velocity_m_s=float(drawn.gap_m_s[i]),
            reynolds=float(drawn.re[i]),
            in_range=bool(drawn.in_range[i] and blown.in_range[i]),
        )
        for i, p in enumerate(PRESSURES_PA)
    )
    return AirSummary(
        opening_mm2=vent.opening_mm2,
        smallest=vent.smallest,
        k_in=float(drawn.k[-1]),
        k_in_low=float(drawn_ends[1].k[-1]),
        k_in_high=float(drawn_ends[0].k[-1]),
        k_out=float(blown.k[-1]),
        k_out_low=float(blown_ends[1].k[-1]),
        k_out_high=float(blown_ends[0].k[-1]),
        discharge_in=float(drawn.discharge_coefficient[-1]),
        discharge_out=float(blown.discharge_coefficient[-1]),
        drain_share=float(drawn.drain_share[-1]),
        shares={n: float(t[-1] / drawn.drop_pa[-1]) for n, t in drawn.terms_pa.items()},
        flows=flows,
        density_kg_m3=air.density_kg_m3,
        corrected=vent.stack.shape.air_table is not None,
    )
