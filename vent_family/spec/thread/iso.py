"""ISO metric screw threads by formula: profile, basic sizes, 6g/6H limits, and the printed pair.

Sources, as far as the standards' contents could be checked without their own text:

* basic profile: ISO 68-1; basic diameters: ISO 724 (d2 = d - 0.649519 P, D1 = d - 1.082532 P);
* fundamental deviation es(g), tolerances Td(6), Td2(6), TD1(6): formulas of ISO 965-1, clause
  "Formulae", read in public copies;
* TD2(6) = 1.32 Td2(6): ISO 965-1, from memory; it reproduces the published 6H sizes compared;
* rounding to the R40 series of preferred numbers: ISO 3; that ISO 965-1 rounds so is from memory.

Rounding goes to the nearest *exact* R40 term 10^(k/40), then to that term's usual rounded value.
Rounding straight to the nearest rounded value gives 180 um for TD2 of M20x1.5 where the table says
190; the exact series gives 190. Published values that even this misses, none at the pitch in use
here (1.5 mm): es(g) at P = 0.75 mm (published 22 um, formula 24 um), TD1(6) at P = 0.5 mm (140 and
132 um) and at P = 1 mm (236 and 224 um).

The pair this family prints
---------------------------
The vent's external thread is a true 6g thread aimed at the middle of the tolerance zones of major
and pitch diameter. A bought metal locknut of class 6H is only some hundredths of a millimetre away
from it as drawn, less than a print needs (``evidence/as_made``). Its minor diameter is that of the
basic profile's flat root (width P/4), moved inwards with the pitch diameter. The printed
locknut's internal profile is that external profile offset by the material's clearance c
everywhere: c measured normal to the flanks, and c radially at crest and root. A normal offset c of
a 60 degree profile moves its flanks radially by c / sin(30 deg) = 2 c, hence the pitch diameter by
4 c while major and minor diameter move by 2 c. The gap is then c all along the profile (a little
more in the neck's root corners, where the nut's mitred corner stands off).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from vent_family.base.limits import THREAD_FLAT_MIN
from vent_family.base.problems import InputError, Problem

FLANK_ANGLE_DEG: Final = 30.0
"""Angle between a flank and the plane across the axis, degrees: half of ISO 68-1's 60."""

DIAMETER_STEPS_MM: Final = (1.0, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0)
"""Bounds of the diameter steps of ISO 965-1, mm; a step excludes its lower bound (the first
includes it)."""

# One decade of the rounded R40 series (ISO 3): terms 10^(k/40) for k = 0..39, times 100.
_R40: Final = (
    *(100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265),
    *(280, 300, 315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750),
    *(800, 850, 900, 950),
)

_TAN_FLANK: Final = math.tan(math.radians(FLANK_ANGLE_DEG))
_DESIGNATION: Final = re.compile(r"M\s*(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)", re.IGNORECASE)


def round_r40_um(value_um: float) -> int:
    """Return ``value_um`` (um, 10 or more) rounded to the R40 series, whole um (ISO 3).

    Raises
    ------
    ValueError
        below 10 um

    Examples
    --------
    >>> round_r40_um(191.2), round_r40_um(31.4)
    (190, 32)
    """
    if not value_um >= 10.0:
        raise ValueError(f"{value_um} um is below 10 um, the least value the rounding covers")
    decade, term = divmod(round(40.0 * math.log10(value_um)), 40)
    # Below 100 um the standard drops the decimal: 31.5 becomes 32, 26.5 becomes 26.
    return round(_R40[term] * 10.0 ** (decade - 2))


def triangle_height_mm(pitch_mm: float) -> float:
    """Return H, the height of the fundamental triangle, mm (ISO 68-1)."""
    return math.sqrt(3.0) / 2.0 * pitch_mm


def basic_pitch_diameter_mm(nominal_mm: float, pitch_mm: float) -> float:
    """Return d2 = D2 = d - 3/4 H, mm (ISO 724).

    Examples
    --------
    >>> round(basic_pitch_diameter_mm(32.0, 1.5), 3)
    31.026
    """
    return nominal_mm - 0.75 * triangle_height_mm(pitch_mm)


def basic_minor_diameter_mm(nominal_mm: float, pitch_mm: float) -> float:
    """Return d1 = D1 = d - 5/4 H, mm (ISO 724).

    Examples
    --------
    >>> round(basic_minor_diameter_mm(32.0, 1.5), 3)
    30.376
    """
    return nominal_mm - 1.25 * triangle_height_mm(pitch_mm)


def es_g_um(pitch_mm: float) -> int:
    """Return the fundamental deviation es of position g, um, negative (ISO 965-1).

    Examples
    --------
    >>> es_g_um(1.5)
    -32
    """
    return -round_r40_um(15.0 + 11.0 * pitch_mm)


def td_6_um(pitch_mm: float) -> int:
    """Return Td, grade 6: tolerance of the external major diameter, um (ISO 965-1).

    Examples
    --------
    >>> td_6_um(1.5)
    236
    """
    return round_r40_um(180.0 * pitch_mm ** (2.0 / 3.0) - 3.15 / math.sqrt(pitch_mm))


def td1_6_um(pitch_mm: float) -> int:
    """Return TD1, grade 6: tolerance of the internal minor diameter, um (ISO 965-1).

    Examples
    --------
    >>> td1_6_um(1.5)
    300
    """
    if pitch_mm >= 1.0:
        return round_r40_um(230.0 * pitch_mm**0.7)
    return round_r40_um(433.0 * pitch_mm - 190.0 * pitch_mm**1.22)


def diameter_step_mean_mm(nominal_mm: float) -> float:
    """Return the geometric mean of the ISO 965-1 diameter step holding ``nominal_mm``, mm.

    Raises
    ------
    InputError
        outside the steps (1 to 355 mm)

    Examples
    --------
    >>> round(diameter_step_mean_mm(32.0), 2)  # sqrt(22.4 x 45)
    31.75
    """
    bounds = DIAMETER_STEPS_MM
    for low, high in pairwise(bounds):
        if low < nominal_mm <= high or nominal_mm == low == bounds[0]:
            return math.sqrt(low * high)
    raise InputError(
        [
            Problem(
                "thread.diameter.range",
                "no thread tolerance is defined for this diameter",
                value=f"{nominal_mm:g} mm",
                allowed=f"{bounds[0]:g} to {bounds[-1]:g} mm",
            )
        ]
    )


def td2_6_um(nominal_mm: float, pitch_mm: float) -> int:
    """Return Td2, grade 6: tolerance of the external pitch diameter, um (ISO 965-1).

    Raises
    ------
    InputError
        for a diameter (mm) outside the standard's steps

    Examples
    --------
    >>> td2_6_um(32.0, 1.5)
    150
    """
    return round_r40_um(90.0 * pitch_mm**0.4 * diameter_step_mean_mm(nominal_mm) ** 0.1)


def td2_internal_6_um(nominal_mm: float, pitch_mm: float) -> int:
    """Return TD2, grade 6: tolerance of the internal pitch diameter, um (1.32 Td2, ISO 965-1).

    Raises
    ------
    InputError
        for a diameter (mm) outside the standard's steps

    Examples
    --------
    >>> td2_internal_6_um(32.0, 1.5)
    200
    """
    return round_r40_um(1.32 * td2_6_um(nominal_mm, pitch_mm))


@dataclass(frozen=True, slots=True)
class ThreadProfile:
    """One 60 degree thread profile with flat crest and flat root, external or internal.

    Lengths in mm. The same four numbers describe both sides of the boundary: on an external thread
    the flat at the major diameter is the tooth's crest, on an internal thread the groove's bottom.

    Raises
    ------
    InputError
        if the diameters are out of order or leave no flat
    """

    major_mm: float
    pitch_diameter_mm: float
    minor_mm: float
    pitch_mm: float

    def __post_init__(self) -> None:
        sizes = (self.major_mm, self.pitch_diameter_mm, self.minor_mm, self.pitch_mm)
        text = " / ".join(f"{size:.3f}" for size in sizes)
        if not (
            all(map(math.isfinite, sizes))
            and self.major_mm > self.pitch_diameter_mm > self.minor_mm > 0.0
            and self.pitch_mm > 0.0
        ):
            raise InputError(
                [
                    Problem(
                        "thread.profile.order",
                        "the diameters of a thread profile are out of order",
                        value=f"major / pitch / minor / pitch length {text} mm",
                        allowed="major > pitch > minor > 0 and a positive pitch",
                    )
                ]
            )
        flat = min(self.flat_at_major_mm, self.flat_at_minor_mm)
        if flat < THREAD_FLAT_MIN.value:
            raise InputError(
                [
                    Problem(
                        "thread.flat.thin",
                        f"the thread profile would end in a flat of only {flat:.3f} mm",
                        value=f"major / pitch / minor / pitch length {text} mm",
                        allowed=f"flats of {THREAD_FLAT_MIN.value:g} mm or more",
                        suggestion="use a smaller thread clearance or a larger pitch",
                    )
                ]
            )

    @property
    def flat_at_major_mm(self) -> float:
        """Axial width of the flat at the major diameter, mm."""
        return self.pitch_mm / 2.0 - _TAN_FLANK * (self.major_mm - self.pitch_diameter_mm)

    @property
    def flat_at_minor_mm(self) -> float:
        """Axial width of the flat at the minor diameter, mm."""
        return self.pitch_mm / 2.0 - _TAN_FLANK * (self.pitch_diameter_mm - self.minor_mm)

    @property
    def depth_mm(self) -> float:
        """Radial height of the profile, mm."""
        return (self.major_mm - self.minor_mm) / 2.0

    @property
    def points_mm(self) -> tuple[tuple[float, float], ...]:
        """One pitch of the profile as five points (radius, z), mm, z rising.

        The flat at the major diameter is centred on z = 0, the flat at the minor diameter on
        z = -pitch / 2; the last point is the first, one pitch higher.
        """
        major, minor, pitch = self.major_mm / 2.0, self.minor_mm / 2.0, self.pitch_mm
        at_major, at_minor = self.flat_at_major_mm / 2.0, self.flat_at_minor_mm / 2.0
        return (
            (minor, -pitch / 2.0 - at_minor),
            (minor, -pitch / 2.0 + at_minor),
            (major, -at_major),
            (major, at_major),
            (minor, pitch / 2.0 - at_minor),
        )

    def offset(self, clearance_normal_mm: float) -> ThreadProfile:
        """Return the profile a clearance outside this one, the same gap everywhere.

        ``clearance_normal_mm``, mm, is normal to the flanks and radial at crest and root.

        Raises
        ------
        InputError
            if the clearance leaves no flat

        Examples
        --------
        >>> neck = thread_spec("M32x1.5", 0.12).external
        >>> nut = neck.offset(0.12)
        >>> round(nut.major_mm - neck.major_mm, 2)
        0.24
        >>> round(nut.pitch_diameter_mm - neck.pitch_diameter_mm, 2)
        0.48
        """
        flank_radial_mm = clearance_normal_mm / math.sin(math.radians(FLANK_ANGLE_DEG))
        return ThreadProfile(
            self.major_mm + 2.0 * clearance_normal_mm,
            self.pitch_diameter_mm + 2.0 * flank_radial_mm,
            self.minor_mm + 2.0 * clearance_normal_mm,
            self.pitch_mm,
        )


@dataclass(frozen=True, slots=True)
class ExternalLimits:
    """Limits of size of an external thread, mm; ``minor_max_mm`` is the flat root's (no minimum
    is defined for it).
    """

    major_max_mm: float
    major_min_mm: float
    pitch_diameter_max_mm: float
    pitch_diameter_min_mm: float
    minor_max_mm: float


@dataclass(frozen=True, slots=True)
class InternalLimits:
    """Limits of size of an internal thread, mm (no maximum is defined for the major diameter)."""

    major_min_mm: float
    pitch_diameter_max_mm: float
    pitch_diameter_min_mm: float
    minor_max_mm: float
    minor_min_mm: float


@dataclass(frozen=True, slots=True)
class ThreadSpec:
    """A metric thread and the clearance its printed locknut is given.

    ``clearance_normal_mm`` is the gap between neck and printed locknut, mm, normal to the flanks
    and also at crest and root.

    Raises
    ------
    InputError
        if the numbers make no thread
    """

    designation: str
    nominal_mm: float
    pitch_mm: float
    clearance_normal_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.clearance_normal_mm) and self.clearance_normal_mm >= 0.0):
            raise InputError(
                [
                    Problem(
                        "thread.clearance.range",
                        f"the clearance of thread {self.designation} cannot be used",
                        value=f"{self.clearance_normal_mm:g} mm",
                        allowed="0 or more, mm",
                    )
                ]
            )
        _ = self.internal  # a clearance the profile cannot hold is refused here, not in a build

    @property
    def basic(self) -> ThreadProfile:
        """The basic profile: ISO 68-1 with the diameters of ISO 724."""
        return ThreadProfile(
            self.nominal_mm,
            basic_pitch_diameter_mm(self.nominal_mm, self.pitch_mm),
            basic_minor_diameter_mm(self.nominal_mm, self.pitch_mm),
            self.pitch_mm,
        )

    @property
    def limits_6g(self) -> ExternalLimits:
        """Limits of size of the external thread, tolerance class 6g (ISO 965-1)."""
        basic, es = self.basic, es_g_um(self.pitch_mm) / 1000.0
        return ExternalLimits(
            major_max_mm=basic.major_mm + es,
            major_min_mm=basic.major_mm + es - td_6_um(self.pitch_mm) / 1000.0,
            pitch_diameter_max_mm=basic.pitch_diameter_mm + es,
            pitch_diameter_min_mm=basic.pitch_diameter_mm
            + es
            - td2_6_um(self.nominal_mm, self.pitch_mm) / 1000.0,
            minor_max_mm=basic.minor_mm + es,
        )

    @property
    def limits_6h(self) -> InternalLimits:
        """Limits of size of a bought nut's internal thread, tolerance class 6H (ISO 965-1)."""
        basic = self.basic
        return InternalLimits(
            major_min_mm=basic.major_mm,
            pitch_diameter_max_mm=basic.pitch_diameter_mm
            + td2_internal_6_um(self.nominal_mm, self.pitch_mm) / 1000.0,
            pitch_diameter_min_mm=basic.pitch_diameter_mm,
            minor_max_mm=basic.minor_mm + td1_6_um(self.pitch_mm) / 1000.0,
            minor_min_mm=basic.minor_mm,
        )

    @property
    def external(self) -> ThreadProfile:
        """The vent's own thread: the middle of 6g, flat root of width P/4."""
        limits = self.limits_6g
        pitch_diameter_mm = (limits.pitch_diameter_max_mm + limits.pitch_diameter_min_mm) / 2.0
        return ThreadProfile(
            (limits.major_max_mm + limits.major_min_mm) / 2.0,
            pitch_diameter_mm,
            pitch_diameter_mm - triangle_height_mm(self.pitch_mm) / 2.0,
            self.pitch_mm,
        )

    @property
    def internal(self) -> ThreadProfile:
        """The printed locknut's thread: :attr:`external` offset by the clearance."""
        return self.external.offset(self.clearance_normal_mm)


def parse_thread(text: str) -> tuple[str, float, float]:
    """Read a thread designation such as ``M32x1.5``.

    Returns the designation in its usual spelling, the nominal diameter and the pitch, mm. Case,
    blanks and a multiplication sign are forgiven; a missing pitch is not.

    Raises
    ------
    InputError
        for anything else, and for diameters and pitches that make no thread

    Examples
    --------
    >>> parse_thread("m32 x 1.5")
    ('M32x1.5', 32.0, 1.5)
    """
    match = _DESIGNATION.fullmatch(text.strip())
    if match is None:
        raise InputError(
            [
                Problem(
                    "thread.name.unread",
                    "this is not a metric thread designation",
                    value=text,
                    allowed="M, nominal diameter, x, pitch, both in mm, for example M32x1.5",
                    suggestion="state diameter and pitch, with a decimal point",
                )
            ]
        )
    nominal_mm, pitch_mm = float(match[1]), float(match[2])
    low, high = DIAMETER_STEPS_MM[0], DIAMETER_STEPS_MM[-1]
    if not low <= nominal_mm <= high or not 0.2 <= pitch_mm <= nominal_mm / 4.0:
        raise InputError(
            [
                Problem(
                    "thread.size.range",
                    "this diameter and pitch make no metric thread",
                    value=text,
                    allowed=f"diameter {low:g} to {high:g} mm, pitch 0.2 mm to a quarter of it",
                )
            ]
        )
    return f"M{nominal_mm:g}x{pitch_mm:g}", nominal_mm, pitch_mm


def thread_spec(designation: str, clearance_normal_mm: float) -> ThreadSpec:
    """Return the thread named by ``designation`` with a printing clearance, mm.

    Raises
    ------
    InputError
        for a designation or a clearance that cannot be used

    Examples
    --------
    >>> thread = thread_spec("M32x1.5", 0.12)
    >>> round(thread.external.major_mm, 3), round(thread.limits_6g.major_max_mm, 3)
    (31.85, 31.968)
    >>> round(thread.limits_6h.minor_min_mm, 3)
    30.376
    """
    return ThreadSpec(*parse_thread(designation), clearance_normal_mm)
