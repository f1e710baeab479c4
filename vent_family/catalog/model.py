"""The typed, frozen model of one catalogue row.

pydantic rather than pandera: a row here is a record with rules between its fields and one error
list per record, not a data frame with column statistics; the same field table also yields the
allowed ranges in messages, the column reference in the README and the JSON schema.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from vent_family.base.limits import (
    BANK_GAP_MAX,
    DEPRESSION_MAX,
    FACE_VELOCITY_MAX,
    GAP_MIN,
    MOUNTING_TILT_MAX,
    OPENING_MAX,
    OPENING_MIN,
    SLAT_MIN,
    WALL_MIN,
)
from vent_family.base.materials import MATERIALS
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
SLAT_FORMS: Final = Vocabulary[None]("slat form", dict.fromkeys(("flat", "inclined", "folded")))
"""Slat forms that a row can name."""

Family = Annotated[str, FAMILIES]
Status = Literal["draft", "released", "retired"]
SlatForm = Annotated[str, SLAT_FORMS]
Orientation = Literal["face_down", "upright"]
Fixing = Literal["snap", "screw"]
Key = Literal["none", "notch"]
ThreadDetail = Literal["true", "simplified"]
StlOrientation = Literal["print", "use"]
Screw = Literal["M3", "M4", "M5", "M6"]
ScrewFit = Literal["fine", "medium", "coarse"]
MaterialName = Literal["ASA", "PETG", "PA", "PC", "PP"]
Colour = Literal["light_grey", "dark_grey", "black", "white", "blue"]

assert set(MATERIALS) == set(MaterialName.__args__)  # type: ignore[attr-defined]

ALL: Final = FAMILIES.own
BLOCK: Final = ("rectangular", "flanged")

ROUND_THREADS: Final = ("M20", "M25", "M32", "M40", "M50", "M63", "M75")
"""Thread sizes of round vents, pitch 1.5 mm: the cable-entry sizes of IEC/EN 60423, from memory."""

SIZE_WORDS: Final[dict[SizeKind, str]] = {
    "opening": f"width x height as 80x60, each {OPENING_MIN.value:g} to {OPENING_MAX.value:g} mm",
    "thread": f"{', '.join(ROUND_THREADS)}, as {ROUND_THREADS[2]}x1.5",
}
"""What a size looks like, by what it is."""

SIZE_RECTANGULAR: Final = r"[0-9]+(?:\.[0-9]+)?x[0-9]+(?:\.[0-9]+)?"
SIZE_ROUND: Final = r"M[0-9]+x1\.5"
PART_NUMBER: Final = r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,38}[A-Za-z0-9])?"
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
    **rule: Any,
) -> Any:
    """Describe a column; ``allowed`` says in words what a pattern says in signs."""
    extra: dict[str, Any] = {"unit": unit, "families": list(families)}
    if allowed:
        extra["allowed"] = allowed
    return Field(default=default, description=text, json_schema_extra=extra, **rule)


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
            allowed="1 to 40 letters, digits, dots, hyphens or underscores; "
            "first and last a letter or digit",
            pattern=rf"^{PART_NUMBER}$",
        ),
    ]
    family: Annotated[Family, _column("which of the three part families", default=...)]
    size: Annotated[
        str,
        _column(
            "opening as width x height in mm (80x60), or neck thread for round vents (M32x1.5)",
            default=...,
            pattern=rf"^(?:{SIZE_RECTANGULAR}|{SIZE_ROUND})$",
        ),
    ]
    status: Annotated[Status, _column("only released rows are published", default=...)]

    revision: str | None = _column(
        "revision letter",
        allowed="a capital letter, then up to three capitals or digits",
        pattern=r"^[A-Z][A-Z0-9]{0,3}$",
    )
    description: str | None = _column(
        "one line for people", allowed="one line of up to 120 characters", max_length=120
    )
    material: MaterialName | None = _column("printing material")
    colour: Colour | None = _column("colour of the plastic")
    print_orientation: Orientation | None = _column(
        "face_down: outer face on the bed; upright: drain side on the bed (rectangular only)"
    )
    stl_orientation: StlOrientation | None = _column("orientation of the STL file")

    slat_form: SlatForm | None = _column("form of the slats")
    slat_thickness_mm: float | None = _column("slat thickness", "mm", ge=SLAT_MIN.value, le=6.0)
    pitch_mm: float | None = _column("height from slat to slat in one bank", "mm", ge=5.0, le=40.0)
    overlap_mm: float | None = _column(
        "overlap of a slat with the slats of the neighbouring bank", "mm", ge=-20.0, le=20.0
    )
    slat_height_mm: float | None = _column(
        "height of one slat, instead of overlap_mm", "mm", ge=2.0, le=40.0
    )
    bank_count: int | None = _column("number of slat banks, one behind the other", ge=1, le=6)
    bank_gaps_mm: str | None = _column(
        "clear distance between banks: one number, or one per gap as 7.5/3/3 from outside in",
        "mm",
        allowed="one number or several with / between them, as 7.5/3/3, each "
        f"{GAP_MIN.value:g} to {BANK_GAP_MAX.value:g} mm",
        pattern=rf"^{BANK_GAPS}$",
    )
    bank_shift: float | None = _column(
        "height shift from bank to bank, as a fraction of the pitch", "1", ge=0.0, lt=1.0
    )
    slopes: str | None = _column(
        "inclined slats, from outside in: auto, or out/in per bank as out-in-out",
        allowed="auto, or out and in with hyphens between them, as out-in-out",
        pattern=rf"^(?:{SLOPES})$",
    )
    rib_count: int | None = _column("vertical ribs across the banks", ge=0, le=40)
    rib_thickness_mm: float | None = _column("rib thickness", "mm", ge=WALL_MIN.value, le=6.0)
    wall_mm: float | None = _column("wall of the body", "mm", ge=WALL_MIN.value, le=10.0)

    floor_slope_deg: float | None = _column(
        "slope of the floor, falling outwards", "deg", ge=1.0, le=30.0
    )
    drain_height_mm: float | None = _column("height of the drain slot", "mm", ge=1.0, le=20.0)
    sill_height_mm: float | None = _column(
        "height of the sill above the floor's inner edge", "mm", BLOCK, ge=2.0, le=60.0
    )

    panel_thickness_mm: float | None = _column("thickness of the cabinet wall", "mm", ge=0.5, le=12)
    lip_width_mm: float | None = _column(
        "how far the lip covers the panel around the opening", "mm", ("rectangular",), ge=2, le=40
    )
    lip_thickness_mm: float | None = _column(
        "thickness of the lip", "mm", ("rectangular",), ge=1.6, le=12
    )
    fixing: Fixing | None = _column("how the block is held", families=("rectangular",))
    key: Key | None = _column(
        "notch: a ridge below the body fits a notch in the opening, so it goes in one way only",
        families=BLOCK,
    )
    flange_width_mm: float | None = _column(
        "how far the flange reaches over the panel", "mm", ("flanged",), ge=6, le=80
    )
    flange_thickness_mm: float | None = _column(
        "thickness of the flange", "mm", ("flanged",), ge=2, le=15
    )
    screw: Screw | None = _column("fixing screw", families=BLOCK)
    screw_fit: ScrewFit | None = _column("clearance hole series of ISO 273", families=BLOCK)
    head_diameter_mm: float | None = _column(
        "outside diameter of the round head", "mm", ("round",), ge=20, le=250
    )
    neck_length_mm: float | None = _column(
        "length of the threaded neck behind the panel's outer face", "mm", ("round",), ge=8, le=60
    )
    thread: ThreadDetail | None = _column(
        "thread in the STEP file; the STL always has the true thread", families=("round",)
    )

    exposure: str | None = _column(
        "water the vent meets: one kind, or several as rain/splashing",
        allowed=f"{DRY}, or one or several of {', '.join(EXPOSURE_NAMES)} with / between them",
        pattern=rf"^(?:{EXPOSURES})$",
    )
    face_velocity_m_s: float | None = _column(
        "air drawn in, flow over the open face", "m/s", ge=0.0, le=FACE_VELOCITY_MAX.value
    )
    fan_depression_pa: float | None = _column(
        "pressure inside below the pressure outside", "Pa", ge=0.0, le=DEPRESSION_MAX.value
    )
    mounting_tilt_deg: float | None = _column(
        "lean of the mounting, positive when the vent's face looks upwards",
        "deg",
        ge=-MOUNTING_TILT_MAX.value,
        le=MOUNTING_TILT_MAX.value,
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
