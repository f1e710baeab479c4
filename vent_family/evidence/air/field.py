"""Solved air fields: kept by geometry, and laid over a vent's section for drop flight.

A field is solved once per stack, direction and Reynolds number (rounded to a series of ten steps
per decade) and kept in the user's cache folder. The key is a hash of everything the solution
depends on, so an entry is never stale; damaged entries are solved again.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from vent_family.base.arrays import FloatArray
from vent_family.base.cache import ArrayCache
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air.flow2d import (
    SOLVER_VERSION,
    Direction,
    MeanFlow,
    solve_stack,
)
from vent_family.evidence.air.raster import Grid
from vent_family.evidence.air.resistance import DRAIN_K, stack_curve
from vent_family.evidence.air.state import AirState, air_at
from vent_family.spec.section import Section
from vent_family.spec.stack import Stack

RE_STEPS_PER_DECADE: Final = 10
KEPT: Final = ArrayCache("air")
_SCALARS: Final = (
    "k",
    "k_spread",
    "re",
    "mass_error",
    "unsteady",
    "speed",
    "blocks",
    "steps",
    "settled",
)


def rounded_re(re: float) -> float:
    """Return the Reynolds number a field is solved for: the series' nearest, within the range.

    Examples
    --------
    >>> round(rounded_re(333.0), 1), rounded_re(9e9) <= AIR_RE_MAX.value
    (316.2, True)
    """
    re = min(max(re, AIR_RE_MIN.value), AIR_RE_MAX.value)
    near = 10 ** (round(math.log10(re) * RE_STEPS_PER_DECADE) / RE_STEPS_PER_DECADE)
    return float(min(max(near, AIR_RE_MIN.value), AIR_RE_MAX.value))


def field_key(stack: Stack, re: float, direction: Direction, cells: int) -> str:
    """Return the hash a field is kept under: geometry, Reynolds number, direction, solver."""
    facts = {
        "stack": {k: _rounded(v) for k, v in asdict(stack).items()},
        # The name alone would give one form's field to another form of that name.
        "slat": _rounded(stack.shape.outline(stack.slat_box(0, 0.0))),
        "re": round(re, 3),
        "direction": direction,
        "cells": cells,
        "solver": SOLVER_VERSION,
    }
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()[:24]


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return round(value, 6)
    if isinstance(value, tuple):
        return [_rounded(v) for v in value]
    return value


def stack_flow(
    stack: Stack, re: float, *, direction: Direction = "in", cells: int | None = None
) -> MeanFlow:
    """Return the mean flow through a stack, from the cache or solved now.

    A cache that cannot be written is not an error.

    Parameters
    ----------
    stack
        the stack, repeated endlessly in height
    re
        passage Reynolds number; rounded by :func:`rounded_re`
    direction
        ``in`` lets the air come from outside
    cells
        nodes across a passage; what the slat form needs if left out

    Raises
    ------
    FloatingPointError
        when the grid is too coarse for the Reynolds number
    """
    re = rounded_re(re)
    cells = cells or stack.shape.solver_cells
    key = field_key(stack, re, direction, cells)
    kept = _flow(KEPT.read(key) or {})
    if kept is not None:
        return kept
    flow = solve_stack(stack, re, direction=direction, cells=cells)
    KEPT.write(key, _arrays(flow))
    return flow


def _flow(arrays: Mapping[str, NDArray[Any]]) -> MeanFlow | None:
    """Return the flow that arrays from the cache hold; ``None`` if some are missing or odd."""
    try:
        g = arrays["grid"]
        return MeanFlow(
            grid=Grid(float(g[0]), float(g[1]), float(g[2]), int(g[3]), int(g[4])),
            solid=arrays["solid"],
            u=arrays["u"].astype(float),
            v=arrays["v"].astype(float),
            pressure=arrays["pressure"].astype(float),
            **{name: arrays[name].item() for name in _SCALARS},
        )
    except (KeyError, ValueError, IndexError):
        return None


def _arrays(flow: MeanFlow) -> dict[str, NDArray[Any]]:
    """Return the arrays by which a flow is kept; fields in single precision."""
    g = flow.grid
    return {
        "grid": np.array([g.s0_mm, g.y0_mm, g.step_mm, g.ny, g.nx]),
        "solid": flow.solid,
        "u": flow.u.astype(np.float32),
        "v": flow.v.astype(np.float32),
        "pressure": flow.pressure.astype(np.float32),
        **{name: np.array(getattr(flow, name)) for name in _SCALARS},
    }


@dataclass(frozen=True, eq=False)
class RegularField:
    """Air velocities at the nodes of a regular grid over a section.

    Node (i, j) lies at z = z0_mm + i dz_mm, y = y0_mm + j dy_mm; ``w_m_s`` (along +z, outwards)
    and ``v_m_s`` (along +y) have the shape (nz, ny).
    """

    z0_mm: float
    y0_mm: float
    dz_mm: float
    dy_mm: float
    w_m_s: FloatArray
    v_m_s: FloatArray


def section_field(
    section: Section,
    face_velocity_m_s: float,
    *,
    air: AirState | None = None,
    direction: Direction = "in",
    channel_m_s: float | None = None,
    approach_mm: float = 8.0,
    cells: int | None = None,
) -> RegularField:
    """Return the solved flow of the endless stack laid over a section.

    The periodic cell is repeated over the height with the section's own phase; solids get zero.
    For the whole section with drain, floor and sill use ``flow2d.solve_section``.

    Parameters
    ----------
    section
        the section
    face_velocity_m_s
        air flow over the slatted height, m/s, above zero
    air
        the air; at 20 degrees and sea level if left out
    direction
        ``in`` lets the air come from outside
    channel_m_s
        mean velocity in the drain channel below the lowest slats, which an endless stack has not,
        m/s; the face velocity if left out
    approach_mm
        depth of free air in front of the outer plane, mm
    cells
        nodes across a passage; what the slat form needs if left out

    Raises
    ------
    ValueError
        if the face velocity is not above zero
    FloatingPointError
        when the grid is too coarse for the Reynolds number
    """
    if not face_velocity_m_s > 0:
        raise ValueError("the face velocity must be above zero")
    air = air or air_at()
    stack = section.stack
    re = face_velocity_m_s * stack.pitch_mm * 1e-3 / air.kinematic_m2_s
    flow = stack_flow(stack, re, direction=direction, cells=cells)
    h = flow.grid.step_mm
    z = np.arange(section.inner_z_mm, section.front_z_mm + approach_mm + h, h)
    y = np.arange(section.lowest_mm, section.highest_mm + h, h)
    inner, outer = section.stack_z_mm
    s = outer - z if direction == "in" else z - inner
    column = np.clip(((s - flow.grid.s0_mm) / h - 0.5).round().astype(int), 1, flow.grid.nx - 2)
    row = (((y - cell_phase_mm(section)) / h - 0.5).round().astype(int)) % flow.grid.ny
    sign = -1.0 if direction == "in" else 1.0
    w = sign * face_velocity_m_s * flow.u[np.ix_(row, column)].T
    v = face_velocity_m_s * flow.v[np.ix_(row, column)].T
    zz, yy = np.meshgrid(z, y, indexing="ij")
    channel = yy < min(section.channel_mm)
    level = face_velocity_m_s if channel_m_s is None else channel_m_s
    w = np.where(channel, sign * level, w)
    v = np.where(channel, 0.0, v)
    beyond = zz > section.front_z_mm
    # In front of the part the flow gathers from a half space; the face velocity is its mean.
    inside = shapely.contains_xy(section.air, zz, yy)
    free = inside | beyond
    w, v = np.where(free, w, 0.0), np.where(free, v, 0.0)
    return RegularField(float(z[0]), float(y[0]), h, h, w, v)


def drop_air(section: Section, face_velocity_m_s: float) -> RegularField:
    """Return the air in which drops fly, drawn in.

    The face velocity here is the flow over the cavity's whole height in the outer plane, drain
    slot included; it is split between slats and drain channel by their equal pressure drop, as in
    ``resistance``. Zero gives still air.

    Parameters
    ----------
    section
        the section
    face_velocity_m_s
        mean velocity in the outer plane, m/s; drawn in where positive, blown out where negative

    Raises
    ------
    FloatingPointError
        when the flow solver's grid is too coarse for the Reynolds number
    """
    slatted = section.ceiling_mm - section.channel_mean_mm
    slot = section.drain_mm[1] - section.drain_mm[0]
    flow = abs(face_velocity_m_s) * section.front_height_mm
    if flow == 0:
        still = np.zeros((1, 1))
        return RegularField(section.inner_z_mm, section.brink[1], 1.0, 1.0, still, still)
    curve = stack_curve(section.stack, math.inf, calibrated=True)
    share, nu = 1.0, air_at().kinematic_m2_s
    for _ in range(20):
        re = share * flow / slatted * section.stack.pitch_mm * 1e-3 / nu
        k = float(curve.k(np.array([re]))[0])
        share = 1.0 / (1.0 + slot / slatted * math.sqrt(k / DRAIN_K))
    return section_field(
        section,
        share * flow / slatted,
        direction="in" if face_velocity_m_s > 0 else "out",
        channel_m_s=(1.0 - share) * flow / slot,
    )


def cell_phase_mm(section: Section) -> float:
    """Return the height (mm) in the section of the bottom of a periodic cell."""
    stack = section.stack
    whole = next(s for s in section.slats if s.whole)
    ys = [y for _, y in whole.outline]
    centre = (min(ys) + max(ys)) / 2
    return centre - stack.offsets_mm[whole.bank] - 0.5 * stack.pitch_mm
