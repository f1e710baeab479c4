"""What a blank cell means in every family and slat form, and the sizes nobody chooses.

Each family's and each form's own defaults stand with it.

Lengths in mm. Chosen by the house from the trade's habits (1.5 mm slats, three or four banks,
about 25 mm deep: common practice, no source) and checked by the sight-line computation.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from vent_family.base.limits import STRAND_MIN

CABINET_SURFACE_M2: Final = 1.0
"""Outer surface of a wall cabinet of 600 x 400 x 250 mm."""

COMMON: Final = MappingProxyType(
    {
        "revision": "A",
        "material": "ASA",
        "colour": "light_grey",
        "print_orientation": "face_down",
        "stl_orientation": "print",
        # At most: thin slats, and forms without acute corners, have less.
        "slat_foot_mm": STRAND_MIN.value,
        "bank_stagger": 0.5,
        "slopes": "auto",
        "rib_thickness_mm": 1.6,
        "floor_slope_deg": 5.0,
        "drain_height_mm": 4.0,
        "panel_thickness_mm": 2.0,
        "exposure": "rain",
        "fan_position": "intake",
        "air_direction": "in",
        "vents_in_parallel": 1,
        "extra_depression_pa": 0.0,
        "mounting_tilt_deg": 0.0,
        "mounting_roll_deg": 0.0,
        "cabinet_surface_m2": CABINET_SURFACE_M2,
    }
)

FRONT_MARGIN_MM: Final = 1.0
"""Distance of the outermost bank behind the outer plane: drops drip inside the part."""
INNER_MARGIN_MM: Final = 3.0
"""Distance between innermost bank and sill: what drips there still falls on the floor."""
SILL_THICKNESS_MM: Final = 1.6
APRON_THICKNESS_MM: Final = 2.0
SNAP_ARM_MM: Final = 1.8
SNAP_SLOT_MM: Final = 1.8
SNAP_ROOT_MM: Final = 3.0
SNAP_HOOK_MM: Final = 1.2
KEY_WIDTH_MM: Final = 6.0
KEY_HEIGHT_MM: Final = 1.5
NECK_KEY_MM: Final = 0.8
"""How far a neck's key stands behind the head: less than the plain stub before the thread."""
NECK_KEY_BESIDE_MM: Final = 1.0
"""How far it reaches beyond the thread: its notch stays within the land before the gasket."""
EDGE_CHAMFER_MM: Final = 0.5
"""Chamfer of a block all round its face, and of the foot it is printed upright on: the first
layers squeezed wide on the bed stay within the outline, and no edge is sharp to the hand."""
BODY_CORNER_MM: Final = 2.7
"""Corners of a block in its opening, where the walls allow: with the clearance of the fit, those of
an opening punched with 3 mm."""
RAIL_CORNER_MM: Final = 1.0
"""Corners of a block behind which a screen's rails stand: they begin on all of its side."""
COLLAR_MM: Final = 2.0
"""How far behind the panel a block fills the opening; beyond, floor and ceiling are plates."""
LEG_MM: Final = 1.5
"""How far the lip of a block printed upright covers the panel below the opening."""
LEG_DRIP_MM: Final = 0.8
"""Bevel behind that leg's lower edge."""
DRIP_MAX_MM: Final = 3.0
"""Bevel behind the lower edge of a thick cover: more than the capillary length of water."""
HEEL_MIN_MM: Final = 3.0
"""Least depth of a block behind the panel on which it stands when printed upright."""
GASKET_WIDTH_MM: Final = 4.0
GASKET_THICKNESS_MM: Final = 2.0
GASKET_RECESS_MM: Final = 1.2
GASKET_LAND_MM: Final = 1.5
"""Material left beside the gasket recess."""
SILL_OVER_DRAIN_MM: Final = 4.0
"""A blank sill is at least this much higher than the drain slot is."""
SILL_STEP_MM: Final = 0.5
SILL_STEPS: Final = 16
"""How often a blank sill may be raised by one step until no straight line passes."""
MARK_HEIGHT_MM: Final = 4.0
MARK_WORD_MM: Final = 3.7
"""Least height of the word TOP: strokes of 0.22 of it are two lines wide; below, an arrow alone."""
MARK_LEAST_MM: Final = 2.0
"""Least height of an arrow alone, whose shaft is 0.4 of it."""
MARK_BAR_MM: Final = 8.0
"""Height of the plain bar above a round vent's ceiling that carries the mark."""
FLAT_DEPTH_MM: Final = 1.0
"""Depth of the two spanner flats on a round head."""

ISO_273_MM: Final = MappingProxyType(
    {
        # fine, medium, coarse clearance holes; ISO 273, values from memory
        "M3": {"fine": 3.2, "medium": 3.4, "coarse": 3.6},
        "M4": {"fine": 4.3, "medium": 4.5, "coarse": 4.8},
        "M5": {"fine": 5.3, "medium": 5.5, "coarse": 5.8},
        "M6": {"fine": 6.4, "medium": 6.6, "coarse": 7.0},
    }
)
WASHER_MM: Final = MappingProxyType({"M3": 7.0, "M4": 9.0, "M5": 10.0, "M6": 12.0})
"""Outside diameters of plain washers, ISO 7089, from memory."""
