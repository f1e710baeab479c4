"""The typed, frozen model of one catalogue row.

pydantic rather than pandera: a row here is a record with rules between its fields and one error
list per record, not a data frame with column statistics; the same field table also yields the
allowed ranges in messages, the column reference of the documentation and the JSON schema.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from vent_family.base import limits
from vent_family.base.limits import Limit
from vent_family.base.materials import COLOURS, FLAMMABILITY, MATERIALS
from vent_family.catalog.vocabulary import Vocabulary

SizeKind = Literal["opening", "thread"]


@dataclass(frozen=True, slots=True)
class FamilyCells:
    """What the catalogue must know of a family.

    ``size`` is what its size column holds; ``columns`` names the columns that apply to it beyond
    those that apply to every family. For the catalogue's own families the columns say so
    themselves, in the row model below.
    """

    size: SizeKind
    columns: frozenset[str] = frozenset()


FAMILIES: Final = Vocabulary[FamilyCells](
    "family",
    {
        "rectangular": FamilyCells("opening"),
        "round": FamilyCells("thread"),
        "flanged": FamilyCells("opening"),
    },
)
"""Part families that a row can name."""
SLAT_FORMS: Final = Vocabulary[None](
    "slat form", dict.fromkeys(("flat", "inclined", "folded", "channel"))
)
"""Slat forms that a row can name."""

Family = Annotated[str, FAMILIES]
Status = Literal["draft", "released", "retired"]
SlatForm = Annotated[str, SLAT_FORMS]
Orientation = Literal["face_down", "upright"]
Fixing = Literal["snap", "screw"]
LocatingKey = Literal["none", "notch"]
Seal = Literal["none", "gasket"]
StepThread = Literal["helical", "plain"]
StlOrientation = Literal["print", "use"]
FanMountSize = Literal["40", "60", "80", "92", "120"]
FanPosition = Literal["intake", "outlet"]
AirDirection = Literal["in", "out"]
OtherOpenings = Literal["sheltered", "same_side", "lee_side"]
Screw = Literal["M3", "M4", "M5", "M6"]
ScrewFit = Literal["fine", "medium", "coarse"]
MATERIAL_NAMES: Final = Vocabulary[None]("material", dict.fromkeys(MATERIALS))
COLOUR_NAMES: Final = Vocabulary[None]("colour", dict.fromkeys(COLOURS))
FLAMMABILITY_CLASSES: Final = Vocabulary[None]("flammability class", dict.fromkeys(FLAMMABILITY))
MaterialName = Annotated[str, MATERIAL_NAMES]
FlammabilityClass = Annotated[str, FLAMMABILITY_CLASSES]
Colour = Annotated[str, COLOUR_NAMES]

ALL: Final = FAMILIES.own
BLOCK: Final = ("rectangular", "flanged")
OWN_THREE: Final = (*BLOCK, "round")
"""The catalogue's own families, for what families added later need not have: a screen, a key. In
another order than :data:`ALL`, which would give it to them, too."""

ROUND_THREADS: Final = ("M20", "M25", "M32", "M40", "M50", "M63", "M75")
"""Thread sizes of round vents, pitch 1.5 mm: the cable-entry sizes of IEC/EN 60423, from memory."""

SIZE_WORDS: Final[dict[SizeKind, str]] = {
    "opening": "width x height as 80x60, each"
    f" {limits.OPENING_MIN.value:g} to {limits.OPENING_MAX.value:g} mm",
    "thread": f"{', '.join(ROUND_THREADS)}, as {ROUND_THREADS[2]}x1.5",
}
"""What a size looks like, by what it is."""

SIZE_RECTANGULAR: Final = r"[0-9]+(?:\.[0-9]+)?x[0-9]+(?:\.[0-9]+)?"
SIZE_ROUND: Final = r"M[0-9]+x1\.5"
NAME_MOST: Final = int(limits.PART_NUMBER_LENGTH.value)
TEXT_MOST: Final = int(limits.DESCRIPTION_LENGTH.value)
PART_NUMBER: Final = rf"[A-Za-z0-9](?:[A-Za-z0-9._-]{{0,{NAME_MOST - 2}}}[A-Za-z0-9])?"
REVISION: Final = r"[A-Z][A-Z0-9]{0,3}"
REVISION_WORDS: Final = "a capital letter, then up to three capitals or digits"
BANK_GAPS: Final = r"[0-9]+(?:\.[0-9]+)?(?:\s*/\s*[0-9]+(?:\.[0-9]+)?)*"
SLOPES: Final = r"auto|(?:out|in)(?:-(?:out|in))*"


EXPOSURE_NAMES: Final = (
    "rain",
    "heavy_rain",
    "driving_rain",
    "dripping",
    "dripping_tilted",
    "spraying",
    "splashing",
    "jets",
    "strong_jets",
    "hose_down",
)
"""Kinds of water a row can name; what each means is in the water check's table."""
DRY: Final = "dry"
"""The word for a vent that meets no water."""
EXPOSURES: Final = rf"{DRY}|(?:{'|'.join(EXPOSURE_NAMES)})(?:/(?:{'|'.join(EXPOSURE_NAMES)}))*"


def _column(
    text: str,
    unit: str = "",
    families: tuple[str, ...] = ALL,
    default: Any = None,
    allowed: str = "",
    rule: Mapping[str, Any] = MappingProxyType({}),
) -> Any:
    """Describe a column; ``allowed`` says in words what a pattern says in signs."""
    extra: dict[str, Any] = {"unit": unit, "families": list(families)}
    if allowed:
        extra["allowed"] = allowed
    return Field(default=default, description=text, json_schema_extra=extra, **rule)


def _number(
    text: str,
    lowest: Limit,
    highest: Limit,
    families: tuple[str, ...] = ALL,
    *,
    open_end: bool = False,
) -> Any:
    """Describe a column of numbers in the limits' unit; ``open_end`` leaves ``highest`` out."""
    assert lowest.unit == highest.unit
    rule = {"ge": lowest.value, "lt" if open_end else "le": highest.value}
    return _column(text, highest.unit, families, rule=rule)


def _count(text: str, lowest: Limit, highest: Limit, families: tuple[str, ...] = ALL) -> Any:
    """Describe a column of whole numbers."""
    return _column(
        text, families=families, rule={"ge": int(lowest.value), "le": int(highest.value)}
    )


class CatalogRow(BaseModel):
    """One row of ``catalog.csv``; ``None`` means blank, that is, the family's default.

    Lengths in mm, angles in degrees. Field names are the column names.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=False)

    part_number: Annotated[
        str,
        _column(
            "unique part number; also the file name",
            default=...,
            allowed=f"1 to {NAME_MOST} letters, digits, dots, hyphens or underscores; "
            "first and last a letter or digit",
            rule={"pattern": rf"^{PART_NUMBER}$"},
        ),
    ]
    family: Annotated[Family, _column("which of the three part families", default=...)]
    size: Annotated[
        str,
        _column(
            "opening as width x height in mm (80x60), or neck thread for round vents (M32x1.5)",
            default=...,
            rule={"pattern": rf"^(?:{SIZE_RECTANGULAR}|{SIZE_ROUND})$"},
        ),
    ]
    status: Annotated[Status, _column("only released rows are published", default=...)]

    revision: str | None = _column(
        "revision letter",
        allowed=REVISION_WORDS,
        rule={"pattern": rf"^{REVISION}$"},
    )
    description: str | None = _column(
        "one line for people",
        allowed=f"one line of up to {TEXT_MOST} characters",
        rule={"max_length": TEXT_MOST},
    )
    material: MaterialName | None = _column("printing material")
    colour: Colour | None = _column("colour of the plastic")
    flammability_class: FlammabilityClass | None = _column(
        "burning class asked of the plastic, UL 94 or IEC 60695-11-10; blank: none"
    )
    print_orientation: Orientation | None = _column(
        "face_down: outer face on the bed; upright: drain side on the bed (rectangular only)"
    )
    stl_orientation: StlOrientation | None = _column("orientation of the STL file")

    slat_form: SlatForm | None = _column("form of the slats")
    slat_thickness_mm: float | None = _number(
        f"slat thickness; face down {limits.SLAT_MIN_SLANTED.value:g} mm or more if inclined or"
        f" folded, {limits.SLAT_MIN_CHANNEL.value:g} mm or more if channel, upright"
        f" {limits.SLAT_MIN_UPRIGHT.value:g} mm or more",
        limits.SLAT_MIN,
        limits.SLAT_MAX,
    )
    slat_foot_mm: float | None = _number(
        "width of the flats in which acute corners of inclined and folded slats end; upright"
        f" {limits.STRAND_MIN.value:g} mm or more, face down at most as leaves"
        f" {limits.STRAND_MIN.value:g} mm of the slat's end; blank: {limits.STRAND_MIN.value:g} mm,"
        " or less in thin slats, none in round heads printed face down",
        limits.FOOT_MIN,
        limits.FOOT_MAX,
    )
    pitch_mm: float | None = _number(
        "height from slat to slat in one bank", limits.PITCH_MIN, limits.PITCH_MAX
    )
    overlap_mm: float | None = _number(
        "overlap of a slat with the slats of the neighbouring bank",
        limits.OVERLAP_MIN,
        limits.OVERLAP_MAX,
    )
    slat_height_mm: float | None = _number(
        "height of one slat, instead of overlap_mm", limits.SLAT_HEIGHT_MIN, limits.SLAT_HEIGHT_MAX
    )
    bank_count: int | None = _count(
        "number of slat banks, one behind the other", limits.BANKS_MIN, limits.BANKS_MAX
    )
    bank_gaps_mm: str | None = _column(
        "clear distance between banks: one number, or one per gap as 7.5/3/3 from outside in",
        "mm",
        allowed="one number or several with / between them, as 7.5/3/3, each "
        f"{limits.GAP_MIN.value:g} to {limits.BANK_GAP_MAX.value:g} mm",
        rule={"pattern": rf"^{BANK_GAPS}$"},
    )
    banks_outside: int | None = _count(
        "banks that stand in front of the trough and shed outside; 1 or more: the drain opens"
        " downwards behind an apron, and windows in the ribs make one channel of the floor",
        limits.BANKS_OUTSIDE_MIN,
        limits.BANKS_OUTSIDE_MAX,
        OWN_THREE,
    )
    bank_stagger: float | None = _number(
        "height shift from bank to bank, as a fraction of the pitch",
        limits.BANK_SHIFT_MIN,
        limits.BANK_SHIFT_END,
        open_end=True,
    )
    slopes: str | None = _column(
        "inclined slats, from outside in: auto, or out/in per bank as out-in-out",
        allowed="auto, or out and in with hyphens between them, as out-in-out",
        rule={"pattern": rf"^(?:{SLOPES})$"},
    )
    rib_count: int | None = _count(
        "vertical ribs across the banks", limits.RIBS_MIN, limits.RIBS_MAX
    )
    rib_thickness_mm: float | None = _number("rib thickness", limits.WALL_MIN, limits.RIB_MAX)
    wall_mm: float | None = _number("wall of the body", limits.WALL_MIN, limits.WALL_MAX)
    plate_mm: float | None = _number(
        "least thickness of the plates that are floor and ceiling; blank: as wall_mm, of a round"
        " head 2 mm",
        limits.WALL_MIN,
        limits.WALL_MAX,
    )

    floor_slope_deg: float | None = _number(
        "slope of the floor, falling outwards", limits.FLOOR_SLOPE_MIN, limits.FLOOR_SLOPE_MAX
    )
    drain_height_mm: float | None = _number(
        "height of the drain slot", limits.DRAIN_MIN, limits.DRAIN_MAX
    )
    sill_height_mm: float | None = _number(
        "height of the sill above the floor's inner edge", limits.SILL_MIN, limits.SILL_MAX
    )

    panel_thickness_mm: float | None = _number(
        "thickness of the cabinet wall", limits.PANEL_MIN, limits.PANEL_MAX
    )
    lip_width_mm: float | None = _number(
        "how far the lip covers the panel around the opening",
        limits.LIP_WIDTH_MIN,
        limits.LIP_WIDTH_MAX,
        ("rectangular",),
    )
    lip_thickness_mm: float | None = _number(
        "thickness of the lip", limits.LIP_MIN, limits.LIP_MAX, ("rectangular",)
    )
    fixing: Fixing | None = _column("how the block is held", families=("rectangular",))
    seal: Seal | None = _column(
        "gasket: one in the lip's back, with screws all round outside it, as flanged vents have",
        families=("rectangular",),
    )
    locating_key: LocatingKey | None = _column(
        "notch: a ridge below body or neck fits a notch in the opening, so it goes in one way only",
        families=OWN_THREE,
    )
    flange_width_mm: float | None = _number(
        "how far the flange reaches over the panel",
        limits.FLANGE_WIDTH_MIN,
        limits.FLANGE_WIDTH_MAX,
        ("flanged",),
    )
    flange_thickness_mm: float | None = _number(
        "thickness of the flange", limits.FLANGE_MIN, limits.FLANGE_MAX, ("flanged",)
    )
    corner_radius_mm: float | None = _number(
        "corner radius of lip or flange; blank: 4 mm of a lip, 6 mm of a flange, or what has room",
        limits.CORNER_MIN,
        limits.CORNER_MAX,
        BLOCK,
    )
    screw: Screw | None = _column("fixing screw", families=BLOCK)
    screw_fit: ScrewFit | None = _column("clearance hole series of ISO 273", families=BLOCK)
    fan_mount: FanMountSize | None = _column(
        "frame, in mm, of an axial fan screwed to bosses behind the block (printed face down);"
        " blank: none",
        families=BLOCK,
    )
    head_diameter_mm: float | None = _number(
        "outside diameter of the round head", limits.HEAD_MIN, limits.HEAD_MAX, ("round",)
    )
    back_plate_mm: float | None = _number(
        "thickness of a round head's back plate, in front of the panel",
        limits.BACK_PLATE_MIN,
        limits.BACK_PLATE_MAX,
        ("round",),
    )
    neck_length_mm: float | None = _number(
        "length of the threaded neck behind the panel's outer face",
        limits.NECK_MIN,
        limits.NECK_MAX,
        ("round",),
    )
    step_thread: StepThread | None = _column(
        "thread in the STEP file: helical, or a plain cylinder; the STL is always helical",
        families=("round",),
    )

    screen_mm: float | None = _number(
        "opening of an insect screen of woven wire behind the vent; blank: no screen",
        limits.SCREEN_MIN,
        limits.SCREEN_MAX,
        OWN_THREE,
    )
    screen_wire_mm: float | None = _number(
        "wire of the screen; blank: that of a usual mesh",
        limits.SCREEN_WIRE_MIN,
        limits.SCREEN_WIRE_MAX,
        OWN_THREE,
    )

    exposure: str | None = _column(
        "water the vent meets: one kind, or several as rain/splashing",
        allowed=f"{DRY}, or one or several of {', '.join(EXPOSURE_NAMES)} with / between them",
        rule={"pattern": rf"^(?:{EXPOSURES})$"},
    )
    fan: str | None = _column(
        "fan that moves the air: the name of a packaged curve, or a CSV file beside the catalogue",
        allowed="a packaged curve, or a path from the catalogue's folder that ends in .csv,"
        f" up to {TEXT_MOST} characters",
        rule={"max_length": TEXT_MOST},
    )
    fan_position: FanPosition | None = _column(
        "intake: the fan moves outside air in; outlet: it moves inside air out"
    )
    air_direction: AirDirection | None = _column(
        "in: the running fan draws air in through this vent; out: it lets air out"
    )
    vents_in_parallel: int | None = _count(
        "vents like this one that share the fan, as many as stand opposite",
        limits.VENTS_MIN,
        limits.VENTS_MAX,
    )
    opposite_vent: str | None = _column(
        "part number, in this file, of the vents on the air's other way through the cabinet; blank:"
        " the same part",
        allowed="a part number of this file",
        rule={"pattern": rf"^{PART_NUMBER}$"},
    )
    face_velocity_m_s: float | None = _number(
        "air that passes in place of a fan's, flow over the open face",
        limits.STILL_AIR,
        limits.FACE_VELOCITY_MAX,
    )
    extra_depression_pa: float | None = _number(
        "what lowers the pressure over the pool besides the air drawn in through the vent",
        limits.NO_DEPRESSION,
        limits.DEPRESSION_MAX,
    )
    other_openings: OtherOpenings | None = _column(
        "where the cabinet's other openings lie when the wind blows on this vent: sheltered from"
        " it, on the same side, or on the lee side"
    )
    mounting_tilt_deg: float | None = _number(
        "lean of the mounting, positive when the vent's face looks upwards",
        limits.MOUNTING_TILT_MIN,
        limits.MOUNTING_TILT_MAX,
    )
    mounting_roll_deg: float | None = _number(
        "turn of the vent in its opening, positive clockwise as seen from outside",
        limits.MOUNTING_ROLL_MIN,
        limits.MOUNTING_ROLL_MAX,
    )
    cabinet_surface_m2: float | None = _number(
        "outer surface of the cabinet that a nozzle wets in turn; blank: 1 m2, a box of 600 x 400 x"
        " 250 mm",
        limits.CABINET_SURFACE_MIN,
        limits.CABINET_SURFACE_MAX,
    )


REQUIRED: Final = ("part_number", "family", "size", "status")


def column_unit(name: str) -> str:
    """Return the unit of a column, ``""`` for text."""
    return str(_extra(name)["unit"])


def column_families(name: str) -> tuple[str, ...]:
    """Return the families a column applies to, those admitted later included."""
    stated = tuple(_extra(name)["families"])
    return stated + tuple(
        family
        for family in FAMILIES
        if family not in FAMILIES.own and (stated == ALL or name in FAMILIES[family].columns)
    )


def families_sized(kind: SizeKind) -> tuple[str, ...]:
    """Return the families whose size is an opening, or a thread."""
    return tuple(family for family in FAMILIES if FAMILIES[family].size == kind)


def size_words(family: str | None = None) -> str:
    """Return what a size looks like: of one family, or of each."""
    if family is not None:
        return SIZE_WORDS[FAMILIES[family].size]
    return "; ".join(f"{w} ({', '.join(families_sized(k))})" for k, w in SIZE_WORDS.items())


def _extra(name: str) -> dict[str, Any]:
    extra = CatalogRow.model_fields[name].json_schema_extra
    assert isinstance(extra, dict)
    return extra
