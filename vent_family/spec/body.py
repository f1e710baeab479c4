"""What a family's body must answer, and the things bodies are made with. Lengths in mm.

Everything above the families asks these questions; nothing asks which family a body is of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from shapely.geometry import Polygon

from vent_family.base.limits import FIT_CLEARANCE, MARK_DEPTH
from vent_family.catalog.vocabulary import Vocabulary
from vent_family.spec import defaults
from vent_family.spec.fan_mount import FanMount
from vent_family.spec.label import LabelFace
from vent_family.spec.members import BodyMember
from vent_family.spec.pieces import Pieces
from vent_family.spec.screen import Screen
from vent_family.spec.section import Section
from vent_family.spec.thread.iso import ThreadSpec

OPENINGS: Final = Vocabulary[None]("kind of opening", dict.fromkeys(("rectangle", "circle")))
"""Kinds of opening to cut; a family that needs another one brings it along."""
LEAD_IN_DEG: Final = 30.0
"""A snap hook's face towards the cabinet, against the way in."""
HOLD_DEG: Final = 45.0
"""A snap hook's face that bears on the panel's inner edge, against the way out."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A screw hole through cover or flange, axis along z; centre (x, y) and diameter in mm.

    ``screw`` is the name of the screw that goes through it: M and its nominal diameter.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    screw: str

    @property
    def screw_mm(self) -> float:
        """Nominal diameter of the screw.

        Examples
        --------
        >>> Hole(0.0, 0.0, 4.5, "M4").screw_mm
        4.0
        """
        return float(self.screw.removeprefix("M"))


@dataclass(frozen=True, slots=True)
class SnapArms:
    """Two spring arms, left and right, over the whole height of the body; lengths in mm.

    ``length_mm`` is the free length of an arm, from its root to its hook.
    """

    thickness_mm: float
    slot_mm: float
    root_mm: float
    hook_mm: float
    free_end_z_mm: float
    length_mm: float

    @property
    def proud_mm(self) -> float:
        """How far a hook stands out from its arm, the gap of the fit included."""
        return self.hook_mm + FIT_CLEARANCE.value

    @property
    def foot_mm(self) -> float:
        """Length of a hook along the depth: its face that holds and its face that leads in.

        Examples
        --------
        A hook that stands out by 1.2 mm, at 45 and at 30 degrees:

        >>> round(SnapArms(2.0, 1.8, 3.0, 1.2 - FIT_CLEARANCE.value, -1.7, 20.0).foot_mm, 4)
        3.2785
        """
        return self.proud_mm * (1.0 + math.sqrt(3.0))


@dataclass(frozen=True, slots=True)
class GasketSpec:
    """A flat gasket: a ring (each size its diameter, twice) or a rectangular frame, mm."""

    is_ring: bool
    inner_mm: tuple[float, float]
    outer_mm: tuple[float, float]
    thickness_mm: float
    recess_mm: float


@dataclass(frozen=True, slots=True)
class Neck:
    """A threaded neck behind the panel, held by a locknut; lengths in mm.

    ``bore_end_z_mm`` is where the bore ends in front of the panel's plane; ``true_thread`` says
    whether STEP files show the helix or its plain stand-in; ``flats_mm`` are width and length of
    each of the head's two spanner flats, ``bevel_mm`` the depth of a bevel of 45 degrees at the
    bore's front end, ``way_mm2`` the area of the way there over the bore's edge. ``depths_mm``
    are the depths (z) at which the outline of bore or cavity changes, from the bore's even part to
    the cavity's; between two of them it is the same or widens evenly.
    """

    bore_radius_mm: float
    length_mm: float
    bore_end_z_mm: float
    thread: ThreadSpec
    true_thread: bool
    flats_mm: tuple[float, float]
    bevel_mm: float
    way_mm2: float
    depths_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Cover:
    """The face seen from outside.

    ``reach_mm`` is its reach from the origin to left, right, bottom and top; ``area_mm2`` and
    ``outline_mm`` are those of the plate it is cut from; ``width_column`` is the column that says
    how wide it is.
    """

    reach_mm: tuple[float, float, float, float]
    area_mm2: float
    outline_mm: float
    width_column: str


@dataclass(frozen=True, slots=True)
class Opening:
    """What to cut into the panel.

    ``kind`` is one of :data:`OPENINGS`; ``size_mm`` its width and height (the diameter twice for a
    circle), ``area_mm2`` its area without notch and screw holes, ``words`` what it is in words;
    ``notch_mm`` width and depth of the key notch at the lower edge, ``notch_words`` where it lies;
    ``holes`` the screw holes;
    ``corner_max_mm`` the largest radius that its corners may have, ``None`` if it has none.

    Examples
    --------
    >>> Opening("circle", (32.6, 32.6), 834.69, "round hole, diameter 32.6 mm").text()
    'round hole, diameter 32.6 mm'
    >>> Opening("rectangle", (80.0, 60.0), 4800.0, "rectangle 80 x 60 mm", (6.6, 1.8)).text()
    'rectangle 80 x 60 mm, notch 6.6 x 1.8 mm in the middle of the lower edge'
    """

    kind: str
    size_mm: tuple[float, float]
    area_mm2: float
    words: str
    notch_mm: tuple[float, float] | None = None
    holes: tuple[Hole, ...] = ()
    notch_words: str = "in the middle of the lower edge"
    corner_max_mm: float | None = None

    def text(self) -> str:
        """Return the opening in words, for people and for metadata."""
        words = self.words
        if self.notch_mm:
            words += f", notch {self.notch_mm[0]:g} x {self.notch_mm[1]:g} mm {self.notch_words}"
        if self.holes:
            words += f", {len(self.holes)} holes of diameter {self.holes[0].diameter_mm:g} mm"
        return words


@dataclass(frozen=True, slots=True)
class Mark:
    """The arrow and TOP mark on the outer face: lower middle point, letter height, sense.

    A mark too low for letters that print is an arrow alone.
    """

    x_mm: float
    y_mm: float
    height_mm: float
    depth_mm: float
    raised: bool

    @property
    def has_word(self) -> bool:
        """Whether the word TOP stands beside the arrow."""
        return self.height_mm >= defaults.MARK_WORD_MM


@dataclass(frozen=True, slots=True)
class PanelRange:
    """Thicknesses of cabinet wall that a vent fits, mm, and in a few words what bounds them."""

    least_mm: float
    most_mm: float
    why: str


class Body(Protocol):
    """A family's body: what the others need to know of it.

    Of ``neck``, ``snap``, ``gasket``, ``fan_mount`` and ``screen`` each is ``None`` for a body that
    has none.
    """

    @property
    def half_width_mm(self) -> float:
        """Half the cavity's greatest width; the bays lie within it, left and right of x = 0."""
        ...

    @property
    def neck(self) -> Neck | None:
        """The threaded neck."""
        ...

    @property
    def snap(self) -> SnapArms | None:
        """The snap arms."""
        ...

    @property
    def gasket(self) -> GasketSpec | None:
        """The gasket."""
        ...

    @property
    def fan_mount(self) -> FanMount | None:
        """What holds a fan behind the body."""
        ...

    @property
    def screen(self) -> Screen | None:
        """The insect screen."""
        ...

    @property
    def cover(self) -> Cover:
        """The face seen from outside."""
        ...

    @property
    def opening(self) -> Opening:
        """What to cut into the panel."""
        ...

    @property
    def facts(self) -> dict[str, float]:
        """Sizes that only such bodies have, by their names in words, units in the names."""
        ...

    @property
    def mark_bar_top_mm(self) -> float:
        """Top of the bar above the front window that carries the mark, y."""
        ...

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        """Return lower edge (y) and letter height of the mark above a ceiling."""
        ...

    def label_face(self, section: Section) -> LabelFace | None:
        """Return the face towards the cabinet that has room for the part number, if any."""
        ...

    def clear_half_width_mm(self, y_mm: float) -> float:
        """Return half the cavity's width at a height; 0 where there is none."""
        ...

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        """Return the area of a rectangle as far as it lies inside the cavity's outline."""
        ...

    def floor_spans_mm(
        self, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[float, float], ...]:
        """Return the x ranges of floor that no rib stands on, for bays (mm) between ribs.

        Windows through ribs that stand on it are the section's.
        """
        ...

    def rib_openings(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[tuple[float, float], tuple[Polygon, ...]], ...]:
        """Return the x range (mm) of each rib that air passes through, and what is open (z, y).

        ``bays`` are the clear x ranges between ribs, mm. The cavity's outline bounds it besides;
        windows under the pool are the section's.
        """
        ...

    def rib_end_z_mm(self, section: Section) -> float:
        """Return how far inside ribs and side walls end, z (mm)."""
        ...

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        """Return the upper half of the body's outline (z, y) in the middle, front to back."""
        ...

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the outline (x, y) of the space between the side walls at a depth z (mm)."""
        ...

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        """Return what the body is made of with a section and its bays; ``bays`` in mm, as x."""
        ...

    def pieces(self, section: Section, bays: Sequence[tuple[float, float]]) -> Pieces:
        """Return the body without mark and label as drawn shapes, which no solid is needed for.

        ``bays`` are the clear x ranges between ribs, mm.
        """
        ...

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return the body's volume without its mark, by a reckoning that builds no solid.

        ``bays`` are the clear x ranges between ribs, mm.
        """
        ...

    def panel_range(self, section: Section) -> PanelRange:
        """Return which thicknesses of cabinet wall the very same vent fits."""
        ...

    def walls_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return a volume that the body has at least, quickly: as if nothing stood in its cavity.

        ``bays`` are the clear x ranges between ribs, mm.
        """
        ...


def mark_on(body: Body, ceiling_mm: float, *, raised: bool) -> Mark:
    """Return the arrow and TOP mark, in the bar above a front window that ends at a ceiling."""
    y, height = body.mark_place_mm(ceiling_mm)
    return Mark(0.0, y, height, MARK_DEPTH.value, raised)
