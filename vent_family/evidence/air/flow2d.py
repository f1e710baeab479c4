"""Mean flow through a slat stack, periodic in height, or through a whole section.

Lengths in mm and velocities in multiples of the face velocity (flow over the full height of the
cell), so one solution serves every air speed with the same Reynolds number. The Reynolds number
is ``Re = u w / nu`` with the clear width ``w`` of the passage between two slats and the mean
velocity ``u`` in it. In two dimensions and above Re of some hundred the wakes shed regular
vortices; a real flow is three-dimensional there, so the mean is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from shapely.geometry import Polygon, box

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air.lattice import Lattice, Means
from vent_family.evidence.air.raster import Grid, Raster, Ring, rasterise
from vent_family.spec.section import Section
from vent_family.spec.stack import Stack

Direction = Literal["in", "out"]

SOLVER_VERSION: Final = 3
"""Raised when a change of the solver changes its answers, so that old cached fields die."""
PASSAGE_SPEED: Final = 0.06
"""Mean passage velocity in lattice units: Mach 0.1, and 0.2 in the jets."""
DISCARDED: Final = 2
"""Averaging blocks run before the first that counts."""
SLOWER_TRIES: Final = 3
"""How often an unstable flow is tried again at 0.6 of the speed."""
CELLS: Final = 12
"""Default nodes across a passage."""
UPSTREAM: Final = 1.0
DOWNSTREAM: Final = 2.0
SPONGE: Final = 1.0
"""Lengths before and behind the stack and of the damping zone at the outlet, in pitches."""
BLOCK: Final = 4.0
"""Length of one averaging block, in times the air needs through the stack."""
SPONGE_GAIN: Final = 0.15
"""Viscosity added at the outlet, lattice units."""


@dataclass(frozen=True)
class MeanFlow:
    """Time-mean flow on a grid.

    Velocities ``u`` (along the flow) and ``v`` (upwards) are in multiples of the face velocity,
    ``pressure`` in velocity heads of it, all (ny, nx), zero inside solids. ``k`` is the pressure
    loss over the stack in face velocity heads, ``k_spread`` the half range of its last block means,
    in the same unit, ``mass_error`` the largest difference between the flow through a column free
    of slats and the inlet flow, as a share of it, ``unsteady`` the standard deviation of u over
    time over the passage velocity (1), averaged over the air, ``speed`` the passage velocity in
    lattice units, ``blocks`` how many blocks the means are taken over.
    """

    grid: Grid
    solid: BoolArray
    u: FloatArray
    v: FloatArray
    pressure: FloatArray
    k: float
    k_spread: float
    re: float
    mass_error: float
    unsteady: float
    speed: float
    blocks: int
    steps: int
    settled: bool


def reynolds_in_range(re: float) -> bool:
    """Tell whether the solver is offered for this Reynolds number."""
    return AIR_RE_MIN.value <= re <= AIR_RE_MAX.value


def cell_rings(stack: Stack, direction: Direction) -> list[Ring]:
    """Return the slats of one period as outlines (s, y), s = 0 where the air meets the stack.

    ``in`` lets the air come from outside.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (), 0.5, (1,))
    >>> cell_rings(flat, "in")[1]
    [(1.5, 1.5), (-0.0, 1.5), (-0.0, 10.5), (1.5, 10.5)]
    """
    depth = stack.depth_mm
    rings: list[Ring] = []
    for bank, offset in enumerate(stack.offsets_mm):
        # Slats higher than the pitch reach over more than one period on either side.
        for m in (-1, 0, 1):
            box = stack.slat_box(bank, offset + (m + 0.5) * stack.pitch_mm)
            outline = stack.shape.outline(box)
            # z runs from -depth (inside) to 0 (outside).
            rings.append([(-z if direction == "in" else z + depth, y) for z, y in outline])
    return rings


def cell_raster(stack: Stack, direction: Direction, cells: int) -> Raster:
    """Return the lattice of one period with about ``cells`` nodes across a passage.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (), 0.5, (1,))
    >>> raster = cell_raster(flat, "in", 12)
    >>> raster.grid.ny, raster.grid.step_mm
    (48, 0.25)

    Solid are 36 x 6 nodes, 9 by 1.5 mm:

    >>> int(raster.solid.sum())
    216
    """
    pitch = stack.pitch_mm
    ny = round(pitch / (stack.passage_mm / cells))
    step = pitch / ny
    length = stack.depth_mm + (UPSTREAM + DOWNSTREAM + SPONGE) * pitch
    grid = Grid(-UPSTREAM * pitch, 0.0, step, ny, round(length / step) + 2)
    return rasterise(grid, cell_rings(stack, direction))


def solve_stack(
    stack: Stack,
    re: float,
    *,
    direction: Direction = "in",
    cells: int = CELLS,
    tolerance: float = 0.01,
    blocks_max: int = 12,
    speed: float = PASSAGE_SPEED,
    discarded: int = DISCARDED,
) -> MeanFlow:
    """Return the mean flow through an endless stack.

    Parameters
    ----------
    stack
        the stack, repeated endlessly in height
    re
        passage Reynolds number, within ``limits.AIR_RE_MIN`` to ``AIR_RE_MAX``
    direction
        ``in`` lets the air come from outside
    cells
        nodes across a passage
    tolerance
        range of the last three block means of K, as a share of K, at which the flow counts as
        settled
    blocks_max
        blocks after which an unsettled flow is given up and its mean returned
    speed
        mean passage velocity to begin with, lattice units
    discarded
        blocks run before the first that counts

    Raises
    ------
    ValueError
        for a Reynolds number out of range
    FloatingPointError
        when the grid is too coarse for the Reynolds number
    """
    if not reynolds_in_range(re):
        raise ValueError(
            f"Reynolds number {re:g} is outside {AIR_RE_MIN.value:g} to {AIR_RE_MAX.value:g}"
        )
    raster = cell_raster(stack, direction, cells)
    width = stack.passage_mm / raster.grid.step_mm
    span = (0.0, stack.depth_mm)
    sponge = SPONGE * stack.pitch_mm
    for _ in range(SLOWER_TRIES):
        face = speed * stack.passage_mm / stack.pitch_mm
        try:
            return _settle(
                raster, face, speed, width, re, span, sponge, tolerance, blocks_max, discarded
            )
        except FloatingPointError:
            # Jets much faster than the mean come too near the speed of sound: go slower.
            speed *= 0.6
    raise FloatingPointError("the flow became unstable: refine the grid")


def section_raster(section: Section, direction: Direction, step_mm: float) -> Raster:
    """Return the lattice of a whole section between plane walls, in a duct of body height.

    Parameters
    ----------
    section
        the section
    direction
        ``in`` lets the air come from outside
    step_mm
        distance between nodes, about, mm

    Raises
    ------
    ValueError
        if a solid of the section encloses air
    """
    inner, front = section.inner_z_mm, section.front_z_mm
    wall = 2.0
    y0, y1 = section.lowest_mm - wall, section.highest_mm + wall
    ny = round((y1 - y0) / step_mm)
    step = (y1 - y0) / ny
    before, behind = 0.5 * (y1 - y0), 1.0 * (y1 - y0)
    grid = Grid(-before, y0, step, ny, round((before + behind + front - inner) / step) + 2)
    solids = box(inner, y0 - 1, front, y1 + 1).difference(section.air)
    solids = solids.union(section.apron_solid.intersection(box(inner, y0, front, y1)))
    rings: list[Ring] = []
    for part in getattr(solids, "geoms", [solids]):
        if isinstance(part, Polygon) and not part.is_empty:
            rings.extend(_without_holes(part))
    turned = [
        [(front - z if direction == "in" else z - inner, y) for z, y in ring] for ring in rings
    ]
    return rasterise(grid, turned)


def _without_holes(part: Polygon) -> list[Ring]:
    """Return a polygon as rings; the section's solids have no holes by construction."""
    if part.interiors:
        raise ValueError("a solid of the section encloses air that nothing can reach")
    return [list(part.exterior.coords)[:-1]]


def solve_section(
    section: Section,
    re: float,
    *,
    direction: Direction = "in",
    cells: int = 10,
    tolerance: float = 0.01,
    blocks_max: int = 16,
) -> MeanFlow:
    """Return the mean flow through a whole section: window, stack, drain, floor and sill.

    The Reynolds number is that of the passages if the stack carried all the flow; velocities are
    in multiples of the mean velocity over the section's height with its walls, ``k`` likewise.

    Parameters
    ----------
    section
        the section
    re
        passage Reynolds number if the stack carried all the flow
    direction
        ``in`` lets the air come from outside
    cells
        nodes across a passage
    tolerance, blocks_max
        as in :func:`solve_stack`: share of K, and number of blocks

    Raises
    ------
    ValueError
        if a solid of the section encloses air
    FloatingPointError
        when the grid is too coarse for the Reynolds number
    """
    stack = section.stack
    raster = section_raster(section, direction, stack.passage_mm / cells)
    width = stack.passage_mm / raster.grid.step_mm
    stack_height = section.ceiling_mm - section.lowest_mm
    share = stack.passage_mm / stack.pitch_mm * stack_height / raster.grid.height_mm
    face = PASSAGE_SPEED * share
    depth = section.front_z_mm - section.inner_z_mm
    sponge = 0.4 * raster.grid.height_mm
    return _settle(
        raster,
        face,
        PASSAGE_SPEED,
        width,
        re,
        (0.0, depth),
        sponge,
        tolerance,
        blocks_max,
        DISCARDED,
    )


def _settle(
    raster: Raster,
    face: float,
    speed: float,
    width: float,
    re: float,
    span: tuple[float, float],
    sponge_mm: float,
    tolerance: float,
    blocks_max: int,
    discarded: int,
) -> MeanFlow:
    """Run until the block means of K agree, and return the mean over the agreeing blocks.

    ``face`` and ``speed`` are inlet and passage velocity, ``width`` the passage, lattice units.
    """
    grid = raster.grid
    nu = speed * width / re
    s = grid.s_mm()
    end = grid.s0_mm + grid.nx * grid.step_mm
    depth = np.clip((s - (end - sponge_mm)) / sponge_mm, 0.0, 1.0)
    viscosity = nu + SPONGE_GAIN * depth**2
    through = (span[1] - span[0]) / grid.step_mm / speed
    block = int(BLOCK * through)
    flow = Lattice(
        raster.solid,
        raster.links,
        viscosity,
        inlet=np.full(grid.ny, face),
        ramp=int(through / 2),
    )
    first = int(np.searchsorted(s, span[0] - 0.5 * (span[0] - grid.s0_mm)))
    last = int(np.searchsorted(s, end - sponge_mm)) - 1
    every = max(1, block // 200)
    flow.run(discarded * block)
    means: list[Means] = []
    ks: list[float] = []
    settled = False
    for _ in range(blocks_max):
        mean = flow.run(block, every)
        assert mean is not None
        means.append(mean)
        ks.append(_loss(mean, face, first, last))
        if len(ks) >= 4 and np.ptp(ks[-3:]) <= tolerance * abs(np.mean(ks[-3:])):
            settled = True
            break
    kept = 3 if settled else max(3, len(ks) // 2)
    u, v, p, uu = (
        np.mean([getattr(m, name) for m in means[-kept:]], axis=0)
        for name in ("u", "v", "pressure", "uu")
    )
    air = ~raster.solid
    # Where slanted walls cut the nodes a column sum is not the flow, so free columns are compared.
    free = np.nonzero(~raster.solid[:, 1:-1].any(axis=0))[0] + 1
    flux = u[:, free].mean(axis=0)
    return MeanFlow(
        grid=grid,
        solid=raster.solid,
        u=u / face,
        v=v / face,
        pressure=p / (0.5 * face**2),
        k=float(np.mean(ks[-kept:])),
        k_spread=float(np.ptp(ks[-kept:]) / 2),
        re=re,
        mass_error=float(np.abs(flux / face - 1).max()),
        unsteady=float(np.sqrt(np.clip(uu - u**2, 0, None))[air].mean() / speed),
        speed=speed,
        blocks=kept,
        steps=flow.steps,
        settled=settled,
    )


def _loss(mean: Means, face: float, first: int, last: int) -> float:
    """Return the loss between two columns in face velocity heads.

    Pressure plus momentum flux, averaged over the height, is what is left for the drag of the
    slats, however little the wake has mixed out: so K does not depend on the outlet's distance.
    """
    total = (mean.pressure + mean.uu).mean(axis=0)
    return float((total[first] - total[last]) / (0.5 * face**2))
