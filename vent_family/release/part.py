"""Build, check and write one part: the work of one catalogue row."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

import cadquery as cq

from vent_family.base.atomic import staged_folder, write_bytes
from vent_family.base.materials import (
    COLOURS,
    GASKET_COLOUR,
    GASKET_MATERIAL,
    PANEL_COLOUR,
    PANEL_MATERIAL,
    Material,
    Rgb,
)
from vent_family.evidence.context import PartContext
from vent_family.evidence.result import CheckResult
from vent_family.files.json import write_json
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.write import StepHeader, StepPart, write_step, write_step_assembly
from vent_family.files.stl import header_text, write_mesh
from vent_family.geometry.vent import (
    Placed,
    assembled,
    print_location,
)
from vent_family.release.bed import write_bed_meshes
from vent_family.release.examine import examined
from vent_family.release.pictures import write_pictures
from vent_family.release.record import PartRecord, attributes_of, make_record
from vent_family.release.report import report_text
from vent_family.spec.vent import VentSpec

AUTHOR: Final = "vent-family catalogue"
ORGANISATION: Final = "hatchery vent shop (demo)"


@dataclass(frozen=True, slots=True)
class PartFile:
    """One written file: name and size in bytes."""

    name: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class ReleasedPart:
    """What came of releasing one part."""

    record: PartRecord
    checks: tuple[CheckResult, ...]
    files: tuple[PartFile, ...]


def release_part(
    spec: VentSpec, target: Path, *, row_hash: str, time_stamp: datetime
) -> ReleasedPart:
    """Build, check and write one part into the folder ``target``, whole or not at all.

    Raises
    ------
    CheckFailedError
        if the solid or one of its companions fails a check
    OSError
        if the files cannot be written
    """
    context = examined(spec)
    with staged_folder(target) as folder:
        record = write_files(context, folder, row_hash, time_stamp)
        files = tuple(PartFile(path.name, path.stat().st_size) for path in sorted(folder.iterdir()))
    return ReleasedPart(record, context.checks(), files)


def write_files(
    context: PartContext, folder: Path, row_hash: str, time_stamp: datetime
) -> PartRecord:
    """Write all files of the part into ``folder`` and return its record."""
    spec, solids = context.spec, context.solids
    number = spec.part_number
    turned = spec.stl_orientation == "print"
    mesh = write_mesh(
        folder / f"{number}.stl",
        *context.meshes[""],
        header_text(number, spec.revision, row_hash),
        print_location(spec.print_orientation, solids.vent) if turned else None,
    )
    names = [f"{number}.step", f"{number}.stl", f"{number}.json", f"{number}-assembly.step"]
    for name, _ in solids.companions():
        names += [f"{number}-{name}.step", f"{number}-{name}.stl"]
    pictures = write_pictures(folder, context)
    names += [*pictures, *write_bed_meshes(folder, context, row_hash, time_stamp)]
    names.append(f"{number}-print.md")
    record = make_record(
        context,
        row_hash=row_hash,
        time_stamp=time_stamp.isoformat(timespec="seconds"),
        triangles=mesh.triangles,
        files=names,
    )

    def header(name: str) -> StepHeader:
        return StepHeader(name, AUTHOR, ORGANISATION, time_stamp)

    parts = _step_parts(context, record)
    for suffix, part in parts.items():
        if suffix == "panel":
            continue
        name = f"{number}{'-' + suffix if suffix else ''}.step"
        write_step(folder / name, part, header(name))
    for name, _ in solids.companions():
        text = header_text(f"{number}-{name}", spec.revision, row_hash)
        write_mesh(folder / f"{number}-{name}.stl", *context.meshes[name], text)
    children = [
        (_fitted(parts[p.name], p, context), p.location, f"{number}-{p.name}" if p.name else number)
        for p in assembled(spec, solids)
    ]
    name = f"{number}-assembly.step"
    write_step_assembly(
        folder / name,
        part_number=f"{number}-assembly",
        name=f"{number}-assembly",
        revision=spec.revision,
        description=f"{spec.description}: vent, panel piece and what goes with it",
        children=children,
        header=header(name),
        attributes=(Attribute("datum", record.datum), Attribute("caution", record.caution)),
    )
    captions = {name: caption for name, caption in pictures.items() if caption}
    write_bytes(folder / f"{number}-print.md", report_text(context, captions).encode("utf-8"))
    write_json(folder / f"{number}.json", record.model_dump(mode="json"))
    return record


def _fitted(part: StepPart, placed: Placed, context: PartContext) -> StepPart:
    """Return a part as it looks when fitted: a gasket is pressed down to its recess."""
    if placed.name != "gasket":
        return part
    text = part.description.replace("free thickness", "drawn as fitted")
    return replace(part, shape=placed.shape, mass=context.mass(placed.shape), description=text)


def _step_parts(context: PartContext, record: PartRecord) -> dict[str, StepPart]:
    """Return what goes into STEP files, by suffix; the vent's own suffix is empty."""
    spec, solids = context.spec, context.solids
    vent_colour = COLOURS[spec.colour]

    def part(
        suffix: str,
        shape: cq.Shape,
        text: str,
        colour: Rgb,
        material: Material,
        attributes: tuple[Attribute, ...],
    ) -> StepPart:
        number = f"{spec.part_number}-{suffix}" if suffix else spec.part_number
        return StepPart(
            shape=shape,
            part_number=number,
            name=number,
            revision=spec.revision,
            description=text,
            colour_rgb=colour,
            material=material.name,
            density_g_cm3=material.density_g_cm3,
            attributes=attributes,
            material_description=material.description,
            mass=context.mass(shape),
        )

    belongs = (Attribute("belongs_to", spec.part_number),)
    parts = {
        "": part(
            "",
            solids.vent_step,
            spec.description,
            vent_colour,
            spec.material,
            attributes_of(record),
        )
    }
    if solids.locknut_step is not None:
        text = f"locknut for {spec.part_number}"
        parts["locknut"] = part(
            "locknut", solids.locknut_step, text, vent_colour, spec.material, belongs
        )
    if solids.gasket is not None:
        text = f"gasket for {spec.part_number}, free thickness"
        parts["gasket"] = part(
            "gasket", solids.gasket, text, GASKET_COLOUR, GASKET_MATERIAL, belongs
        )
    parts["panel"] = part(
        "panel",
        solids.panel,
        f"piece of panel for {spec.part_number}",
        PANEL_COLOUR,
        PANEL_MATERIAL,
        belongs,
    )
    return parts
