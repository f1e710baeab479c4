"""The one plan of files: what is written for a part, by what, and when there is such a file.

The files of a part, the list of them in its record, and the endings that part numbers must not
meet (``catalog.names.FILE_ENDINGS``, which lies below and is held against this plan by a test) all
follow from it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from vent_family.base.atomic import write_bytes
from vent_family.base.materials import COLOURS
from vent_family.evidence.as_made.kind import AS_MADE
from vent_family.evidence.as_made.made import made_of
from vent_family.evidence.context import PartContext
from vent_family.evidence.kinds import KINDS
from vent_family.files.drawing.svg import svg_bytes
from vent_family.files.json import write_json
from vent_family.files.step.write import write_step, write_step_assembly
from vent_family.files.threemf import write_threemf
from vent_family.release.contents import Contents
from vent_family.release.pictures import picture_files
from vent_family.release.product import cut_picture, front_picture
from vent_family.release.report import report_text
from vent_family.release.sheets.datasheet import datasheet_pdf
from vent_family.release.sheets.drawing import (
    DRAWING_MM,
    SECTION_MM,
    part_drawing,
    section_drawing,
)
from vent_family.release.sheets.drill import template_pdf
from vent_family.release.sheets.inspection import inspection_pdf
from vent_family.release.sheets.opening import opening_dxf
from vent_family.release.sheets.turning import turning_model

Exists = Callable[[PartContext], bool]
Write = Callable[[Contents, Path], None]
Stage = Literal["files", "figures", "pictures", "drawings", "sheets"]
FOR_PEOPLE: Final = frozenset({"pictures", "drawings", "sheets"})
"""Stages of what people look at in a library, print and hand on."""


@dataclass(frozen=True, slots=True)
class PlannedFile:
    """A file of a part: its name is the part number and the ending.

    ``exists`` says for which parts there is such a file, ``write`` makes it. ``stage`` is what its
    time is counted as; those of :data:`FOR_PEOPLE` are made for a library, or when asked for.
    """

    ending: str
    exists: Exists
    write: Write
    stage: Stage = "files"


def always(_: PartContext) -> bool:
    """Every part has this file."""
    return True


def has(body: str) -> Exists:
    """Return the rule that a part has a body of this name beside the vent."""
    return lambda context: body in dict(context.solids.companions())


def _step(body: str) -> Write:
    return lambda contents, path: write_step(
        path, contents.step_parts[body], contents.header(path.name)
    )


def _envelope(contents: Contents, path: Path) -> None:
    write_step(path, contents.envelope, contents.header(path.name))


def _stl(body: str) -> Write:
    return lambda contents, path: write_bytes(path, contents.stl(body).data)


def _threemf(body: str) -> Write:
    def write(contents: Contents, path: Path) -> None:
        spec = contents.context.spec
        vertices, triangles, metadata = contents.bed(body)
        write_threemf(
            path,
            part_number=contents.number(body),
            vertices=vertices,
            triangles=triangles,
            material=spec.material.name,
            colour=COLOURS[spec.colour],
            metadata=metadata,
        )

    return write


def _assembly(contents: Contents, path: Path) -> None:
    write_step_assembly(path, contents.assembly, contents.header(path.name))


def _opening(contents: Contents, path: Path) -> None:
    write_bytes(path, opening_dxf(contents.opening, contents.time_stamp))


def _template(contents: Contents, path: Path) -> None:
    write_bytes(path, template_pdf(contents.opening))


def _product(drawn: Callable[[PartContext], bytes]) -> Write:
    return lambda contents, path: write_bytes(path, drawn(contents.context))


def _report(contents: Contents, path: Path) -> None:
    number = contents.context.spec.part_number
    captions = {}
    for kind in KINDS:
        if kind.heading:
            for stem, picture in contents.context.figures(kind).items():
                captions[f"{number}-{stem}.png"] = picture.caption
    text = report_text(contents.context, captions, judgement=contents.judgement)
    write_bytes(path, text.encode("utf-8"))


def _model(contents: Contents, path: Path) -> None:
    write_bytes(path, turning_model(contents.context))


def _record(contents: Contents, path: Path) -> None:
    write_json(path, contents.record.model_dump(mode="json"))


def _drawing(contents: Contents, path: Path) -> None:
    drawing = part_drawing(contents.told, contents.context.spec, contents.views, *DRAWING_MM)
    write_bytes(path, svg_bytes(drawing))


def _section(contents: Contents, path: Path) -> None:
    drawing = section_drawing(contents.told, contents.context.spec, contents.views, *SECTION_MM)
    write_bytes(path, svg_bytes(drawing))


def _datasheet(contents: Contents, path: Path) -> None:
    write_bytes(
        path,
        datasheet_pdf(
            contents.told,
            contents.context.spec,
            contents.views,
            contents.opening,
            contents.time_stamp,
        ),
    )


def _inspection(contents: Contents, path: Path) -> None:
    context = contents.context
    made = made_of(context.spec, context.rates.shop)
    fits = context.of(AS_MADE)
    write_bytes(
        path,
        inspection_pdf(
            contents.told, context.spec, contents.views, fits, made, contents.time_stamp
        ),
    )


PLAN: Final = (
    PlannedFile(".stl", always, _stl("")),
    PlannedFile("-locknut.stl", has("locknut"), _stl("locknut")),
    PlannedFile("-gasket.stl", has("gasket"), _stl("gasket")),
    PlannedFile("-screen-frame.stl", has("screen-frame"), _stl("screen-frame")),
    PlannedFile(".3mf", always, _threemf("")),
    PlannedFile("-locknut.3mf", has("locknut"), _threemf("locknut")),
    PlannedFile("-screen-frame.3mf", has("screen-frame"), _threemf("screen-frame")),
    PlannedFile(".step", always, _step("")),
    PlannedFile("-locknut.step", has("locknut"), _step("locknut")),
    PlannedFile("-gasket.step", has("gasket"), _step("gasket")),
    PlannedFile("-screen-frame.step", has("screen-frame"), _step("screen-frame")),
    PlannedFile("-envelope.step", always, _envelope),
    PlannedFile("-assembly.step", always, _assembly),
    PlannedFile("-front.png", always, _product(front_picture), "pictures"),
    PlannedFile("-cut.png", always, _product(cut_picture), "pictures"),
    PlannedFile("-opening.dxf", always, _opening),
    PlannedFile("-drill.pdf", always, _template, "sheets"),
    PlannedFile("-model.js", always, _model, "pictures"),
    PlannedFile("-drawing.svg", always, _drawing, "drawings"),
    PlannedFile("-section.svg", always, _section, "drawings"),
    PlannedFile("-datasheet.pdf", always, _datasheet, "sheets"),
    PlannedFile("-inspection.pdf", always, _inspection, "sheets"),
    PlannedFile("-print.md", always, _report),
    PlannedFile(".json", always, _record),
)
"""The files of a part besides the pictures that the kinds of evidence bring."""


def planned_files(context: PartContext, *, for_people: bool) -> tuple[PlannedFile, ...]:
    """Return the files of a part in the order in which they are written.

    ``for_people``: also pictures of the product, drawings and sheets.
    """
    wanted = (file for file in PLAN if for_people or file.stage not in FOR_PEOPLE)
    return (*_pictures(context), *(file for file in wanted if file.exists(context)))


def _pictures(context: PartContext) -> Iterator[PlannedFile]:
    for kind in KINDS:
        for stem, picture in context.figures(kind).items():
            for ending, made in picture_files(picture.drawn).items():
                yield PlannedFile(f"-{stem}{ending}", always, _picture(made), "figures")


def _picture(made: Callable[[], bytes]) -> Write:
    return lambda _, path: write_bytes(path, made())
