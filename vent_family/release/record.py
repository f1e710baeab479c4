"""The record of one part: everything known about it, under a versioned schema.

The record is written as the JSON sidecar; STEP attributes and the library's index are flat views of
it. Its head is defined here, its sections come from the kinds of evidence.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Annotated, Any, Final, Literal

from pydantic import Field, create_model

from vent_family.base.frozen import Frozen
from vent_family.base.limits import OPENING_OVERSIZE, STL_ANGLE, STL_CHORD
from vent_family.base.schemas import identified
from vent_family.base.version import VERSION
from vent_family.catalog.hashing import filled_cells
from vent_family.catalog.model import Orientation, StlOrientation, column_unit
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import Fact, Shown, Stated, faults, stated
from vent_family.evidence.kind import Kind, section_record, stated_names
from vent_family.evidence.kinds import KINDS
from vent_family.evidence.rounding import worth
from vent_family.files.step.attributes import Attribute
from vent_family.release.bar import CURRENT
from vent_family.release.cautions import CAUTION
from vent_family.spec.body import OPENINGS
from vent_family.spec.vent import DATUM

SCHEMA_VERSION: Final = "1.0"


class Identity(Frozen):
    """Who the part is."""

    part_number: Annotated[str, Fact("part number")]
    revision: Annotated[str, Fact("revision letter", attribute="revision", index="revision")]
    family: Annotated[str, Fact("part family", index=Shown("family", rank=-1))]
    size: Annotated[str, Fact("size as in the catalogue", index=Shown("size", rank=-1))]
    status: Annotated[str, Fact("draft, released or retired")]
    description: Annotated[str, Fact("the part in one line", index="description")]
    colour: Annotated[str, Fact("colour of the plastic")]
    row_hash: Annotated[
        str, Fact("hash of the catalogue row, 16 hexadecimal digits", index="row_hash")
    ]
    issue: Annotated[
        int | None,
        Fact(
            "issue of the revision: raised with its figures; null: not released",
            attribute="issue",
            index="issue",
        ),
    ] = None


class ReleaseRecord(Frozen):
    """What this issue changed, and what identifies it in the register of releases."""

    change: Annotated[
        Literal["new", "revision", "evidence", "returned"],
        Fact(
            "the part is new, its revision was raised, its figures changed, or it was withdrawn"
            " and returned",
            index="change",
        ),
    ]
    before: Annotated[str, Fact("revision and issue before, as A.1; empty: none")]
    changes: Annotated[list[str], Fact("what changed, verdicts that got worse first")]
    fit: Annotated[str, Fact("what other parts must fit, in one line")]
    design: Annotated[str, Fact("how the vent is laid out, in one line")]
    designed_volume_mm3: Annotated[
        float, Fact("volume without its mark, reckoned from the row", "mm3")
    ]
    geometry: Annotated[dict[str, str], Fact("fingerprint of each body")]
    evidence: Annotated[str, Fact("hash of the figures, 16 hexadecimal digits")]


class MaterialRecord(Frozen):
    """What it is made of."""

    name: Annotated[str, Fact("short name of the material")]
    description: Annotated[str, Fact("the material in words")]
    density_g_cm3: Annotated[float, Fact("density", "g/cm3")]
    source: Annotated[str, Fact("where the density comes from")]


class OpeningRecord(Frozen):
    """What to cut into the panel."""

    kind: Annotated[str, OPENINGS, Fact("shape of the opening")]
    width_mm: Annotated[float, Fact("width", "mm", attribute="opening_width_mm")]
    height_mm: Annotated[float, Fact("height", "mm", attribute="opening_height_mm")]
    oversize_max_mm: Annotated[
        float,
        Fact(
            "by how much width and height may be cut larger; smaller they may not be",
            "mm",
            attribute="opening_oversize_max_mm",
        ),
    ]
    notch_width_mm: Annotated[float | None, Fact("width of the key notch; null: none", "mm")]
    notch_depth_mm: Annotated[float | None, Fact("depth of the key notch; null: none", "mm")]
    holes_mm: Annotated[list[tuple[float, float, float]], Fact("x, y, diameter", "mm")]
    corner_radius_max_mm: Annotated[
        float | None,
        Fact(
            "largest radius that the opening's corners may have; null: it has no corners",
            "mm",
            attribute="opening_corner_radius_max_mm",
        ),
    ]
    panel_thickness_mm: Annotated[
        float, Fact("thickness of the panel", "mm", attribute="panel_thickness_mm")
    ]
    text: Annotated[
        str, Fact("the opening in words", attribute=Shown("opening", rank=-1), index="opening")
    ]


class ShopRecord(Frozen):
    """Whose table the printing, times and costs follow."""

    table: Annotated[str, Fact("where the shop's settings and rates come from")]
    table_hash: Annotated[
        str,
        Fact(
            "hash of the table's values, 16 hexadecimal digits",
            attribute=Shown("shop_hash", rank=-4),
            index="shop_hash",
        ),
    ]


class MeshRecord(Frozen):
    """How the STL was made."""

    orientation: Annotated[StlOrientation, Fact("how the part lies in the file")]
    chord_tolerance_mm: Annotated[float, Fact("distance of facets from faces", "mm")]
    angular_tolerance_rad: Annotated[float, Fact("turn from facet to facet", "rad")]
    triangles: Annotated[int, Fact("number of triangles")]
    unit: Annotated[Literal["mm"], Fact("unit of the file")] = "mm"


def _cells(record: PartRecord) -> Iterator[Stated]:
    """Return the filled-in cells, numbers with the unit of their column."""
    for name, value in record.catalogue.items():
        unit = column_unit(name)
        if value == "":
            continue
        if isinstance(value, str):
            yield Stated(name, value)
        elif isinstance(value, float) or unit:
            yield Stated(name, float(value), unit or "1")
        else:
            yield Stated(name, value)


def _own_cells(record: PartRecord) -> Iterator[Stated]:
    """Return the cells of the writer's own columns."""
    return (Stated(name, text) for name, text in record.own.items())


class PartRecord(Frozen):
    """The whole record of one part. Lengths in mm, areas in mm2, volumes in mm3, angles in deg."""

    schema_version: Annotated[
        Literal["1.0"],
        Fact("version of this schema", attribute=Shown("schema_version", rank=-2)),
    ] = SCHEMA_VERSION
    generator: Annotated[
        str, Fact("what made the record", attribute=Shown("generator", rank=-3))
    ] = f"vent-family {VERSION}"
    time_stamp: Annotated[str, Fact("when it was made, UTC")]
    caution: Annotated[str, Fact("how far to trust it", attribute=Shown("caution", rank=-1))] = (
        CAUTION
    )
    datum: Annotated[str, Fact("where the origin lies", attribute=Shown("datum", rank=-2))] = DATUM
    identity: Annotated[
        Identity,
        Fact(
            "who the part is",
            attribute=Shown("row_hash", "", of=lambda r: r.identity.row_hash, rank=-4),
            rank=-6,
        ),
    ]
    catalogue: Annotated[
        dict[str, str | int | float],
        Fact("the cells that were filled in", "unit of the column", attribute=_cells, rank=-7),
    ]
    own: Annotated[
        dict[str, str],
        Fact("columns of one's own, x_…: text that decides nothing", index=_own_cells, rank=3),
    ] = Field(default_factory=dict)
    material: Annotated[MaterialRecord, Fact("what it is made of")]
    print_orientation: Annotated[
        Orientation,
        Fact(
            "how it lies on the bed",
            attribute=Shown("print_orientation", rank=-5),
            index=Shown("print_orientation", rank=1),
        ),
    ]
    opening: Annotated[OpeningRecord, Fact("what to cut into the panel", rank=-1)]
    mesh: Annotated[MeshRecord, Fact("how the STL was made")]
    shop: Annotated[ShopRecord, Fact("whose settings and rates", rank=-6)]
    standing: Annotated[
        str,
        Fact(
            "whether the part may be fitted by what is predicted now: current, or why not",
            index=Shown("standing", rank=2),
        ),
    ] = CURRENT
    release: Annotated[
        ReleaseRecord | None, Fact("what this issue changed; null: not released", rank=-6)
    ] = None
    files: Annotated[list[str], Fact("all files of the part")]


def record_type() -> type[PartRecord]:
    """Return the model of a part's record with the sections of all kinds of evidence.

    Raises
    ------
    ValueError
        if a kind of evidence has a field or states a name that the record's head has itself
    """
    return _record_type(tuple(KINDS))


def record_schema() -> dict[str, Any]:
    """Return the JSON schema of a part's record."""
    schema = record_type().model_json_schema()
    return identified(schema, "part", SCHEMA_VERSION, schema["description"])


@lru_cache(maxsize=8)
def _record_type(kinds: tuple[Kind[Any], ...]) -> type[PartRecord]:
    fields: dict[str, Any] = dict(KINDS.record_fields())
    wrong = faults(PartRecord)
    taken = sorted(set(fields) & set(PartRecord.model_fields))
    wrong += [f"the record has a field {name!r} of its own" for name in taken]
    own = stated_names(PartRecord)
    for kind in kinds:
        both = sorted(own & stated_names(kind.record_type))
        wrong += [f"{kind.name} states {name!r}, which the record states itself" for name in both]
    if wrong:
        raise ValueError("; ".join(wrong))
    words = PartRecord.__doc__
    return create_model("PartRecord", __base__=PartRecord, __doc__=words, **fields)


def make_record(
    context: PartContext, *, row_hash: str, time_stamp: str, triangles: int, files: list[str]
) -> PartRecord:
    """Return the record of a built and checked part."""
    spec = context.spec
    row, opening = spec.row, spec.opening
    sections: dict[str, Any] = {}
    for section, kinds in KINDS.sections().items():
        if section:
            sections[section] = section_record(kinds, context)
        else:
            for kind in kinds:
                part = context.record(kind)
                sections |= {name: getattr(part, name) for name in type(part).model_fields}
    return record_type()(
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
        own=dict(spec.attached.own),
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
            oversize_max_mm=OPENING_OVERSIZE.value,
            notch_width_mm=opening.notch_mm[0] if opening.notch_mm else None,
            notch_depth_mm=opening.notch_mm[1] if opening.notch_mm else None,
            holes_mm=[(h.x_mm, h.y_mm, h.diameter_mm) for h in opening.holes],
            corner_radius_max_mm=opening.corner_max_mm,
            panel_thickness_mm=spec.panel_thickness_mm,
            text=opening.text(),
        ),
        mesh=MeshRecord(
            orientation=spec.stl_orientation,
            chord_tolerance_mm=STL_CHORD.value,
            angular_tolerance_rad=STL_ANGLE.value,
            triangles=triangles,
        ),
        shop=ShopRecord(**context.rates.as_dict()),
        files=sorted(files),
        **sections,
    )


def attributes_of(record: PartRecord) -> tuple[Attribute, ...]:
    """Return the record as flat, named attributes for STEP files, at what their numbers are worth.

    What the catalogue says stays as it was written.
    """
    return tuple(
        Attribute(s.name, s.value if s.name in record.catalogue else worth(s.value, s.unit), s.unit)
        for s in stated(record, "attribute")
    )


def index_facts(record: PartRecord) -> dict[str, str | int | float]:
    """Return the record's key facts for the library's index."""
    return {s.name: s.value for s in stated(record, "index")}


def section_of(context: PartContext, section: str) -> Frozen:
    """Return one section of a part's record.

    Raises
    ------
    KeyError
        if there is none of that name
    """
    return section_record(KINDS.sections()[section], context)
