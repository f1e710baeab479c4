"""The record of one part: everything known about it, under a versioned schema.

The record is written as the JSON sidecar; the STEP attributes are a flat view of it.
"""

from __future__ import annotations

from typing import Any, Final, Literal

from pydantic import Field

from vent_family.base.frozen import Frozen
from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.base.version import VERSION
from vent_family.catalog.model import CatalogRow, column_unit
from vent_family.evidence.air.record import AirRecord, air_attributes, air_record
from vent_family.evidence.printing.record import PrintingRecord, printing_attributes
from vent_family.evidence.result import CheckResult
from vent_family.evidence.solid.check import SolidFacts
from vent_family.evidence.water.record import WaterRecord, water_attributes, water_record
from vent_family.evidence.water.report import WaterReport
from vent_family.files.step.attributes import Attribute
from vent_family.spec.areas import drain_area_mm2, open_areas, smallest
from vent_family.spec.body import Neck
from vent_family.spec.vent import VentSpec

SCHEMA_VERSION: Final = "1.0"
DATUM: Final = (
    "outer panel face at Z = 0, +Z outwards, +Y up, drain towards -Y,"
    " origin on the opening's centre"
)
CAUTION: Final = (
    "Predicted values, not a certified IP rating. An accredited laboratory's test, local codes and"
    " a licensed electrician decide. Mind the material's flammability and UV resistance."
)
LEVELLING: Final = (
    "turn the head until the arrow points up and its two flats stand upright, then tighten the"
    " locknut, which clamps at any angle"
)


class Identity(Frozen):
    """Who the part is."""

    part_number: str
    revision: str
    family: str
    size: str
    status: str
    description: str
    colour: str
    row_hash: str = Field(description="hash of the catalogue row, 16 hexadecimal digits")


class MaterialRecord(Frozen):
    """What it is made of."""

    name: str
    description: str
    density_g_cm3: float
    source: str


class OpeningRecord(Frozen):
    """What to cut into the panel."""

    kind: Literal["rectangle", "circle"]
    width_mm: float
    height_mm: float
    notch_width_mm: float | None
    notch_depth_mm: float | None
    holes_mm: list[tuple[float, float, float]] = Field(description="x, y, diameter")
    panel_thickness_mm: float
    text: str


class GeometryRecord(Frozen):
    """Measured on the exact solid."""

    volume_mm3: float
    mass_g: float
    surface_mm2: float
    centroid_mm: tuple[float, float, float]
    box_min_mm: tuple[float, float, float]
    box_max_mm: tuple[float, float, float]
    face_count: int
    slat_count: int
    rib_count: int
    bank_gaps_mm: list[float]
    slopes: list[str]
    sill_height_mm: float
    longest_bridge_mm: float
    sight_margin_mm: float
    sight_elevation_deg: float


class AreaRecord(Frozen):
    """One cross-section's open area, normal to the flow."""

    name: str
    z_mm: float
    area_mm2: float


class ThreadRecord(Frozen):
    """The neck's thread as designed."""

    designation: str
    tolerance: str
    detail_in_step: str
    major_mm: float
    pitch_diameter_mm: float
    minor_mm: float
    clearance_normal_mm: float
    neck_length_mm: float
    levelling: str


class CheckRecord(Frozen):
    """One check's outcome; ``not_run`` never counts as passed."""

    name: str
    verdict: Literal["pass", "fail", "not_run"]
    message: str
    value: float | None
    limit: float | None
    unit: str


class MeshRecord(Frozen):
    """How the STL was made."""

    orientation: Literal["print", "use"]
    chord_tolerance_mm: float
    angular_tolerance_rad: float
    triangles: int
    unit: Literal["mm"] = "mm"


class PartRecord(Frozen):
    """The whole record of one part. Lengths in mm, areas in mm2, volumes in mm3, angles in deg."""

    schema_version: Literal["1.0"] = SCHEMA_VERSION
    generator: str = f"vent-family {VERSION}"
    time_stamp: str
    caution: str = CAUTION
    datum: str = DATUM
    identity: Identity
    catalogue: dict[str, str | int | float] = Field(description="the cells that were filled in")
    material: MaterialRecord
    print_orientation: Literal["face_down", "upright"]
    opening: OpeningRecord
    geometry: GeometryRecord
    open_areas: list[AreaRecord]
    smallest_area: str
    drain_area_mm2: float
    air: AirRecord
    thread: ThreadRecord | None
    mesh: MeshRecord
    printing: PrintingRecord
    water: WaterRecord
    checks: list[CheckRecord]
    files: list[str]


def make_record(
    spec: VentSpec,
    facts: SolidFacts,
    checks: tuple[CheckResult, ...],
    water: WaterReport,
    *,
    row_hash: str,
    time_stamp: str,
    triangles: int,
    files: list[str],
    printing: PrintingRecord,
) -> PartRecord:
    """Return the record of a built and checked part."""
    row, section, opening = spec.row, spec.section, spec.opening
    areas = open_areas(spec)
    return PartRecord(
        time_stamp=time_stamp,
        identity=Identity(
            part_number=row.part_number,
            revision=spec.revision,
            family=row.family,
            size=row.size,
            status=row.status,
            description=spec.description,
            colour=spec.colour,
            row_hash=row_hash,
        ),
        catalogue=filled_cells(row),
        material=MaterialRecord(
            name=spec.material.name,
            description=spec.material.description,
            density_g_cm3=spec.material.density_g_cm3,
            source=spec.material.source,
        ),
        print_orientation=spec.print_orientation,
        opening=OpeningRecord(
            kind=opening.kind,
            width_mm=opening.size_mm[0],
            height_mm=opening.size_mm[1],
            notch_width_mm=opening.notch_mm[0] if opening.notch_mm else None,
            notch_depth_mm=opening.notch_mm[1] if opening.notch_mm else None,
            holes_mm=[(h.x_mm, h.y_mm, h.diameter_mm) for h in opening.holes],
            panel_thickness_mm=spec.panel_thickness_mm,
            text=opening.text(),
        ),
        geometry=GeometryRecord(
            volume_mm3=facts.volume_mm3,
            mass_g=mass_g(spec, facts.volume_mm3),
            surface_mm2=facts.area_mm2,
            centroid_mm=facts.centroid_mm,
            box_min_mm=facts.box_min_mm,
            box_max_mm=facts.box_max_mm,
            face_count=facts.face_count,
            slat_count=len(section.slats),
            rib_count=spec.rib_count,
            bank_gaps_mm=list(section.stack.gaps_mm),
            slopes=["out" if s > 0 else "in" for s in section.stack.slopes]
            if section.stack.shape.slopes_chosen
            else [],
            sill_height_mm=section.sill_top_mm - section.floor_inner_mm,
            longest_bridge_mm=spec.longest_bridge_mm,
            sight_margin_mm=section.sight.margin_mm,
            sight_elevation_deg=section.sight.elevation_deg,
        ),
        open_areas=[AreaRecord(name=a.name, z_mm=a.z_mm, area_mm2=a.area_mm2) for a in areas],
        smallest_area=smallest(areas).name,
        drain_area_mm2=drain_area_mm2(spec),
        air=air_record(spec),
        thread=_thread(spec.body.neck),
        mesh=MeshRecord(
            orientation=spec.stl_orientation,
            chord_tolerance_mm=STL_CHORD.value,
            angular_tolerance_rad=STL_ANGLE.value,
            triangles=triangles,
        ),
        printing=printing,
        water=water_record(water),
        checks=[CheckRecord(**c.as_dict()) for c in checks],
        files=sorted(files),
    )


def filled_cells(row: CatalogRow) -> dict[str, str | int | float]:
    """Return the cells of a row that were filled in, by column name."""
    return {k: v for k, v in row.model_dump().items() if v is not None}


def mass_g(spec: VentSpec, volume_mm3: float) -> float:
    """Return the mass (g) of a solid printed full."""
    return volume_mm3 * spec.material.density_g_cm3 * 1e-3


def _thread(neck: Neck | None) -> ThreadRecord | None:
    if neck is None:
        return None
    profile = neck.thread.external
    return ThreadRecord(
        designation=neck.thread.designation,
        tolerance="6g",
        detail_in_step="true helical" if neck.true_thread else "simplified, major cylinder",
        major_mm=profile.major_mm,
        pitch_diameter_mm=profile.pitch_diameter_mm,
        minor_mm=profile.minor_mm,
        clearance_normal_mm=neck.thread.clearance_normal_mm,
        neck_length_mm=neck.length_mm,
        levelling=LEVELLING,
    )


def attributes_of(record: PartRecord) -> tuple[Attribute, ...]:
    """Return the record as flat, named attributes for STEP files."""
    result: dict[str, Attribute] = {}

    def put(name: str, value: str | int | float | None, unit: str = "") -> None:
        if value is None or value == "":
            return
        if isinstance(value, float) and not unit:
            unit = "1"
        result[name] = Attribute(name, value, "" if isinstance(value, str) else unit)

    for name, value in record.catalogue.items():
        unit = column_unit(name)
        put(name, float(value) if unit and not isinstance(value, str) else value, unit)
    put("revision", record.identity.revision)
    put("print_orientation", record.print_orientation)
    put("row_hash", record.identity.row_hash)
    put("generator", record.generator)
    put("schema_version", record.schema_version)
    put("datum", record.datum)
    put("caution", record.caution)
    put("opening", record.opening.text)
    put("opening_width_mm", record.opening.width_mm, "mm")
    put("opening_height_mm", record.opening.height_mm, "mm")
    put("panel_thickness_mm", record.opening.panel_thickness_mm, "mm")
    geometry: dict[str, Any] = record.geometry.model_dump()
    units = {
        "volume_mm3": "mm3",
        "mass_g": "g",
        "surface_mm2": "mm2",
        "sill_height_mm": "mm",
        "longest_bridge_mm": "mm",
        "sight_margin_mm": "mm",
        "sight_elevation_deg": "deg",
    }
    for name, unit in units.items():
        put(name, float(geometry[name]), unit)
    put("slat_count", record.geometry.slat_count)
    put("rib_count", record.geometry.rib_count)
    for area in record.open_areas:
        put(f"open_area_{area.name.replace(' ', '_')}_mm2", area.area_mm2, "mm2")
    put("smallest_open_area", record.smallest_area)
    put("drain_area_mm2", record.drain_area_mm2, "mm2")
    for stated in air_attributes(record.air):
        put(stated.name, stated.value, stated.unit)
    if record.thread is not None:
        put("thread_designation", record.thread.designation)
        put("thread_tolerance", record.thread.tolerance)
        put("thread_detail", record.thread.detail_in_step)
        put("thread_clearance_normal_mm", record.thread.clearance_normal_mm, "mm")
        put("levelling", record.thread.levelling)
    for stated in printing_attributes(record.printing):
        put(stated.name, stated.value, stated.unit)
    for check in record.checks:
        put(f"check: {check.name}", check.verdict)
    for stated in water_attributes(record.water):
        put(stated.name, stated.value, stated.unit)
    return tuple(result.values())
