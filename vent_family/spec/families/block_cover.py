"""Covers of blocks: how far lip or flange reaches, its screws, its corners, its lower edge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import HOLE_SPACING_MAX, STRAND_MIN
from vent_family.catalog.columns import COLUMNS
from vent_family.spec import defaults
from vent_family.spec.body import GasketSpec, Hole, SnapArms
from vent_family.spec.changes import on_step
from vent_family.spec.plate import CornerPlate, bevel_room_mm, corner_room_mm
from vent_family.spec.refusals import Refusals

CLEAR_MM: Final = 1.0
"""Plastic left beside a washer, and over the corners of panel and gasket."""
_NOSE_MM: Final = 0.6
"""Level part of a cover's lower edge between its chamfer and its drip bevel."""
_LEG_MIN_MM: Final = 0.4
"""A shorter bevel is not worth its edges."""


@dataclass(frozen=True, slots=True)
class BlockCover:
    """Lip or flange before its corners are taken off.

    ``reach_mm`` is its reach to left, right, bottom and top, ``opening_mm`` width and height of the
    opening it closes, ``washer_mm`` the diameter of the washers on its ``holes``; ``stands`` says
    that the part stands on the bed by the cover's lower edge; ``notch_mm`` is the depth of a key's
    notch below the opening.
    """

    reach_mm: tuple[float, float, float, float]
    opening_mm: tuple[float, float]
    holes: tuple[Hole, ...]
    washer_mm: float
    stands: bool
    gasket: GasketSpec | None = None
    notch_mm: float = 0.0

    @property
    def corner_room_mm(self) -> float:
        """Largest corner radius that keeps washers, and the corners below the cover, covered, mm.

        Examples
        --------
        A lip 6 mm wide keeps 1 mm over the opening's square corners:

        >>> cover = BlockCover((46.0, 46.0, 36.0, 36.0), (80.0, 60.0), (), 0.0, stands=False)
        >>> round(cover.corner_room_mm, 2)
        18.07
        """
        left, right, bottom, top = self.reach_mm
        frames = [self.opening_mm] if self.gasket is None else [self.gasket.outer_mm]
        kept = [
            (sx * w / 2.0, sy * h / 2.0, CLEAR_MM)
            for w, h in frames
            for sx in (-1.0, 1.0)
            for sy in (-1.0, 1.0)
        ]
        kept += [(q.x_mm, q.y_mm, self.washer_mm / 2.0 + CLEAR_MM) for q in self.holes]
        found = [min(left + right, bottom + top) / 2.0 - CLEAR_MM]
        for x, y, clear in kept:
            inset = (right - x if x > 0.0 else left + x, top - y if y > 0.0 else bottom + y)
            room = bevel_room_mm if self.stands and y < 0.0 else corner_room_mm
            # What is nearer to a side than that has no more to lose by a corner.
            found.append(room((max(inset[0], clear), max(inset[1], clear)), clear))
        return min(found)

    def corner_mm(self, asked_mm: float | None, usual_mm: float, refusals: Refusals) -> float:
        """Return the corners' radius: the one asked for, or the usual one as far as it fits, mm.

        One that does not fit is refused.
        """
        column = COLUMNS["corner_radius_mm"]
        most = on_step(column, self.corner_room_mm, upwards=False)
        if asked_mm is not None and asked_mm > most:
            refusals.refuse(
                "cover.corner.large",
                "corner_radius_mm",
                f"corners of {asked_mm:g} mm radius leave less than {CLEAR_MM:g} mm of the cover"
                " beside a washer or over the opening's corners",
                allowed=f"at most {most:g} mm here",
                guesses=({"corner_radius_mm": most}, {"corner_radius_mm": None}),
                columns=("corner_radius_mm",),
                lack=asked_mm - most,
            )
        return min(usual_mm, most) if asked_mm is None else asked_mm

    def plate(self, corner_mm: float) -> CornerPlate:
        """Return the outline with corners of a radius (mm), or a leg where it stands on the bed."""
        return CornerPlate(self.reach_mm, corner_mm, corner_mm if self.stands else None)

    def drip_mm(self, thickness_mm: float) -> float:
        """Return the leg (mm) of the bevel behind the lower edge of a cover of a thickness, mm.

        A nose is left in front of it, or a strand where the cover stands on it; screws, gasket and
        the panel's edge stay clear of it. 0 where it has no room.

        Examples
        --------
        >>> cover = BlockCover((46.0, 46.0, 36.0, 36.0), (80.0, 60.0), (), 0.0, stands=False)
        >>> round(cover.drip_mm(3.0), 6), cover.drip_mm(12.0)
        (1.9, 3.0)
        """
        leg = thickness_mm - defaults.EDGE_CHAMFER_MM
        if self.stands:
            leg = min(leg - STRAND_MIN.value, defaults.LEG_DRIP_MM)
            return leg if leg >= _LEG_MIN_MM else 0.0
        frame = self.opening_mm if self.gasket is None else self.gasket.outer_mm
        edges = [-frame[1] / 2.0, -self.opening_mm[1] / 2.0 - self.notch_mm]
        edges += [q.y_mm - q.diameter_mm / 2.0 for q in self.holes]
        leg = min(leg - _NOSE_MM, defaults.DRIP_MAX_MM, self.reach_mm[2] + min(edges) - CLEAR_MM)
        return leg if leg >= _LEG_MIN_MM else 0.0


def collar_plate(
    half_mm: tuple[float, float],
    drop_mm: float,
    wall_mm: float,
    snap: SnapArms | None,
    most_mm: float,
) -> CornerPlate:
    """Return a block's outline in the opening, its corners as large as its walls allow.

    Parameters
    ----------
    half_mm
        half its width and height, mm
    drop_mm
        what its upper side is lower, mm, for the way in of a part printed upright
    wall_mm
        the thinner of walls and plates, mm; a strand of two beads is left over the cavity's corners
    snap
        the snap arms, of which as much is left on the bed
    most_mm
        the largest corner, mm

    Examples
    --------
    >>> round(collar_plate((30.0, 20.0), 0.0, 1.2, None, 2.7).corner_mm, 3)
    1.924
    """
    w, h = half_mm
    root = math.sqrt(2.0)
    left = STRAND_MIN.value
    corner = min(most_mm, (root * wall_mm - left) / (root - 1.0))
    bevel = None
    if drop_mm > 0.0:
        bevel = min(most_mm, 2.0 * wall_mm - root * left)
        if snap is not None:
            bevel = min(bevel, snap.thickness_mm - left)
    return CornerPlate((w, w, h, h - drop_mm), corner, bevel)


def sealed_cover(
    opening_mm: tuple[float, float],
    screw: str,
    screw_fit: str,
    given_mm: float | None,
    column: str,
    notch_mm: float,
    refusals: Refusals,
) -> BlockCover:
    """Return a lip or flange around an opening with a gasket, and screws all round outside it.

    Parameters
    ----------
    opening_mm
        width and height of the opening, mm
    screw, screw_fit
        the screws and how much clearance their holes have
    given_mm
        the width asked for, mm, in a ``column``; blank: the least that holds both
    column
        where that stands
    notch_mm
        depth of the key's notch, mm
    refusals
        where a width too small is noted
    """
    w, h = opening_mm
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    washer = defaults.WASHER_MM[screw]
    diameter = defaults.ISO_273_MM[screw][screw_fit]
    line = 2 * land + gw + washer / 2
    need = line + washer / 2 + CLEAR_MM
    width = given_mm or math.ceil(need)
    if width < need:
        refusals.refuse(
            "gasket.room.narrow",
            column,
            f"a {column.removesuffix('_width_mm')} of {width:g} mm has no room for gasket and"
            f" {screw} screws",
            allowed=f"{need:g} mm or more with {screw}",
            guesses=({column: float(math.ceil(need))}, {column: None}),
            columns=(column, "screw"),
        )
        # The rest is laid out as it would be then.
        width = need
    x, y = w / 2 + line, h / 2 + line
    # An even number along the top keeps its middle free for the mark.
    along = max(2, 2 * math.ceil((math.ceil(2 * x / HOLE_SPACING_MAX.value) + 1) / 2))
    up = max(2, math.ceil(2 * y / HOLE_SPACING_MAX.value) + 1)
    xs = [-x + 2 * x * i / (along - 1) for i in range(along)]
    ys = [-y + 2 * y * i / (up - 1) for i in range(up)]
    places = [(px, sy * y) for sy in (-1, 1) for px in xs]
    places += [(sx * x, py) for sx in (-1, 1) for py in ys[1:-1]]
    gasket = GasketSpec(
        is_ring=False,
        inner_mm=(w + 2 * land, h + 2 * land),
        outer_mm=(w + 2 * (land + gw), h + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    reach = (w / 2 + width, w / 2 + width, h / 2 + width, h / 2 + width)
    screws = tuple(Hole(px, py, diameter, screw) for px, py in places)
    return BlockCover(
        reach, opening_mm, screws, washer, stands=False, gasket=gasket, notch_mm=notch_mm
    )
