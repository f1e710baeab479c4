"""How wide a bay may be so that its slats bear a thumb, by closed form."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from vent_family.base.limits import THUMB_LOAD, THUMB_RESERVE, THUMB_WIDTH
from vent_family.base.materials import MATERIALS
from vent_family.spec.forms import Outline
from vent_family.spec.stack import Stack


@lru_cache(maxsize=256)
def thumb_bay_mm(stack: Stack, material: str) -> float:
    """Return the widest bay (mm) in which every slat bears a thumb with some strength in hand.

    Ribs count as clamps: M = W (3 L^2 - c^2) / (24 L) at the ends of a bay L, with the load W
    spread over c (Roark, from memory), solved for L. A bay is never made narrower than a thumb is
    wide: there the thumb bears on the ribs, too.

    Parameters
    ----------
    stack
        The banks of slats.
    material
        Name of the printing material.

    Raises
    ------
    ValueError
        If the material is not printed.

    Examples
    --------
    Planks in ASA; half as thick ones are too weak for any bay, and get the narrowest:

    >>> planks = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> round(thumb_bay_mm(planks, "ASA"), 1)
    22.7
    >>> thin = Stack("inclined", 0.75, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> thumb_bay_mm(thin, "ASA")
    15.0
    """
    profile = MATERIALS[material].print_profile
    leaves = stack.shape.leaves(stack.slat_box(0, 0.0))
    stress_per_moment = max(_stress_per_moment(leaf) for leaf in leaves)
    allowed_mpa = profile.in_layer_mpa / (profile.safety_min * THUMB_RESERVE.value)
    moment, load, spread = allowed_mpa / stress_per_moment, THUMB_LOAD.value, THUMB_WIDTH.value
    bay = (12.0 * moment + math.sqrt((12.0 * moment) ** 2 + 3.0 * (load * spread) ** 2)) / (
        3.0 * load
    )
    return max(bay, spread)


@lru_cache(maxsize=1024)
def _stress_per_moment(leaf: Outline) -> float:
    """Return the largest stress in a section bent by a push along z, per moment (1 / mm3)."""
    # From any corner the section falls into triangles; a triangle's moments follow from its corners
    # alone: A / 12 (s s' + sum of p p'), s being the corners' sum.
    points = np.asarray(leaf)
    fan = np.stack([np.broadcast_to(points[0], points[1:-1].shape), points[1:-1], points[2:]], 1)
    edges = fan[:, 1:] - fan[:, :1]
    areas = 0.5 * np.linalg.det(edges)
    centre = areas @ fan.mean(axis=1) / areas.sum()
    fan = fan - centre
    sums = fan.sum(axis=1)
    inertia = np.einsum("t,ti,tj->ij", areas, sums, sums)
    inertia += np.einsum("t,tki,tkj->ij", areas, fan, fan)
    bend = np.linalg.solve(inertia / 12.0, (1.0, 0.0))
    return float(np.abs((points - centre) @ bend).max() * np.sign(areas.sum()))
