"""Loss of an insect screen of woven round wire, and of one with half of it clogged.

Idelchik, Handbook of Hydraulic Resistance, diagram 8-6 (from memory): on the velocity before the
screen, with the open share f,

    zeta = 1.3 (1 - f) + (1 / f - 1)^2        from Re = 1000 on

with Re of the velocity in the openings and the wire; below that it is multiplied by a table, which
ends at Re 50. Brundrett 1993, J. Fluids Eng. 115:239 (from memory), fits screens down to creeping
flow:

    zeta = (7.125 / Re' + 0.88 / log10(Re' + 1.25) + 0.055 log10(Re')) (1 - f^2) / f^2

with Re' of the velocity before the screen. The larger of both counts: at Re of 20 to 100 they are
some 10 to 20 % apart for usual meshes. How far off such formulas are is the limit ``SCREEN_ERROR``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.air.state import AirState
from vent_family.spec.screen import Mesh

_RE: Final = (50.0, 100.0, 150.0, 200.0, 300.0, 400.0, 1000.0)
_FACTOR: Final = (1.44, 1.24, 1.13, 1.08, 1.03, 1.01, 1.0)
"""What zeta is multiplied by at these Reynolds numbers; diagram 8-6, from memory."""
_LEAST: Final = 1e-3
"""Below this Reynolds number the fit's logarithms are not asked; no vent breathes so gently."""


def screen_k(open_share: float, re: FloatArray) -> FloatArray:
    """Return the loss coefficient on the velocity before a screen (1).

    Parameters
    ----------
    open_share
        Open area over all of the screen's, 1.
    re
        Reynolds number of the velocity in the openings and the wire, 1.

    Examples
    --------
    >>> screen_k(0.64, np.array([10.0, 100.0, 5000.0])).round(2)
    array([3.1 , 1.  , 0.78])
    """
    f = open_share
    fast = (1.3 * (1.0 - f) + (1.0 / f - 1.0) ** 2) * np.interp(re, _RE, _FACTOR)
    before = np.maximum(re * f, _LEAST)
    bracket = 7.125 / before + 0.88 / np.log10(before + 1.25) + 0.055 * np.log10(before)
    return np.asarray(np.maximum(fast, bracket * (1.0 - f * f) / (f * f)))


@dataclass(frozen=True, slots=True)
class ScreenLoss:
    """A mesh over a window of ``window_mm2``; ``factor`` multiplies its loss (1)."""

    mesh: Mesh
    window_mm2: float
    factor: float = 1.0

    def reynolds(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return the Reynolds number of the wire (1) at volume flows (m3/s)."""
        through = flow_m3_s / (self.window_mm2 * 1e-6 * self.mesh.open_share)
        return np.asarray(through * self.mesh.wire_mm * 1e-3 / air.kinematic_m2_s)

    def drop_pa(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return the pressure drop, Pa, at volume flows, m3/s."""
        before = flow_m3_s / (self.window_mm2 * 1e-6)
        k = screen_k(self.mesh.open_share, self.reynolds(flow_m3_s, air))
        return np.asarray(0.5 * air.density_kg_m3 * before**2 * k * self.factor)

    def blocked(self, share: float) -> ScreenLoss:
        """Return the screen with a ``share`` (1) of it closed in patches."""
        return replace(self, window_mm2=self.window_mm2 * (1.0 - share))

    def scaled(self, factor: float) -> ScreenLoss:
        """Return the screen with its loss multiplied by a ``factor`` (1)."""
        return replace(self, factor=self.factor * factor)
