"""Beam formulas: beams with fixed, sprung or hinged ends under a load in the middle; sections.

Sources: Roark's Formulas for Stress and Strain, beams fixed at both ends (from memory): a point
load W in the middle of a span L gives M = W L / 8 at ends and middle and a deflection of
W L^3 / (192 E I). A load spread evenly over a length c in the middle follows by superposing the
simply supported beam and its end moments; so do ends that turn against springs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray

FIXED: Final = 1e12
"""Stiffness of an end that does not turn, N mm; 0 is that of a hinge."""
_SHEAR_SHARE: Final = 5.0 / 6.0


def end_moment_nmm(load_n: float, span_mm: float, spread_mm: float = 0.0) -> float:
    """Return the moment (N mm) at the fixed ends, the largest one: W (3 L^2 - c^2) / (24 L).

    Examples
    --------
    A thumb of 20 N in the middle of a bay of 25 mm, W L / 8, and spread over 15 mm of it:

    >>> end_moment_nmm(20.0, 25.0), end_moment_nmm(20.0, 25.0, 15.0)
    (62.5, 55.0)
    """
    c = min(max(spread_mm, 0.0), span_mm)
    return load_n * (3.0 * span_mm**2 - c**2) / (24.0 * span_mm)


def middle_deflection_mm(
    load_n: float, span_mm: float, stiffness_nmm2: float, spread_mm: float = 0.0
) -> float:
    """Return the deflection (mm) in the middle: W (2 L^3 - 2 L c^2 + c^3) / (384 E I).

    Parameters
    ----------
    load_n
        load W, N
    span_mm
        length L between the fixed ends, mm
    stiffness_nmm2
        bending stiffness E I, N mm2
    spread_mm
        length c of the middle over which the load is spread, mm

    Examples
    --------
    A point load, W L^3 / (192 E I), and the same load spread over the whole span, half as much:

    >>> middle_deflection_mm(192.0, 10.0, 1000.0), middle_deflection_mm(192.0, 10.0, 1000.0, 10.0)
    (1.0, 0.5)
    """
    c = min(max(spread_mm, 0.0), span_mm)
    return load_n * (2.0 * span_mm**3 - 2.0 * span_mm * c**2 + c**3) / (384.0 * stiffness_nmm2)


@dataclass(frozen=True, slots=True)
class Moments:
    """Moments of a beam.

    Parameters
    ----------
    ends_nmm
        at its two ends, N mm
    between_nmm
        the largest one between them, N mm
    turned_nmm
        by how much both end moments together fall short of fixed ends', N mm
    """

    ends_nmm: tuple[float, float]
    between_nmm: float
    turned_nmm: float

    @property
    def largest_nmm(self) -> float:
        """The largest of them, N mm."""
        return max(*self.ends_nmm, self.between_nmm)


def sprung_moments(
    load_n: float,
    span_mm: float,
    stiffness_nmm2: float,
    ends_nmm: tuple[float, float],
    spread_mm: float = 0.0,
) -> Moments:
    """Return the moments of a beam whose ends turn against springs.

    An end turns by theta = L (2 M1 + M2) / (6 E I) less than that of a hinged beam, and by M1 / k1
    of its own spring; both ends together are two equations.

    Parameters
    ----------
    load_n
        load W, N
    span_mm
        length L between the ends, mm
    stiffness_nmm2
        bending stiffness E I, N mm2
    ends_nmm
        stiffness k of each end, N mm per radian; 0 for a hinge
    spread_mm
        length c of the middle over which the load is spread, mm

    Examples
    --------
    E I = 6000 N mm2 and L = 10 mm; a point load of 80 N has W L / 8 = 100 N mm at fixed ends and
    W L / 4 = 200 N mm between hinges. Springs of 2 E I / L = 1200 N mm take half of the fixed ends'
    moment: 50 N mm, which leaves 150 N mm in the middle:

    >>> sprung_moments(80.0, 10.0, 6000.0, (0.0, 0.0)).between_nmm
    200.0
    >>> found = sprung_moments(80.0, 10.0, 6000.0, (1200.0, 1200.0))
    >>> [round(m, 6) for m in (*found.ends_nmm, found.between_nmm, found.turned_nmm)]
    [50.0, 50.0, 150.0, 100.0]
    """
    c = min(max(spread_mm, 0.0), span_mm)
    fixed = end_moment_nmm(load_n, span_mm, c)
    phi = span_mm / (6.0 * stiffness_nmm2)
    k1, k2 = ends_nmm
    # (2 phi + 1 / k1) M1 + phi M2 = 3 phi M_fixed, times k1, so that a hinge divides by nothing.
    matrix = np.array([[2.0 * phi * k1 + 1.0, phi * k1], [phi * k2, 2.0 * phi * k2 + 1.0]])
    m1, m2 = np.linalg.solve(matrix, 3.0 * phi * fixed * np.array([k1, k2])).tolist()
    # The shear force is nought where W / 2 - W u / c + (m1 - m2) / L is, u from the load's start.
    u = c / 2.0 + (c * (m1 - m2) / (load_n * span_mm) if load_n else 0.0)
    x = (span_mm - c) / 2.0 + u
    free = load_n * x / 2.0 - (load_n * u**2 / (2.0 * c) if c else 0.0)
    between = free - m1 * (1.0 - x / span_mm) - m2 * x / span_mm
    return Moments((m1, m2), between, 2.0 * fixed - m1 - m2)


@dataclass(frozen=True, eq=False)
class CrossSection:
    """A plane section about its own centroid; mm.

    ``inertia_mm4`` is [[int u u, int u v], [int u v, int v v]] over the area, mm4, ``corners_mm``
    (n, 2) its outline (u, v) from the centroid.
    """

    area_mm2: float
    inertia_mm4: FloatArray
    corners_mm: FloatArray

    @property
    def least_inertia_mm4(self) -> float:
        """Second moment about the axis it bends about most easily, mm4."""
        return float(np.linalg.eigvalsh(self.inertia_mm4)[0])


def cross_section(outline: Sequence[tuple[float, float]]) -> CrossSection:
    """Return the section of a simple polygon, by Green's theorem (either sense of turning).

    ``outline`` lists its corners, mm.

    Examples
    --------
    A rectangle 2 mm by 6 mm, b h^3 / 12 about either axis, whichever way round it is drawn:

    >>> plate = cross_section([(0.0, 0.0), (2.0, 0.0), (2.0, 6.0), (0.0, 6.0)])
    >>> plate.area_mm2, plate.inertia_mm4.round(6).tolist()
    (12.0, [[4.0, 0.0], [0.0, 36.0]])
    """
    p = np.asarray(outline, dtype=np.float64)
    q = np.roll(p, -1, axis=0)
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    area = cross.sum() / 2.0
    centroid = ((p + q) * cross[:, None]).sum(axis=0) / (6.0 * area)
    p, q = p - centroid, q - centroid
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    uu = (cross * (p[:, 0] ** 2 + p[:, 0] * q[:, 0] + q[:, 0] ** 2)).sum() / 12.0
    vv = (cross * (p[:, 1] ** 2 + p[:, 1] * q[:, 1] + q[:, 1] ** 2)).sum() / 12.0
    uv = (
        cross
        * (
            p[:, 0] * q[:, 1]
            + 2.0 * p[:, 0] * p[:, 1]
            + 2.0 * q[:, 0] * q[:, 1]
            + q[:, 0] * p[:, 1]
        )
    ).sum() / 24.0
    sign = 1.0 if area > 0.0 else -1.0
    inertia = sign * np.array([[uu, uv], [uv, vv]])
    return CrossSection(float(abs(area)), inertia, p)


@dataclass(frozen=True, slots=True)
class BeamResult:
    """Largest stress (MPa) and deflection in the middle, along and across the load (mm)."""

    stress_mpa: float
    deflection_mm: float
    sideways_mm: float


def pushed_beam(
    section: CrossSection,
    span_mm: float,
    load_n: float,
    direction: tuple[float, float],
    modulus_mpa: float,
    spread_mm: float = 0.0,
    poisson: float = 0.0,
    ends_nmm: tuple[float, float] = (FIXED, FIXED),
) -> BeamResult:
    """Return stress and deflection of a beam pushed in any direction of its section.

    Unsymmetrical bending: the section bends in the direction J^-1 d, not in that of the load d,
    unless d is a principal direction; how far its ends turn is taken from the axis about which it
    bends most easily, which takes nearly all of it. Shear adds W (2 L - c) / (8 k G A) along the
    load, with k = 5/6 of a rectangle and G = E / (2 (1 + nu)) (Timoshenko beam, from memory).

    Parameters
    ----------
    section
        the cross-section
    span_mm
        length between the fixed ends, mm
    load_n
        load W, N
    direction
        direction of the load in the section, of any length (1)
    modulus_mpa
        Young's modulus E, MPa
    spread_mm
        length of the middle over which the load is spread, mm
    poisson
        Poisson's ratio nu (1)
    ends_nmm
        stiffness of each end against turning, N mm per radian; fixed ends unless said otherwise

    Examples
    --------
    A plate 2 mm thick and 6 mm high, 10 mm between its ends, pushed by 12 N: M = W L / 8 = 15 N mm,
    M c / I = 15 x 1 / 4 = 3.75 MPa; bending gives 0.015625 mm and shear 0.006 mm:

    >>> plate = cross_section([(0.0, 0.0), (2.0, 0.0), (2.0, 6.0), (0.0, 6.0)])
    >>> found = pushed_beam(plate, 10.0, 12.0, (-1.0, 0.0), modulus_mpa=1000.0)
    >>> round(found.stress_mpa, 6), round(found.deflection_mm, 6), round(found.sideways_mm, 6)
    (3.75, 0.021625, 0.0)
    """
    d = np.asarray(direction, dtype=np.float64)
    d = d / np.linalg.norm(d)
    bend = np.linalg.solve(section.inertia_mm4, d)
    bends = modulus_mpa * section.least_inertia_mm4
    moments = sprung_moments(load_n, span_mm, bends, ends_nmm, spread_mm)
    stress = float(np.abs(section.corners_mm @ bend).max() * moments.largest_nmm)
    turned = moments.turned_nmm * span_mm**2 / (16.0 * modulus_mpa)
    way = bend * (middle_deflection_mm(load_n, span_mm, modulus_mpa, spread_mm) + turned)
    along = float(way @ d)
    spread = min(max(spread_mm, 0.0), span_mm)
    rigidity = _SHEAR_SHARE * modulus_mpa / (2.0 * (1.0 + poisson)) * section.area_mm2
    shear = load_n * (2.0 * span_mm - spread) / (8.0 * rigidity)
    return BeamResult(stress, along + shear, float(np.linalg.norm(way - along * d)))
