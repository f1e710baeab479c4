"""Every limit the product holds parts to: one table, each with its unit and its source.

Code, reports and documentation read the numbers here and nowhere else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.constants import (
    CAPILLARY_LENGTH_MM,
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
)

COMMON_PRACTICE: Final = "common practice, no source"
OWN_RULE: Final = "house rule of this part family"
CAPILLARY_SOURCE: Final = (
    f"computed: sqrt(sigma / (rho g)) with {SURFACE_TENSION_N_M:g} N/m and"
    f" {WATER_DENSITY_KG_M3:g} kg/m3, {CAPILLARY_LENGTH_MM:.3f} mm, rounded to 0.1 mm, the step"
    " parts are drawn in"
)
EN_WIND: Final = "EN 1991-1-4, walls, Cpe,10 at h/d = 1, from memory"


@dataclass(frozen=True, slots=True)
class Limit:
    """A number parts are held to, with its unit, what it bounds and where it comes from.

    ``value`` is in the unit that ``unit`` names.

    Examples
    --------
    >>> f"{GAP_MIN.value:g} {GAP_MIN.unit}: {GAP_MIN.source}"
    '2.7 mm: computed: sqrt(sigma / (rho g)) with 0.0728 N/m and 998.2 kg/m3, 2.727 mm, rounded to
    0.1 mm, the step parts are drawn in'
    >>> SLAT_MIN.value, OPENING_MAX.value, FLOOR_SLOPE_MIN.source
    (0.5, 400.0, 'common practice, no source')
    """

    value: float
    unit: str
    meaning: str
    source: str


BRIDGE_GOOD: Final = Limit(25.0, "mm", "longest bridge that prints cleanly", COMMON_PRACTICE)
BRIDGE_MAX: Final = Limit(50.0, "mm", "longest bridge that prints at all", COMMON_PRACTICE)
OVERHANG_MAX: Final = Limit(
    45.0, "deg", "steepest overhang, measured from the vertical", COMMON_PRACTICE
)
SLAT_MIN: Final = Limit(
    0.5, "mm", "thinnest slat when the layer lines run along it (face down)", COMMON_PRACTICE
)
SLAT_MIN_UPRIGHT: Final = Limit(
    1.2, "mm", "thinnest slat when the layers cross its root (upright)", COMMON_PRACTICE
)
WALL_MIN: Final = Limit(1.2, "mm", "thinnest outer wall, three 0.4 mm lines", COMMON_PRACTICE)
GAP_MIN: Final = Limit(
    round(CAPILLARY_LENGTH_MM, 1),
    "mm",
    "narrowest water or air gap; below the capillary length of water a film bridges it",
    CAPILLARY_SOURCE,
)
DRAIN_MIN: Final = Limit(
    round(CAPILLARY_LENGTH_MM, 1),
    "mm",
    "lowest drain slot: the capillary length of water, as for any gap",
    CAPILLARY_SOURCE,
)
SIGHT_MARGIN_MIN: Final = Limit(
    0.2, "mm", "least width by which every straight line must miss", OWN_RULE
)
SIGHT_MARGIN_GOOD: Final = Limit(
    0.5, "mm", "margin at which the search for slopes and gaps is content", OWN_RULE
)
STEP_VOLUME: Final = Limit(
    1e-5, "1", "relative difference of a solid's volume after it was written and read", OWN_RULE
)
STEP_PLACE: Final = Limit(
    1e-5,
    "mm",
    "distance of a part or centroid from its place after it was written and read",
    OWN_RULE,
)
_SPREAD: Final = (
    "measured on seven parts of the demo: rebuilt, and in another process, no digit changes; read"
    " back from STEP, where a thread has its splines written anew, {} at most"
)
SAME_PLACE: Final = Limit(
    1e-5,
    "mm",
    "how far box or centroid of one and the same solid may differ; vertices are good to 1e-7 mm",
    _SPREAD.format("1.1e-6 mm"),
)
SAME_FACES: Final = Limit(
    2e-7,
    "1",
    "relative difference of volume, surface, or sums over the faces, of one and the same solid",
    _SPREAD.format("3.3e-8 of the volume, 1.4e-8 of the faces"),
)
SAME_EDGES: Final = Limit(
    1e-8,
    "1",
    "relative difference of sums over the edges of one and the same solid",
    _SPREAD.format("5.1e-10"),
)
SAME_MOMENTS: Final = Limit(
    2e-6,
    "1",
    "difference of second moments of one and the same solid, of the sum of the three about axes",
    _SPREAD.format("4.5e-7"),
)
SAME_SIZE: Final = Limit(
    2e-4,
    "mm",
    "how far two stated sizes of one and the same fit may differ: they are written to 1e-4 mm",
    OWN_RULE,
)
STL_CHORD: Final = Limit(0.05, "mm", "chord tolerance of exported meshes", OWN_RULE)
STL_ANGLE: Final = Limit(0.3, "rad", "angular tolerance of exported meshes", OWN_RULE)
MESH_VOLUME: Final = Limit(
    0.005, "1", "largest relative difference between mesh and exact volume", OWN_RULE
)

EDGE_MIN: Final = Limit(
    0.1, "mm", "shortest edge of a finished solid, those within a thread left out", OWN_RULE
)
FACE_MIN: Final = Limit(
    0.01, "mm2", "smallest face of a finished solid, those of a thread left out", OWN_RULE
)
ENVELOPE_OUTSIDE: Final = Limit(
    0.001, "mm", "how far a vent may reach out of its envelope, by rounding alone", OWN_RULE
)
ENVELOPE_FACES_MAX: Final = Limit(120.0, "1", "most faces of an envelope: ten dozen", OWN_RULE)

OPENING_MIN: Final = Limit(25.0, "mm", "smallest width or height of a square-cut opening", OWN_RULE)
OPENING_MAX: Final = Limit(
    400.0, "mm", "largest width or height of an opening (build volume)", OWN_RULE
)
FIT_CLEARANCE: Final = Limit(0.3, "mm", "gap between body and opening, each side", COMMON_PRACTICE)
OPENING_OVERSIZE: Final = Limit(
    0.5,
    "mm",
    "how much wider and higher than stated an opening may be cut; smaller it may not be",
    COMMON_PRACTICE,
)
BAY_MIN: Final = Limit(6.0, "mm", "narrowest bay between two ribs", OWN_RULE)
NECK_WALL_MIN: Final = Limit(
    1.6, "mm", "thinnest neck wall, measured under the thread root", COMMON_PRACTICE
)
HOLE_SPACING_MAX: Final = Limit(
    80.0, "mm", "longest distance between flange screws", COMMON_PRACTICE
)
MARK_DEPTH: Final = Limit(0.6, "mm", "depth of the arrow and TOP mark", OWN_RULE)
MARK_STROKE_MIN: Final = Limit(
    0.8, "mm", "thinnest stroke of a legible mark, two 0.4 mm lines", COMMON_PRACTICE
)
LABEL_STROKE_MIN: Final = Limit(
    0.5, "mm", "thinnest stroke of the part number inside, one 0.45 mm line", COMMON_PRACTICE
)
LABEL_DEPTH: Final = Limit(
    0.4,
    "mm",
    "depth of the part number inside: two layers, and upright a ledge that prints",
    OWN_RULE,
)
THREAD_FLAT_MIN: Final = Limit(
    0.04, "mm", "narrowest flat left at crest or root of a thread profile", OWN_RULE
)
ESTIMATE_VOLUME: Final = Limit(
    0.005,
    "1",
    "largest relative difference between exact volume and independent estimate",
    OWN_RULE,
)

NOZZLE: Final = Limit(0.4, "mm", "bore of the nozzle the parts are designed for", COMMON_PRACTICE)
LINE_WIDTH: Final = Limit(0.45, "mm", "width of one laid bead", COMMON_PRACTICE)
STRAND_MIN: Final = Limit(
    2.0 * LINE_WIDTH.value,
    "mm",
    "narrowest strand a bridge may start with: two beads, one of which holds the other",
    COMMON_PRACTICE,
)
SLIVER_MIN: Final = Limit(
    STRAND_MIN.value,
    "mm",
    "smallest piece of a slat kept where drain channel or ceiling cuts it",
    "computed: the narrowest strand a bridge may start with",
)
SLAT_MIN_CHANNEL: Final = Limit(
    STRAND_MIN.value,
    "mm",
    "thinnest channel slat printed face down: its lips begin two beads wide",
    "computed: the narrowest strand a bridge may start with",
)
CHANNEL_LIP: Final = Limit(
    2.5,
    "mm",
    "how far the lips of a channel slat stand out from its web",
    "own rule: a sheet of water that runs along the web is turned by as much of a wall",
)
SLAT_MIN_SLANTED: Final = Limit(
    math.ceil(100.0 * STRAND_MIN.value / math.sqrt(2.0)) / 100.0,
    "mm",
    "thinnest inclined or folded slat printed face down: its first strand is two beads wide",
    "computed: 0.9 mm over sqrt 2, 0.636 mm, rounded up to 0.01 mm",
)
SLAT_LEFT: Final = Limit(
    0.75,
    "1",
    "what must be left as printed of the thinnest slat that may be drawn: one and a half beads of"
    " the two it starts with",
    OWN_RULE,
)
FOOT_MIN: Final = Limit(0.0, "mm", "no flats: slats' acute corners stay sharp", OWN_RULE)
FOOT_MAX: Final = Limit(3.0, "mm", "widest flats in which slats' acute corners end", OWN_RULE)
LAYER_HEIGHT: Final = Limit(0.2, "mm", "layer height the parts are designed for", COMMON_PRACTICE)
LAYER_HEIGHT_THREAD: Final = Limit(
    0.12,
    "mm",
    "layer height over a thread: flanks 60 degrees from the vertical then step out by less than"
    " half a bead",
    "computed: 0.12 mm x tan 60 deg = 0.208 mm against 0.225 mm",
)
SHELL_LINES_MIN: Final = Limit(
    2.0, "1", "fewest lines of wall round a sparse core that still hold water", COMMON_PRACTICE
)
LAYERS_VOLUME: Final = Limit(
    0.03, "1", "largest relative difference between the layers' volume and the body's", OWN_RULE
)
MEMBERS_VOLUME: Final = Limit(
    0.001, "1", "largest share of a part that lies in no member of it or in two", OWN_RULE
)
BEAD_CARRIED_MIN: Final = Limit(
    0.5, "1", "least share of a bead's width that must lie on the layer below", COMMON_PRACTICE
)
LEDGE_MAX: Final = Limit(
    0.5,
    "mm",
    "longest single ledge past the overhang limit that prints without support",
    "lower end of the allowable overhang length of 0.5 to 1.5 mm, Mazlan et al. 2020, J. Adv. Ind."
    " Technol. Appl. 1:38 (abstract read)",
)
CRUMB_WIDTH: Final = Limit(
    0.05, "mm", "an unsupported piece narrower than this is no bead and is left out", OWN_RULE
)
CRUMB_AREA: Final = Limit(
    0.05, "mm2", "an unsupported piece smaller than this is no bead and is left out", OWN_RULE
)
FEATURE_MIN: Final = Limit(
    0.45, "mm", "smallest feature that prints: one bead wide", COMMON_PRACTICE
)
PRINT_GAP_MIN: Final = Limit(
    0.4, "mm", "narrowest gap that stays open when printed: one nozzle width", COMMON_PRACTICE
)
FAN_GUARD_MIN: Final = Limit(
    10.0,
    "mm",
    "least distance from a fan's frame, within which its blades turn, to the slats before it",
    COMMON_PRACTICE,
)
FAN_BORE_SHARE: Final = Limit(
    0.8,
    "1",
    "bore of a boss that a thread-forming screw cuts into, of the screw's diameter",
    COMMON_PRACTICE,
)
FAN_BORE_DEPTH: Final = Limit(
    2.0, "1", "depth of such a bore, of the screw's diameter", COMMON_PRACTICE
)
FAN_BOSS: Final = Limit(
    2.0, "1", "outside diameter of such a boss, of the screw's diameter", COMMON_PRACTICE
)
FAN_BOSS_FLOOR: Final = Limit(
    5.0 * LAYER_HEIGHT.value,
    "mm",
    "plastic left under such a bore: what bridges a corner begins without a hole",
    "house rule of this part family: five layers of 0.2 mm",
)
FAN_DUCT_MAX: Final = Limit(40.0, "mm", "deepest duct between a block and its fan", OWN_RULE)
FAN_DUCT_SLOPE: Final = Limit(
    5.0,
    "deg",
    "slope of a fan duct's floor, falling outwards, where the vent's is no less",
    OWN_RULE,
)
FAN_FRAME_MIN: Final = Limit(10.0, "mm", "smallest frame that a fan's file states", OWN_RULE)
FAN_FRAME_MAX: Final = Limit(500.0, "mm", "largest frame that a fan's file states", OWN_RULE)
FAN_FRAME_PLAY: Final = Limit(
    2.0,
    "mm",
    "how far a stated frame may lie from a trade size: 119 mm is one of 120 mm",
    COMMON_PRACTICE,
)
FAN_SWEPT_MIN: Final = Limit(
    0.5, "1", "least share of what a fan sweeps that its duct leaves open", OWN_RULE
)
GASKET_SQUEEZE_MIN: Final = Limit(
    0.25,
    "1",
    "least squeeze of a closed-cell sheet gasket that seals, of its thickness",
    COMMON_PRACTICE,
)
GASKET_SQUEEZE_MAX: Final = Limit(
    0.5, "1", "largest squeeze that such a gasket recovers from, of its thickness", COMMON_PRACTICE
)
THUMB_LOAD: Final = Limit(
    20.0, "N", "push of a thumb on one slat, in the middle between two ribs", COMMON_PRACTICE
)
THUMB_WIDTH: Final = Limit(
    15.0, "mm", "stretch of a slat over which a thumb presses", COMMON_PRACTICE
)
THUMB_RESERVE: Final = Limit(
    1.05,
    "1",
    "strength in hand when ribs are counted as clamps, which give way by a few percent",
    OWN_RULE,
)
SAFETY_DEVIATIONS: Final = Limit(
    2.0,
    "1",
    "standard deviations below the mean strength that a member must still bear its load at",
    OWN_RULE,
)
NECK_TORQUE: Final = Limit(
    100.0,
    "N mm/mm",
    "tightening torque of a printed locknut per millimetre of thread diameter, firmly by hand",
    COMMON_PRACTICE,
)
NUT_FACTOR: Final = Limit(
    0.3, "1", "K in T = K F d, plastic on plastic without grease", COMMON_PRACTICE
)
KNOCK_LOAD: Final = Limit(
    150.0, "N", "sideways knock on the rim of a vent: a shoulder, a crate, a boot", COMMON_PRACTICE
)
ACROSS_TOUGHNESS: Final = Limit(
    1.2,
    "MPa m^0.5",
    "fracture toughness between printed layers, lower end, taken for every material",
    "printed ABS with the crack between the layers, as in McLouth et al. 2017, Addit. Manuf. 18:103"
    " (abstract read, figure from memory)",
)
SPANNER_FORCE: Final = Limit(100.0, "N", "pull of one hand on a spanner", COMMON_PRACTICE)
SPANNER_LENGTH: Final = Limit(
    250.0,
    "mm",
    "length of an adjustable spanner, 10 inch; with the hand's pull 25 N m",
    "common practice, no source; strongest pulls on small spanners average 24 and 40 N m, women and"
    " men, Mital and Sanghavi 1986 (as a handbook quotes it)",
)
SNAP_FRICTION: Final = Limit(
    0.3, "1", "friction of plastic on a painted steel edge", COMMON_PRACTICE
)
SNAP_PULL: Final = Limit(
    50.0, "N", "pull that a snapped-in vent must not follow: a cable, fingertips", COMMON_PRACTICE
)
SNAP_PUSH: Final = Limit(150.0, "N", "push of two thumbs that snaps a vent in", COMMON_PRACTICE)
GASKET_PRESSURE: Final = Limit(
    0.12,
    "MPa",
    "pressure that squeezes closed-cell EPDM sheet flush with its recess, by 40 %",
    "grade 2A2 of ASTM D1056 takes 5 to 9 psi, 0.035 to 0.062 MPa, at 25 % (public summary read);"
    " twice the upper end at 40 %, from memory",
)
GASKET_FACTOR: Final = Limit(
    0.5,
    "1",
    "push of a gasket of soft rubber over the pressure of what it holds back",
    "gasket factor m of elastomers below 75 Shore A, ASME BPVC VIII division 1, appendix 2 (public"
    " summary read)",
)
GASKET_RELAXED: Final = Limit(
    0.5, "1", "share of its push that a squeezed gasket keeps for years", COMMON_PRACTICE
)
GASKET_EVEN: Final = Limit(
    0.25,
    "1",
    "largest share of the gasket's squeeze by which a flange may give way between screws",
    OWN_RULE,
)
SCREW_TORQUE: Final = Limit(
    200.0,
    "N mm/mm",
    "tightening torque of a fixing screw per millimetre of diameter, by screwdriver",
    COMMON_PRACTICE,
)
SCREW_FACTOR: Final = Limit(0.2, "1", "K in T = K F d, dry steel on steel", COMMON_PRACTICE)
CREEP_LEFT: Final = Limit(
    0.3,
    "1",
    "share of stiffness and of a screw's pull that a clamped plastic flange keeps for years",
    COMMON_PRACTICE,
)
SUN_AIR: Final = Limit(
    40.0, "degC", "hot air outdoors and in halls, at which a vent must keep its shape", OWN_RULE
)
HEAT_MARGIN: Final = Limit(
    15.0,
    "K",
    "least distance of a part's temperature from its material's heat deflection at 0.45 MPa",
    COMMON_PRACTICE,
)
FACE_VELOCITY_MAX: Final = Limit(
    10.0, "m/s", "fastest face velocity the water check answers for", OWN_RULE
)
CP_WINDWARD: Final = Limit(
    0.8, "1", "external pressure coefficient of a wall that faces the wind", EN_WIND
)
CP_LEE: Final = Limit(
    -0.5, "1", "external pressure coefficient of the wall on the lee side", EN_WIND
)
CP_SHELTERED: Final = Limit(
    0.0, "1", "pressure coefficient of openings in still air, indoors or behind a cover", OWN_RULE
)
VENTS_MIN: Final = Limit(1.0, "1", "fewest vents side by side", OWN_RULE)
VENTS_MAX: Final = Limit(24.0, "1", "most vents side by side that share a fan", OWN_RULE)
DEPRESSION_MAX: Final = Limit(
    500.0, "Pa", "deepest extra depression the water check answers for", OWN_RULE
)
MOUNTING_TILT_MAX: Final = Limit(
    90.0, "deg", "steepest lean of the mounting: face up, in a roof", "computed: a right angle"
)
MOUNTING_ROLL_MAX: Final = Limit(
    180.0, "deg", "largest roll of the mounting: upside down", "computed: half a turn"
)
CABINET_SURFACE_MIN: Final = Limit(
    0.01, "m2", "least outer surface of a cabinet that a nozzle has to wet", OWN_RULE
)
CABINET_SURFACE_MAX: Final = Limit(
    50.0, "m2", "largest outer surface of a cabinet that a nozzle has to wet", OWN_RULE
)
MOUNTING_TOLERANCE: Final = Limit(
    3.0, "deg", "lean back and roll a mounted cabinet may have besides the stated tilt", OWN_RULE
)
WATER_SHARE_MAX: Final = Limit(
    0.01,
    "1",
    "largest share of the arriving water that may pass",
    "class A of EN 13030:2001 asks for an effectiveness of 0.99, from memory",
)
WATER_HOLDS_ML: Final = Limit(
    1.0, "mL", "largest volume per exposure that may pass for a vent to hold", OWN_RULE
)
WATER_FAILS_ML: Final = Limit(20.0, "mL", "volume per exposure beyond which a vent fails", OWN_RULE)
JET_MEAN_MAX: Final = Limit(
    0.001, "1", "largest mean share of a jet that gets inside for a vent to turn it", OWN_RULE
)
JET_WORST_MAX: Final = Limit(
    0.01, "1", "largest share of a jet that gets inside at the worst aim, to turn it", OWN_RULE
)
JET_CLEAN_MAX: Final = Limit(
    0.05,
    "1",
    "mean share of a jet that gets inside under the worst assumptions, up to which a vent that"
    " turns it under middling ones is marginal",
    OWN_RULE,
)
LEVEL_MARGIN_MIN: Final = Limit(
    1.0, "mm", "least height of the sill over the pool for a vent to hold", OWN_RULE
)
AIR_RE_MIN: Final = Limit(
    10.0, "1", "smallest passage Reynolds number the air model is calibrated for", OWN_RULE
)
AIR_RE_MAX: Final = Limit(
    2000.0, "1", "largest passage Reynolds number the air model is calibrated for", OWN_RULE
)
ALTITUDE_MIN: Final = Limit(-430.0, "m", "lowest site (Dead Sea shore)", COMMON_PRACTICE)
ALTITUDE_MAX: Final = Limit(
    5000.0, "m", "highest site the cabinet heat balance is offered for", OWN_RULE
)
AMBIENT_MIN: Final = Limit(-50.0, "degC", "coldest air the air model accepts", OWN_RULE)
AMBIENT_MAX: Final = Limit(90.0, "degC", "hottest air the air model accepts", OWN_RULE)
DRAUGHT_HEIGHT_MAX: Final = Limit(
    100.0,
    "m",
    "greatest height between low and high vent that natural draught is offered for",
    OWN_RULE,
)
STALL_SHARE: Final = Limit(
    0.02,
    "1",
    "rise of pressure with flow, of the shut-off pressure, that marks the stall region",
    OWN_RULE,
)
FAN_POINTS_MIN: Final = Limit(3.0, "1", "fewest points of a fan curve", OWN_RULE)
FAN_GAP_MAX: Final = Limit(
    0.45, "1", "widest gap between two points of a fan curve, of its free flow", OWN_RULE
)
FAN_PRESSURE_MAX: Final = Limit(
    3000.0, "Pa", "highest pressure a cabinet fan plausibly gives", OWN_RULE
)
FAN_FLOW_MAX: Final = Limit(5000.0, "m3/h", "greatest flow a cabinet fan plausibly gives", OWN_RULE)
WALL_U_DEFAULT: Final = Limit(
    5.5,
    "W/m2K",
    "heat passing a painted steel cabinet wall, still air on both sides",
    COMMON_PRACTICE,
)
WALL_CONDUCTANCE_MAX: Final = Limit(
    10000.0, "W/K", "most heat the walls of a cabinet pass per kelvin", OWN_RULE
)
CABINET_HEAT_MAX: Final = Limit(100000.0, "W", "most heat lost in a cabinet", OWN_RULE)
CABINET_LIMIT_MAX: Final = Limit(
    150.0, "degC", "highest temperature limit of the air in a cabinet", OWN_RULE
)
CABINET_RISE_MAX: Final = Limit(
    150.0,
    "K",
    "greatest rise over ambient the heat balance is offered for; radiation and fire beyond",
    OWN_RULE,
)
COOLING_RESERVE: Final = Limit(
    0.25,
    "1",
    "least share by which the allowed rise exceeds the predicted one for a cabinet to hold",
    OWN_RULE,
)
FAN_TOLERANCE: Final = Limit(
    0.10,
    "1",
    "how far a fan's pressure may lie from its curve, and its flow by the square root of it",
    "ISO 13348, tolerance grade AN4, from memory",
)
HALF_BLOCKED: Final = Limit(
    0.5, "1", "share of an opening that is taken as blocked beside the clean one", OWN_RULE
)
GUARD_MAX: Final = Limit(1000.0, "1", "greatest loss coefficient of a guard", OWN_RULE)
FILTER_MAX: Final = Limit(
    10000.0, "Pa s/m", "greatest resistance of a filter on the velocity in the opening", OWN_RULE
)
FANS_MAX: Final = Limit(24.0, "1", "most fans side by side, and most in a row", OWN_RULE)
SUNLIT_MAX: Final = Limit(100.0, "m2", "largest sunlit area of a cabinet", OWN_RULE)
SURFACE_STILL: Final = Limit(
    2.0 * WALL_U_DEFAULT.value,
    "W/m2K",
    "heat one side of a thin wall gives off to still air and surroundings",
    "computed: a thin wall resists on both sides alike",
)
SURFACE_MOVING: Final = Limit(
    20.0,
    "W/m2K",
    "heat one side of a thin wall gives off to moving air: a breeze outside, a fan inside",
    "common practice, no source; ASHRAE Fundamentals takes 17 outside in summer (3.0 Btu/(h ft2"
    " degF), as an encyclopedia quotes it)",
)
SUN: Final = Limit(
    1000.0,
    "W/m2",
    "strongest sun on a surface that faces it",
    "common practice, no source; IEC 60068-2-5 tests with 1120, 1090 since its corrigendum of 2010"
    " (corrigendum read)",
)
SUN_MAX: Final = Limit(
    1361.0, "W/m2", "sun outside the atmosphere", "total solar irradiance, from memory"
)

# Ranges of the catalogue's columns that no limit above bounds already. Where a rule between columns
# refuses more than a round number would, the bound is that rule's, so that every value a column's
# range allows is one that some row can have.
SLAT_MAX: Final = Limit(6.0, "mm", "thickest slat", OWN_RULE)
PITCH_MIN: Final = Limit(5.0, "mm", "smallest height from slat to slat in one bank", OWN_RULE)
PITCH_MAX: Final = Limit(40.0, "mm", "largest height from slat to slat in one bank", OWN_RULE)
OVERLAP_MIN: Final = Limit(
    SIGHT_MARGIN_MIN.value,
    "mm",
    "least overlap of slats",
    "computed: a level line misses by the overlap, so it is the least sight margin",
)
OVERLAP_MAX: Final = Limit(20.0, "mm", "largest overlap of slats", OWN_RULE)
SLAT_HEIGHT_MIN: Final = Limit(
    3.5, "mm", "lowest slat that banks, films and a clean ceiling leave room for", "found by search"
)
SLAT_HEIGHT_MAX: Final = Limit(40.0, "mm", "highest slat", OWN_RULE)
BANKS_MIN: Final = Limit(1.0, "1", "fewest banks of slats", OWN_RULE)
BANKS_MAX: Final = Limit(6.0, "1", "most banks of slats", OWN_RULE)
BANKS_OUTSIDE_MIN: Final = Limit(0.0, "1", "fewest banks outside the trough", OWN_RULE)
BANKS_OUTSIDE_MAX: Final = Limit(2.0, "1", "most banks outside the trough", OWN_RULE)
MARK_CLEAR: Final = Limit(
    0.9, "mm", "least plain face above and below the mark, two 0.45 mm lines", OWN_RULE
)
BANK_GAP_MAX: Final = Limit(40.0, "mm", "widest clear distance between two banks", OWN_RULE)
BANK_SHIFT_MIN: Final = Limit(0.0, "1", "least height shift of banks, of the pitch", OWN_RULE)
BANK_SHIFT_END: Final = Limit(
    1.0, "1", "height shift of banks, of the pitch, that is none again", "computed: a whole pitch"
)
RIBS_MIN: Final = Limit(0.0, "1", "fewest ribs", OWN_RULE)
RIBS_MAX: Final = Limit(40.0, "1", "most ribs", OWN_RULE)
RIB_MAX: Final = Limit(6.0, "mm", "thickest rib", OWN_RULE)
WALL_MAX: Final = Limit(10.0, "mm", "thickest wall of the body", OWN_RULE)
BACK_PLATE_MIN: Final = Limit(
    1.6,
    "mm",
    "thinnest back plate of a round head",
    "computed: four steps of two layers in which the hole in it becomes round",
)
BACK_PLATE_MAX: Final = Limit(8.0, "mm", "thickest back plate of a round head", OWN_RULE)
WINDOW_MAX: Final = Limit(
    14.0, "mm", "widest window in a rib that carries a back plate", COMMON_PRACTICE
)
FLOOR_SLOPE_MIN: Final = Limit(
    1.0, "deg", "least slope of a floor that still drains", COMMON_PRACTICE
)
FLOOR_SLOPE_MAX: Final = Limit(30.0, "deg", "steepest floor", OWN_RULE)
DRAIN_MAX: Final = Limit(20.0, "mm", "highest drain slot", OWN_RULE)
SILL_MIN: Final = Limit(
    3.1,
    "mm",
    "lowest sill that a line through the lowest drain slot still misses",
    "computed: the least drain and the least sight margin, 2.9 mm, and what the line climbs behind"
    " the deepest stacks, found by search",
)
SILL_MAX: Final = Limit(60.0, "mm", "highest sill", OWN_RULE)
PANEL_MIN: Final = Limit(0.5, "mm", "thinnest cabinet wall", OWN_RULE)
PANEL_MAX: Final = Limit(12.0, "mm", "thickest cabinet wall", OWN_RULE)
REACH_MOST: Final = Limit(
    500.0, "mm", "farthest a requirement may let a vent stand out or reach in", OWN_RULE
)
ORDER_MOST: Final = Limit(1e6, "1", "largest order that is priced", OWN_RULE)
PANEL_PLAY: Final = Limit(
    0.2,
    "mm",
    "how much thicker or thinner than stated a wall may be that a vent grips from both sides",
    "house rule: what cold-rolled sheet of 2 to 3 mm scatters by (EN 10131, from memory)",
)
LIP_WIDTH_MIN: Final = Limit(2.0, "mm", "narrowest lip over the panel", OWN_RULE)
LIP_WIDTH_MAX: Final = Limit(40.0, "mm", "widest lip over the panel", OWN_RULE)
LIP_MIN: Final = Limit(1.6, "mm", "thinnest lip", OWN_RULE)
LIP_MAX: Final = Limit(12.0, "mm", "thickest lip", OWN_RULE)
CORNER_MIN: Final = Limit(
    1.0, "mm", "least corner radius of a lip or flange: sharper corners catch", COMMON_PRACTICE
)
CORNER_MAX: Final = Limit(20.0, "mm", "largest corner radius of a lip or flange", OWN_RULE)
FLANGE_WIDTH_MIN: Final = Limit(
    15.0,
    "mm",
    "narrowest flange",
    "computed: a 4 mm gasket between lands of 1.5 mm, the 7 mm washer of M3 and 1 mm around it",
)
FLANGE_WIDTH_MAX: Final = Limit(80.0, "mm", "widest flange", OWN_RULE)
FLANGE_MIN: Final = Limit(2.0, "mm", "thinnest flange", OWN_RULE)
FLANGE_MAX: Final = Limit(15.0, "mm", "thickest flange", OWN_RULE)
HEAD_MIN: Final = Limit(
    38.0,
    "mm",
    "smallest round head",
    "computed: M20, the gasket of 4 mm between lands of 1.5 mm, and 2 mm around it",
)
HEAD_MAX: Final = Limit(250.0, "mm", "largest round head", OWN_RULE)
NECK_MIN: Final = Limit(
    9.5,
    "mm",
    "shortest neck",
    "computed: the thinnest panel, the 6 mm locknut of M20 and two pitches of 1.5 mm",
)
NECK_MAX: Final = Limit(60.0, "mm", "longest neck", OWN_RULE)
STILL_AIR: Final = Limit(0.0, "m/s", "face velocity of a vent without a fan", OWN_RULE)
NO_DEPRESSION: Final = Limit(0.0, "Pa", "depression of a cabinet without a fan", OWN_RULE)
MOUNTING_TILT_MIN: Final = Limit(
    -MOUNTING_TILT_MAX.value,
    "deg",
    "steepest lean forwards: face down, in a floor",
    "computed: a right angle",
)
MOUNTING_ROLL_MIN: Final = Limit(
    -MOUNTING_ROLL_MAX.value,
    "deg",
    "largest roll anticlockwise: upside down",
    "computed: half a turn",
)
SCREEN_MIN: Final = Limit(
    0.5, "mm", "finest opening of an insect screen: biting midges stay out", COMMON_PRACTICE
)
SCREEN_MAX: Final = Limit(
    4.0, "mm", "widest opening of an insect screen: wasps stay out", COMMON_PRACTICE
)
SCREEN_WIRE_MIN: Final = Limit(0.1, "mm", "thinnest wire of a screen", OWN_RULE)
SCREEN_WIRE_MAX: Final = Limit(1.2, "mm", "thickest wire of a screen", OWN_RULE)
SCREEN_OPEN_MIN: Final = Limit(
    0.3, "1", "least open share of a screen: less is a filter cloth", OWN_RULE
)
SCREEN_WINDOW_MIN: Final = Limit(
    3.0, "mm", "narrowest window of a screen's frame, beside its bar", OWN_RULE
)
SCREEN_PLAY: Final = Limit(
    0.2, "mm", "play of a screen's frame besides the mesh in its rails", COMMON_PRACTICE
)
SCREEN_ERROR: Final = Limit(
    0.3,
    "1",
    "error of a woven screen's loss coefficient",
    "correlations keep within 30 % of more than a thousand measurements, Azizi 2019, Chem. Eng."
    " Sci. 207:464 (abstract read)",
)
PART_NUMBER_LENGTH: Final = Limit(40.0, "1", "longest part number, in characters", OWN_RULE)
DESCRIPTION_LENGTH: Final = Limit(120.0, "1", "longest description, in characters", OWN_RULE)
WALL_LAND: Final = Limit(
    5.0,
    "mm",
    "least metal between a vent's opening and another opening or an edge of the wall",
    COMMON_PRACTICE,
)
SPANNER_PER_FLATS: Final = Limit(
    2.1,
    "1",
    "width of an open-ended spanner's head over the width across flats",
    "ISO 3318, from memory",
)
SPANNER_MORE: Final = Limit(
    7.0, "mm", "what an open-ended spanner's head is wider besides", "ISO 3318, from memory"
)
FACE_DEG: Final = Limit(
    5.0, "deg", "walls that look within so much the same way count as one face", OWN_RULE
)
FACE_MM: Final = Limit(20.0, "mm", "vents within so much of one plane are on one face", OWN_RULE)
FACING_DEG: Final = Limit(
    30.0,
    "deg",
    "half the cone in front of a vent in which another that looks back gets its air",
    COMMON_PRACTICE,
)
LEVEL_MM: Final = Limit(1.0, "mm", "vents whose heights differ by less are level", OWN_RULE)
FAN_FLANGE: Final = Limit(
    5.0, "mm", "flange of a fan's frame that its screws pass, at most", COMMON_PRACTICE
)
