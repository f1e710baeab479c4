"""Fan curves: interpolated without overshoot, brought to another density, joined together."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from scipy.interpolate import PchipInterpolator

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import FAN_TEST_DENSITY_KG_M3
from vent_family.base.limits import FANS_MAX, STALL_SHARE
from vent_family.base.problems import InputError, Problem


@dataclass(frozen=True)
class FanCurve:
    """Static pressure over flow of a fan or a group of fans.

    ``flow_m3_s`` rises strictly from 0 to the free flow, where ``pressure_pa`` is 0;
    ``density_kg_m3`` is the density the pressures belong to, ``frame_mm`` the side of the fan's
    square frame, ``None`` where it is not known.
    """

    name: str
    flow_m3_s: tuple[float, ...]
    pressure_pa: tuple[float, ...]
    density_kg_m3: float = FAN_TEST_DENSITY_KG_M3
    frame_mm: float | None = None

    def pressure(self, flow_m3_s: FloatArray | float) -> FloatArray:
        """Return the static pressure (Pa) at a flow; negative beyond the free flow.

        Between points by monotone cubics (Fritsch & Carlson 1980, through scipy), so no bump
        appears that the points do not have; beyond the free flow along the end slope.
        """
        q = np.asarray(flow_m3_s, dtype=float)
        last = self.flow_m3_s[-1]
        curve, slope = _through(self.flow_m3_s, self.pressure_pa)
        return np.where(q <= last, curve(np.clip(q, 0, last)), slope * (q - last))

    @property
    def free_flow_m3_s(self) -> float:
        """Flow at zero pressure."""
        return self.flow_m3_s[-1]

    @property
    def shut_off_pa(self) -> float:
        """Pressure at zero flow."""
        return self.pressure_pa[0]

    @cached_property
    def stall_m3_s(self) -> float | None:
        """Flow up to which the fan may stall: the last hump or the saddle of the curve.

        None if the pressure falls all the way. In that region one pressure belongs to several
        flows and the fan may hunt between them.
        """
        p = np.asarray(self.pressure_pa)
        rises = np.nonzero(np.diff(p) > STALL_SHARE.value * p.max())[0]
        if not len(rises):
            return None
        top = int(rises[-1]) + 1
        while top + 1 < len(p) and p[top + 1] >= p[top]:
            top += 1
        return self.flow_m3_s[top]

    def at_density(self, density_kg_m3: float) -> FanCurve:
        """Return the curve at another density (kg/m3): pressure grows with it, volume flow stays.

        Examples
        --------
        >>> fan = FanCurve("hall", (0.0, 0.01, 0.02), (48.0, 30.0, 0.0), density_kg_m3=1.2)
        >>> fan.at_density(0.9).shut_off_pa
        36.0
        """
        factor = density_kg_m3 / self.density_kg_m3
        pressures = tuple(p * factor for p in self.pressure_pa)
        return replace(self, pressure_pa=pressures, density_kg_m3=density_kg_m3)

    def stronger(self, factor: float) -> FanCurve:
        """Return the curve of a fan with ``factor`` (1) times the pressure, and as much faster.

        By the fan laws flow goes with speed, pressure with its square.

        Examples
        --------
        >>> weak = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0)).stronger(0.81)
        >>> round(weak.shut_off_pa, 3), round(weak.free_flow_m3_s, 4)
        (40.5, 0.018)
        """
        flows = tuple(q * math.sqrt(factor) for q in self.flow_m3_s)
        pressures = tuple(p * factor for p in self.pressure_pa)
        return replace(self, flow_m3_s=flows, pressure_pa=pressures)


@lru_cache(maxsize=256)
def _through(
    flow_m3_s: tuple[float, ...], pressure_pa: tuple[float, ...]
) -> tuple[PchipInterpolator, float]:
    """Return the curve through points, and its slope beyond the last one, Pa s/m3.

    A search asks the same fan in the same air for every one of its rows.
    """
    curve = PchipInterpolator(flow_m3_s, pressure_pa)
    return curve, min(float(curve(flow_m3_s[-1], 1)), -1e-6)


def in_parallel(fan: FanCurve, count: int) -> FanCurve:
    """Return equal fans side by side: flows add at the same pressure.

    Raises
    ------
    InputError
        for no fan, or more than the model is offered for

    Examples
    --------
    >>> fan = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0))
    >>> in_parallel(fan, 2).flow_m3_s, in_parallel(fan, 2).shut_off_pa
    ((0.0, 0.02, 0.04), 50.0)
    """
    _whole(count)
    flows = tuple(q * count for q in fan.flow_m3_s)
    return replace(fan, name=_times(fan, count, "side by side"), flow_m3_s=flows)


def in_series(fan: FanCurve, count: int) -> FanCurve:
    """Return equal fans one behind the other: pressures add at the same flow.

    Raises
    ------
    InputError
        for no fan, or more than the model is offered for

    Examples
    --------
    >>> fan = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0))
    >>> in_series(fan, 2).pressure_pa, in_series(fan, 2).name
    ((100.0, 60.0, 0.0), '2 x hall, one behind the other')
    """
    _whole(count)
    pressures = tuple(p * count for p in fan.pressure_pa)
    return replace(fan, name=_times(fan, count, "one behind the other"), pressure_pa=pressures)


def _times(fan: FanCurve, count: int, how: str) -> str:
    return fan.name if count == 1 else f"{count} x {fan.name}, {how}"


def _whole(count: int) -> None:
    if not 1 <= count <= FANS_MAX.value:
        few = count < 1
        raise InputError(
            [
                Problem(
                    "air.fans.count",
                    "there must be at least one fan" if few else "there are too many fans",
                    column="fans",
                    value=str(count),
                    allowed=f"1 to {FANS_MAX.value:g}",
                    suggestion="give the number of fans",
                )
            ]
        )
