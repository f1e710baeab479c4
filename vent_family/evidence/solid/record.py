"""What the record says of the solid, its open areas and its thread."""

from __future__ import annotations

from typing import Annotated, Final

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.solid.check import SolidFacts
from vent_family.spec.areas import VentAreas, smallest
from vent_family.spec.vent import VentSpec

LEVELLING: Final = (
    "turn the head until the arrow points up and its two flats stand upright, then tighten the"
    " locknut, which clamps at any angle"
)


class GeometryRecord(Frozen):
    """Measured on the exact solid."""

    volume_mm3: Annotated[
        float,
        Fact(
            "volume of the part as made, true thread and slats included",
            "mm3",
            attribute=Shown("volume_as_made_mm3", digits=1),
            index=Shown("volume_mm3", digits=1),
        ),
    ]
    mass_g: Annotated[
        float,
        Fact(
            "mass of the solid printed full",
            "g",
            index=Shown("mass_g", digits=2, rank=-1),
        ),
    ]
    surface_mm2: Annotated[float, Fact("surface of the solid", "mm2")]
    centroid_mm: Annotated[tuple[float, float, float], Fact("centroid", "mm")]
    box_min_mm: Annotated[tuple[float, float, float], Fact("lowest corner of the box", "mm")]
    box_max_mm: Annotated[tuple[float, float, float], Fact("highest corner of the box", "mm")]
    face_count: Annotated[int, Fact("faces of the solid")]
    slat_count: Annotated[int, Fact("slats of all banks", attribute=Shown("slat_count", rank=1))]
    rib_count: Annotated[int, Fact("ribs between the bays", attribute=Shown("rib_count", rank=1))]
    slat_pitch_mm: Annotated[
        float, Fact("height from slat to slat in one bank", "mm", attribute="slat_pitch_mm")
    ]
    bank_gaps_mm: Annotated[
        list[float], Fact("clear distances between banks, outermost first", "mm")
    ]
    slopes: Annotated[list[str], Fact("which way inclined banks shed, outermost first")]
    sill_height_mm: Annotated[
        float, Fact("top of the sill above the floor", "mm", attribute="sill_height_mm")
    ]
    longest_bridge_mm: Annotated[float, Fact("the widest bay", "mm", attribute="longest_bridge_mm")]
    sight_margin_mm: Annotated[
        float,
        Fact(
            "by how much the nearest straight line misses",
            "mm",
            attribute="sight_margin_mm",
            index=Shown("sight_margin_mm", digits=3, rank=2),
        ),
    ]
    sight_elevation_deg: Annotated[
        float, Fact("elevation of that line", "deg", attribute="sight_elevation_deg")
    ]
    marked_outside: Annotated[
        str, Fact("what is marked on the outer face", attribute="marked_outside")
    ]
    marked_inside: Annotated[
        str,
        Fact("part number and revision as marked inside; empty: none", attribute="marked_inside"),
    ]
    marked_inside_where: Annotated[str, Fact("where that stands, or why nothing does")]


class SliversRecord(Frozen):
    """What is smallest on the exact solid, a thread's own edges and faces left out."""

    shortest_edge_mm: Annotated[float, Fact("shortest edge of the solid", "mm")]
    smallest_face_mm2: Annotated[float, Fact("smallest face of the solid", "mm2")]


def geometry_record(spec: VentSpec, facts: SolidFacts) -> GeometryRecord:
    """Return what was measured on a part's solid, and what its section says."""
    section = spec.section
    return GeometryRecord(
        volume_mm3=facts.volume_mm3,
        mass_g=mass_g(spec, facts.volume_mm3),
        surface_mm2=facts.area_mm2,
        centroid_mm=facts.centroid_mm,
        box_min_mm=facts.box_min_mm,
        box_max_mm=facts.box_max_mm,
        face_count=facts.face_count,
        slat_count=len(section.slats),
        rib_count=spec.rib_count,
        slat_pitch_mm=section.stack.pitch_mm,
        bank_gaps_mm=list(section.stack.gaps_mm),
        slopes=["out" if s > 0 else "in" for s in section.stack.slopes]
        if section.stack.shape.slopes_chosen
        else [],
        sill_height_mm=section.sill_top_mm - section.floor_inner_mm,
        longest_bridge_mm=spec.longest_bridge_mm,
        sight_margin_mm=section.sight.margin_mm,
        sight_elevation_deg=section.sight.elevation_deg,
        marked_outside="arrow and TOP" if spec.mark.has_word else "arrow",
        marked_inside=spec.label.text.upper(),
        marked_inside_where=spec.label.words,
    )


def mass_g(spec: VentSpec, volume_mm3: float) -> float:
    """Return the mass (g) of a solid of ``volume_mm3`` (mm3) printed full."""
    return volume_mm3 * spec.material.density_g_cm3 * 1e-3


class AreaRecord(Frozen):
    """One cross-section's open area, normal to the flow."""

    name: Annotated[str, Fact("which cross-section")]
    z_mm: Annotated[float, Fact("its depth", "mm")]
    area_mm2: Annotated[float, Fact("its open area", "mm2", attribute="open_area_{name:_}_mm2")]


def _smallest_mm2(record: AreasRecord) -> float:
    """Return the open area of the narrowest cross-section, mm2."""
    return next(a.area_mm2 for a in record.open_areas if a.name == record.smallest_area)


class AreasRecord(Frozen):
    """Open areas, cross-section by cross-section from outside in."""

    open_areas: Annotated[list[AreaRecord], Fact("cross-sections from outside in")]
    smallest_area: Annotated[
        str,
        Fact(
            "the narrowest cross-section",
            attribute="smallest_open_area",
            index=(
                Shown("smallest_open_area"),
                Shown("smallest_open_area_mm2", "mm2", of=_smallest_mm2, digits=1),
            ),
        ),
    ]
    drain_area_mm2: Annotated[
        float, Fact("area of all drain slots", "mm2", attribute="drain_area_mm2")
    ]


def areas_record(areas: VentAreas) -> AreasRecord:
    """Return the open areas of a part."""
    return AreasRecord(
        open_areas=[AreaRecord.model_validate(a, from_attributes=True) for a in areas.open],
        smallest_area=smallest(areas.open).name,
        drain_area_mm2=areas.drain_mm2,
    )


class ThreadRecord(Frozen):
    """The neck's thread as designed."""

    designation: Annotated[str, Fact("designation of the thread", attribute="thread_designation")]
    tolerance: Annotated[str, Fact("tolerance class", attribute="thread_tolerance")]
    detail_in_step: Annotated[
        str, Fact("how the thread is drawn in STEP files", attribute="thread_detail")
    ]
    major_mm: Annotated[float, Fact("major diameter", "mm")]
    pitch_diameter_mm: Annotated[float, Fact("pitch diameter", "mm")]
    minor_mm: Annotated[float, Fact("minor diameter", "mm")]
    clearance_normal_mm: Annotated[
        float,
        Fact(
            "clearance to the printed locknut, normal to the flanks and at crest and root",
            "mm",
            attribute="thread_clearance_normal_mm",
        ),
    ]
    neck_length_mm: Annotated[float, Fact("length of the neck", "mm")]
    levelling: Annotated[str, Fact("how to set the vent upright", attribute="levelling")]


class ThreadSection(Frozen):
    """The thread of vents that have one."""

    thread: Annotated[ThreadRecord | None, Fact("null: the part has no thread")]


def thread_section(spec: VentSpec) -> ThreadSection:
    """Return the thread of a part, if it has one."""
    neck = spec.body.neck
    if neck is None:
        return ThreadSection(thread=None)
    profile = neck.thread.external
    return ThreadSection(
        thread=ThreadRecord(
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
    )
