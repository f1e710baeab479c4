"""Slats under a thumb, between ribs and walls that give way a little."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.limits import THUMB_LOAD, THUMB_WIDTH
from vent_family.evidence.strength.beams import (
    FIXED,
    BeamResult,
    CrossSection,
    cross_section,
    pushed_beam,
)
from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.places import edges_across, widest_bay_mm
from vent_family.evidence.strength.ribs import (
    RIB,
    end_stiffness_nmm,
    holders,
    solids_around,
    strip_mm,
)
from vent_family.evidence.strength.shells import SOLID, Shell, area_share, bending_share
from vent_family.spec.forms import Outline
from vent_family.spec.vent import VentSpec

_PUSH: Final = (-1.0, 0.0)
"""A push from outside acts along -z; section coordinates are (z, y)."""


@dataclass(frozen=True, slots=True, eq=False)
class Leaf:
    """A slat, or the leaf of one, with what holds its ends.

    ``ends_nmm`` are the stiffnesses of its ends against turning, N mm per radian, one pair for
    each kind of bay; ``lean`` is sin^2 of the angle between its width and the layers (1);
    ``filled`` the share of its bending stiffness that solid walls and skins give it (1);
    ``outline`` where the first of those alike lies (z, y), mm.
    """

    bank: int
    section: CrossSection
    lean: float
    filled: float
    ends_nmm: tuple[tuple[float, float], ...]
    outline: Outline


@dataclass(frozen=True, slots=True)
class Pushed:
    """A leaf under a push.

    Parameters
    ----------
    leaf
        the leaf
    beam
        how it bends
    stress_mpa, strength_mpa
        the stress that decides and the strength it meets, MPa
    """

    leaf: Leaf
    beam: BeamResult
    stress_mpa: float
    strength_mpa: float

    @property
    def safety(self) -> float:
        """Strength over stress, a ratio."""
        return self.strength_mpa / self.stress_mpa


@lru_cache(maxsize=64)
def slat_leaves(spec: VentSpec, shell: Shell = SOLID) -> tuple[Leaf, ...]:
    """Return the leaves of all whole slats, those alike in all that counts once.

    ``shell`` says what of them is solid; ribs and walls likewise.
    """
    profile = spec.material.print_profile
    section, span = spec.section, spec.longest_bridge_mm
    held = holders(spec)
    others, lines = solids_around(section)
    z_ends = (spec.body.rib_end_z_mm(section), section.front_z_mm)
    found: dict[tuple[object, ...], Leaf] = {}
    for slat in section.slats:
        for outline in slat.leaves:
            strip = strip_mm(outline, [o for o in others if o is not outline], lines, z_ends)
            key = (slat.bank, _shape(outline), round(strip, 3))
            if key in found:
                continue
            cross = cross_section(outline)
            lean = _lean(outline, spec.print_orientation)
            filled = bending_share(section.stack.thickness_mm, _solid_depth_mm(lean, shell))
            beyond = 3.0 * profile.modulus_mpa * filled * cross.least_inertia_mm4 / span
            stiff = [
                end_stiffness_nmm(
                    strip * bending_share(plate, shell.side_mm),
                    plate,
                    profile.modulus_mpa,
                    profile.poisson,
                    beyond if kind == RIB else 0.0,
                )
                for kind, plate in enumerate(held.plates_mm)
            ]
            ends = tuple((stiff[a], stiff[b]) for a, b in held.pairs)
            found[key] = Leaf(slat.bank, cross, lean, filled, ends, outline)
    return tuple(found.values())


@lru_cache(maxsize=64)
def front_sections_mm2(spec: VentSpec, shell: Shell = SOLID) -> tuple[float, ...]:
    """Return the solid cross-section (mm2) of each whole slat of the outermost bank."""

    def solid_mm2(leaf: Outline) -> float:
        depth = _solid_depth_mm(_lean(leaf, spec.print_orientation), shell)
        return cross_section(leaf).area_mm2 * area_share(spec.section.stack.thickness_mm, depth)

    return tuple(
        sum(solid_mm2(leaf) for leaf in slat.leaves)
        for slat in spec.section.slats
        if slat.bank == 0 and slat.leaves
    )


def pushed(
    spec: VentSpec,
    leaf: Leaf,
    ends_nmm: tuple[float, float],
    load_n: float,
    spread_mm: float,
) -> Pushed:
    """Return what a push from outside does to a leaf.

    Along the slat the stress lies in the layers in either orientation. A slat is wide for its
    thickness, so bending along it also stresses it sideways, by Poisson's ratio times as much
    (plate bent to a cylinder, Timoshenko, from memory); where the slat's width runs out of the
    layers, that share pulls across them.

    Parameters
    ----------
    spec
        the vent
    leaf
        the slat, or its leaf
    ends_nmm
        stiffness of its ends, N mm per radian
    load_n, spread_mm
        the push, N, and the stretch of the slat it is spread over, mm
    """
    profile = spec.material.print_profile
    beam = pushed_beam(
        leaf.section,
        spec.longest_bridge_mm,
        load_n,
        _PUSH,
        leaf.filled * profile.modulus_mpa,
        spread_mm,
        profile.poisson,
        ends_nmm,
    )
    along = beam.stress_mpa / leaf.filled
    across = profile.poisson * along * leaf.lean
    found = [Pushed(leaf, beam, along, profile.in_layer_mpa)]
    if across > 0.0:
        found.append(Pushed(leaf, beam, across, profile.across_layer_mpa))
    return min(found, key=lambda p: p.safety)


def all_pushed(
    spec: VentSpec,
    load_n: float,
    spread_mm: float,
    shell: Shell = SOLID,
    banks: int | None = None,
) -> Iterator[Pushed]:
    """Yield every leaf under a push (N, over mm), in each kind of bay; of so many outer banks."""
    for leaf in slat_leaves(spec, shell):
        if banks is None or leaf.bank < banks:
            for ends in leaf.ends_nmm:
                yield pushed(spec, leaf, ends, load_n, spread_mm)


def slat_under_thumb(
    spec: VentSpec,
    load_n: float = THUMB_LOAD.value,
    spread_mm: float = THUMB_WIDTH.value,
    shell: Shell = SOLID,
) -> Member:
    """Return the slat that bears a thumb worst, in the widest bay.

    Its ends turn as far as ribs, walls and the slat in the next bay let them
    (:mod:`vent_family.evidence.strength.ribs`). A folded slat is too stubby for a beam and gives
    way leaf by leaf: each leaf is taken alone, the help of the other left out.

    Parameters
    ----------
    spec
        the vent
    load_n, spread_mm
        the push, N, and the stretch of the slat it is spread over, mm
    shell
        what of the slats is solid

    Raises
    ------
    ValueError
        if the material is not printed, or the section has no whole slat
    """
    span = spec.longest_bridge_mm
    worst = min(all_pushed(spec, load_n, spread_mm, shell), key=lambda p: p.safety, default=None)
    if worst is None:
        raise ValueError("the section has no whole slat")
    return Member(
        name="slat under a thumb",
        load=f"{load_n:g} N over {min(spread_mm, span):.0f} mm in a bay of {span:.1f} mm",
        stress=worst.stress_mpa,
        strength=worst.strength_mpa,
        unit="MPa",
        least=spec.material.print_profile.safety_min,
        deflection_mm=worst.beam.deflection_mm,
        formula="fixed ends M = W (3 L^2 - c^2) / (24 L), d = W (2 L^3 - 2 L c^2 + c^3) / (384 E I)"
        " + W (2 L - c) / (8 k G A); ends turn by M / k, k = 4 D b / a of rib or wall + 3 E I / L"
        " of the next bay",
        place=edges_across(worst.leaf.outline, widest_bay_mm(spec.bays)),
    )


@dataclass(frozen=True, slots=True)
class EndBounds:
    """Safety of the weakest slat between other ends.

    Parameters
    ----------
    clamped, hinged
        ratio of strength to stress, were its ends clamped, and were they hinged
    """

    clamped: float
    hinged: float


def slat_bounds(spec: VentSpec, shell: Shell = SOLID) -> EndBounds:
    """Return the safety of a slat under a thumb between clamps and between hinges.

    The deflection lies between the two. The safety may exceed both: where ends turn a little, what
    they no longer bear evens out with what the middle bears.
    """
    leaves = slat_leaves(spec, shell)
    clamped, hinged = (
        min(
            pushed(spec, leaf, (end, end), THUMB_LOAD.value, THUMB_WIDTH.value).safety
            for leaf in leaves
        )
        for end in (FIXED, 0.0)
    )
    return EndBounds(clamped, hinged)


def bending_allowed_n(spec: VentSpec, shell: Shell = SOLID) -> float:
    """Return the push (N) of a thumb on one slat at which it is expected to break."""
    return slat_under_thumb(spec, 1.0, shell=shell).safety


def _shape(leaf: Outline) -> tuple[tuple[float, float], ...]:
    """Return an outline moved to where its first corner is the origin."""
    z0, y0 = leaf[0]
    return tuple((round(z - z0, 4), round(y - y0, 4)) for z, y in leaf)


def _solid_depth_mm(lean: float, shell: Shell) -> float:
    """Return how deep a leaf is solid (mm) behind either face, measured square to it.

    Walls are as deep as they are measured in the layer; a slat in the layer has skins.
    """
    return shell.side_mm * math.sqrt(lean) if lean > 1e-9 else shell.flat_mm


@lru_cache(maxsize=1024)
def _lean(leaf: Outline, orientation: str) -> float:
    """Return sin^2 of the angle between a leaf's width and the layers.

    Every load of the front asks for all its slats again.
    """
    points = np.asarray(leaf)
    edges = np.roll(points, -1, axis=0) - points
    width = edges[np.argmax(np.hypot(*edges.T))]
    # Layers are square to z when printed face down, to y when upright.
    out = width[0] if orientation == "face_down" else width[1]
    return float(out**2 / (width @ width))
