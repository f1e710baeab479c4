"""What a slat form is: the protocol every form follows, and the plain data it is made of.

Section coordinates are (z, y) in mm: z along the flow, positive outwards; y upwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple, Protocol, TypeVar

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import STRAND_MIN, Limit

Outline = tuple[tuple[float, float], ...]
"""Corners (z, y) of a closed polygon, mm; the last is not the first again."""
Number = TypeVar("Number", float, FloatArray)
"""One stack's number, or an array with one number per stack."""

OUT: Final = 1
"""Slope of a bank whose outer edge lies low: it sheds outwards."""
IN: Final = -1
"""Slope of a bank whose inner edge lies low."""


class SlatBox(NamedTuple):
    """The box one slat fills, and what is drawn into it.

    ``z_mm`` is the inner and outer, ``y_mm`` the lower and upper bound; ``thickness_mm`` is the
    slat's as the row gives it; ``slope`` is :data:`OUT` or :data:`IN`; ``cuts_mm`` is what of the
    slat lies below and above the box and is cut off level.

    Examples
    --------
    >>> SlatBox((-6.0, 0.0), (1.0, 7.0), 1.5, cuts_mm=(0.75, 0.5)).uncut_mm
    (0.25, 7.5)
    """

    z_mm: tuple[float, float]
    y_mm: tuple[float, float]
    thickness_mm: float
    slope: int = OUT
    cuts_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def uncut_mm(self) -> tuple[float, float]:
        """Lower and upper end (y) of the slat before its cuts, mm."""
        return self.y_mm[0] - self.cuts_mm[0], self.y_mm[1] + self.cuts_mm[1]

    def level_from(self, lower_mm: float) -> SlatBox:
        """Return the box with all cut off level that lies below a height (mm) within it."""
        below = self.cuts_mm[0] + lower_mm - self.y_mm[0]
        return self._replace(y_mm=(lower_mm, self.y_mm[1]), cuts_mm=(below, self.cuts_mm[1]))


@dataclass(frozen=True, slots=True)
class FormDefaults:
    """What blank cells mean for one form: pitch (mm), overlap of slats (mm), number of banks, clear
    gap between them (mm), thickness of slats (mm).

    Blunt corners close a straight path with less overlap: where slats end in flats as wide as two
    beads, by ``foot_overlap_mm``.
    """

    pitch_mm: float
    overlap_mm: float
    bank_count: int
    bank_gap_mm: float
    foot_overlap_mm: float = 0.0
    slat_thickness_mm: float = 1.5

    def less_overlap_mm(self, foot_mm: float) -> float:
        """Return how much less overlap slats need that end in flats of a width (mm)."""
        return round(self.foot_overlap_mm * min(foot_mm / STRAND_MIN.value, 1.0), 2)


@dataclass(frozen=True, slots=True)
class AirTable:
    """Grid of the stacks that the flow solver was run on, to correct the quick loss model.

    Sampled are stacks of one ``pitch_mm`` over slat thickness (mm), slat height as a share of the
    pitch, clear distance between banks as a multiple of the passage width, and passage Reynolds
    number (1), each ascending. ``single_height_ratios`` are the slat heights of stacks of one bank,
    likewise; none where one bank cannot close. Its banks are shifted by half a pitch and stand for
    ``shifts`` from the one to the other share of the pitch. Slats on feet
    ``foot_mm`` wide were solved in thicknesses ``foot_thicknesses_mm``, on the same heights and
    gaps, at ``foot_reynolds`` (1), the last of which is that of all: none where these are empty.
    """

    pitch_mm: float
    thicknesses_mm: tuple[float, ...]
    height_ratios: tuple[float, ...]
    gap_ratios: tuple[float, ...]
    single_height_ratios: tuple[float, ...]
    reynolds: tuple[float, ...]
    shifts: tuple[float, float]
    foot_mm: float = STRAND_MIN.value
    foot_thicknesses_mm: tuple[float, ...] = ()
    foot_reynolds: tuple[float, ...] = ()


class SlatForm(Protocol):
    """One form of slats: everything about it that is not the same for every form.

    Lengths are in mm, angles in degrees. Functions of a :data:`Number` take one stack's numbers
    or arrays of many stacks' alike.
    """

    def __hash__(self) -> int:
        """Tell one form from another: tables that are computed once are kept by form."""
        ...

    @property
    def name(self) -> str:
        """The name a cell of the catalogue gives it."""
        ...

    @property
    def defaults(self) -> FormDefaults:
        """What blank cells mean."""
        ...

    @property
    def slopes_chosen(self) -> bool:
        """True if every bank may slope out or in, so that a row may say which or leave it open."""
        ...

    @property
    def slant_deg(self) -> float:
        """Angle between the air's way along a slat and z; the open area normal to the flow is the
        area in a plane z = const times its cosine."""
        ...

    @property
    def folds(self) -> int:
        """How often the way turns inside one bank, by twice the slant each time."""
        ...

    @property
    def jets_strike(self) -> bool:
        """True if the jets of one bank strike the next bank's slats square on and split there."""
        ...

    @property
    def air_table(self) -> AirTable | None:
        """Stacks the flow solver was run on; ``None`` if it never was: then nothing is corrected
        and every answer counts as outside the table."""
        ...

    @property
    def solver_cells(self) -> int:
        """Nodes across a passage that the flow solver needs for this form."""
        ...

    @property
    def corner_clear_mm(self) -> float:
        """Least distance (mm) of a slat's corners from the ceiling that cuts it off: what hangs
        there is no sliver, and no corner coincides with a wall's plane."""
        ...

    @property
    def thinnest(self) -> Limit:
        """Least thickness (mm) of slats printed face down: a slat is a bridge from rib to rib, and
        its first strand must be two beads wide."""
        ...

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        """Return what is cut off a slat's lower and upper corners (mm), so that they end in flats
        of a width (mm), parallel to a bed below the vent; all other functions take the height of
        the slat without these cuts."""
        ...

    def foot_most_mm(self, thickness_mm: float) -> float | None:
        """Return the widest flats (mm) of a slat this thick (mm) that leave its end, with which it
        begins when printed face down, two beads high; ``None`` if it has no acute corners."""
        ...

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the depth of one bank along z (mm) of slats this high and thick (mm)."""
        ...

    def passage_mm(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the clear width (mm) between two slats of one bank, normal to the flow."""
        ...

    def free_fraction(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the least share of a bank's height left open, in planes normal to z."""
        ...

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the length (mm) of the passage through one bank, along the flow."""
        ...

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return how often the way turns between banks, by twice the slant each time.

        ``slope_changes`` counts the neighbouring banks of opposite slope.
        """
        ...

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the least height (mm) of a slat this thick (mm) that still is one."""
        ...

    def remnant_mm(self, thickness_mm: float) -> float:
        """Return the least height (mm) of a slat this thick (mm) cut short at the channel."""
        ...

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        """Return a slat that ends at a height (mm) within its box as the whole one does, so that
        it begins as wide on the bed; it lies within the whole one."""
        ...

    def outline(self, box: SlatBox) -> Outline:
        """Return the outline of one slat: one polygon that touches all sides of its box."""
        ...

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return convex outlines that make up the slat and do not overlap."""
        ...

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the parts of the slat that bend under a load each by itself."""
        ...

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the gap (mm) to leave between the apron and the lowest slat above it."""
        ...

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the least gap (mm) that may stay open between the ceiling and a slat under it."""
        ...

    def stub_mm(self, thickness_mm: float) -> float:
        """Return by how much (mm) a slat cut off at the ceiling must reach down to be one."""
        ...
