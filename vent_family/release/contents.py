"""What the files of one part are written from: its record, meshes, and the parts of its STEP files.

Each thing is made when first asked for and never twice.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import cached_property
from types import MappingProxyType
from typing import Final

import cadquery as cq
import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.shop import CATALOGUE_NAME, ORGANISATION
from vent_family.evidence.as_made.made import mesh_scale, up_axis
from vent_family.evidence.context import PartContext
from vent_family.evidence.kind import DRAWN, EXACT
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.printing.report import Printed
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.header import StepHeader
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.stl import Scale, StlFile, header_text, stl_file
from vent_family.geometry.measure import MassProperties
from vent_family.geometry.vent import Placed, assembled, print_location
from vent_family.release.bodies import BodyMade, body_made
from vent_family.release.discipline import Judgement
from vent_family.release.earlier import released_record
from vent_family.release.record import PartRecord, attributes_of, make_record
from vent_family.release.sheets.opening import OpeningSheet, opening_sheet
from vent_family.release.sheets.views import PartViews, part_views
from vent_family.release.sheets.words import Told

_LYING: Final = MappingProxyType({"locknut": "washer face up", "screen-frame": "as it lies"})
"""How what is printed beside a vent lies on the bed: as its mesh does."""

ENVELOPE_ATTRIBUTES: Final = frozenset(
    {
        "revision",
        "issue",
        "row_hash",
        "datum",
        "opening",
        "opening_width_mm",
        "opening_height_mm",
        "panel_thickness_mm",
        "smallest_open_area",
        "free_area_mm2",
        "free_area_percent",
        "drain_area_mm2",
        "volume_as_made_mm3",
        "printed_mass_g",
        "caution",
    }
)
"""What an envelope says of the vent."""


class Contents:
    """What stands in the files of one part.

    Parameters
    ----------
    context
        the part, examined
    file_names
        names of all files of the part; they stand in its record
    row_hash
        hash of the catalogue row, 16 hexadecimal digits
    time_stamp
        when the files are made, with its offset from UTC
    judgement
        what the release changes; ``None`` for files that are no release
    """

    def __init__(
        self,
        context: PartContext,
        file_names: tuple[str, ...],
        row_hash: str,
        time_stamp: datetime,
        judgement: Judgement | None = None,
    ) -> None:
        self.context = context
        self.file_names = file_names
        self.row_hash = row_hash
        self.time_stamp = time_stamp
        self.judgement = judgement
        self._stl: dict[str, StlFile] = {}

    def number(self, body: str) -> str:
        """Return the part number of a body; the vent's own name is empty."""
        number = self.context.spec.part_number
        return f"{number}-{body}" if body else number

    def stl(self, body: str) -> StlFile:
        """Return a body's STL; the vent's lies as its row says, stretched if the shop says so."""
        if body not in self._stl:
            spec = self.context.spec
            turned = not body and spec.stl_orientation == "print"
            scale = self._scale(body, 2 if turned or body else up_axis(spec))
            self._stl[body] = stl_file(
                *self.context.meshes[body],
                header_text(
                    self.number(body),
                    spec.revision,
                    self.row_hash,
                    scale,
                    "print" if turned or body else "use",
                ),
                print_location(spec.print_orientation, self.context.solids.vent)
                if turned
                else None,
                scale,
            )
        return self._stl[body]

    def _scale(self, body: str, up: int) -> Scale | None:
        """Return by what a body's mesh is stretched; ``up`` is the axis that stands on the bed."""
        if body and self._printed(body) is None:
            return None  # a gasket is cut from sheet
        return mesh_scale(self.context.spec, self.context.rates.shop, up)

    def _printed(self, body: str) -> Printed | None:
        """Return a body as it is printed; ``None`` for what is not."""
        report = self.context.of(PRINTING)
        return report.beside.get(body) if body else report.vent

    @cached_property
    def record(self) -> PartRecord:
        """The part's record."""
        record = make_record(
            self.context,
            row_hash=self.row_hash,
            time_stamp=self.time_stamp.isoformat(timespec="seconds"),
            triangles=self.stl("").facts.triangles,
            files=list(self.file_names),
        )
        return released_record(record, self.judgement) if self.judgement else record

    @cached_property
    def told(self) -> Told:
        """The part's record as it is written: plain data."""
        return self.record.model_dump(mode="json")

    @cached_property
    def views(self) -> PartViews:
        """What the part's sheets show of its solids."""
        return part_views(self.context.spec, self.context.solids)

    def bed(self, body: str) -> tuple[FloatArray, IntArray, dict[str, str]]:
        """Return a body's mesh on the print bed, mm, and what its 3MF file says about it."""
        spec, printed = self.context.spec, self._printed(body)
        assert printed is not None
        scale = self._scale(body, 2)
        vertices = printed.vertices if scale is None else printed.vertices * np.array(scale)
        stretched = {} if scale is None else {"Scaled": _scaled_words(scale)}
        return (
            vertices,
            printed.triangles,
            {
                "Title": self.number(body),
                "Designer": CATALOGUE_NAME,
                "Description": spec.description,
                "CreationDate": self.time_stamp.date().isoformat(),
                "Revision": spec.revision,
                "RowHash": self.row_hash,
                "Material": spec.material.description,
                "PrintOrientation": _LYING[body] if body else spec.print_orientation,
                "PrintSettings": printed.settings.text(),
                "Supports": "none needed",
                **stretched,
            },
        )

    def header(self, file_name: str) -> StepHeader:
        """Return the header of a STEP file."""
        return StepHeader(file_name, CATALOGUE_NAME, ORGANISATION, self.time_stamp)

    @cached_property
    def opening(self) -> OpeningSheet:
        """What to cut for the part, and what it takes up."""
        return opening_sheet(self.context, self.row_hash)

    @cached_property
    def envelope(self) -> StepPart:
        """The vent's envelope, with what an assembly of many parts asks for."""
        stated, made = attributes_of(self.record), body_made(self.context.spec, "")
        return self._step_part(
            "envelope",
            self.context.envelope,
            (
                Attribute("belongs_to", self.number("")),
                *(a for a in stated if a.name in ENVELOPE_ATTRIBUTES),
            ),
            "envelope: outer form only, window and inner side shut, thread plain",
            replace(made, words=f"envelope of {self.number('')}: {made.words}"),
        )

    @cached_property
    def step_parts(self) -> dict[str, StepPart]:
        """What goes into STEP files, by body; the vent's own name is empty."""
        solids, drawn = self.context.solids, self._thread_drawn()
        belongs = (Attribute("belongs_to", self.number("")),)
        shown: list[tuple[str, cq.Shape | None, str]] = [
            ("locknut", solids.locknut_step, drawn),
            ("gasket", solids.gasket, EXACT),
            ("screen-frame", solids.screen_frame_step, drawn),
            ("mesh", solids.mesh_fitted, "a sheet two wires thick"),
            ("panel", solids.panel, EXACT),
        ]
        vent = self._step_part("", solids.vent_step, attributes_of(self.record), drawn)
        return {"": vent} | {
            body: self._step_part(body, shape, belongs, how)
            for body, shape, how in shown
            if shape is not None
        }

    def _step_part(
        self,
        body: str,
        shape: cq.Shape,
        attributes: tuple[Attribute, ...],
        drawn: str,
        made: BodyMade | None = None,
    ) -> StepPart:
        if made is None:
            made = body_made(self.context.spec, body)
        material = made.material
        mass = self.context.mass(shape)
        return StepPart(
            shape=shape,
            part_number=self.number(body),
            name=self.number(body),
            revision=self.context.spec.revision,
            description=made.words,
            colour_rgb=made.colour,
            material=material.name,
            density_g_cm3=material.density_g_cm3,
            attributes=(*attributes, *_drawn(drawn, mass, material.density_g_cm3)),
            material_description=material.description,
            mass=mass,
        )

    def _thread_drawn(self) -> str:
        """Return how threads are drawn."""
        neck = self.context.spec.body.neck
        return EXACT if neck is None or neck.true_thread else f"{EXACT} but for the thread, plain"

    @cached_property
    def assembly(self) -> StepAssembly:
        """Vent, panel piece and what goes with it, as fitted."""
        spec, record = self.context.spec, self.record
        return StepAssembly(
            part_number=self.number("assembly"),
            name=self.number("assembly"),
            revision=spec.revision,
            description=f"{spec.description}: vent, panel piece and what goes with it",
            children=tuple(
                (self._fitted(placed), placed.location, self.number(placed.name))
                for placed in assembled(spec, self.context.solids)
            ),
            attributes=(Attribute("datum", record.datum), Attribute("caution", record.caution)),
        )

    def _fitted(self, placed: Placed) -> StepPart:
        """Return a part as it looks when fitted: a gasket is pressed down to its recess."""
        part = self.step_parts[placed.name]
        if placed.name != "gasket":
            return part
        made = body_made(self.context.spec, placed.name)
        mass = self.context.mass(placed.shape)
        measured = {a.name: a for a in _drawn("as fitted", mass, made.material.density_g_cm3)}
        attributes = tuple(measured.get(a.name, a) for a in part.attributes)
        return replace(
            part,
            shape=placed.shape,
            mass=mass,
            description=made.words_as_fitted,
            attributes=attributes,
        )


def _drawn(what: str, mass: MassProperties, density_g_cm3: float) -> tuple[Attribute, ...]:
    """Return what is said of the very solid in a file: what it shows, and what it measures.

    ``mass`` is measured on it; as its density and its volume say, it weighs ``mass_g``.
    """
    grams = mass.volume_mm3 * density_g_cm3 * 1e-3
    found = (
        Attribute("solid_in_file", what),
        Attribute("volume_mm3", round(mass.volume_mm3, 1), "mm3"),
        Attribute("surface_mm2", round(mass.area_mm2, 1), "mm2"),
        Attribute("mass_g", round(grams, 2), "g"),
    )
    assert {attribute.name for attribute in found} == DRAWN
    return found


def _scaled_words(scale: Scale) -> str:
    """Return in words by what a mesh was stretched."""
    x, y, z = scale
    return f"against shrinkage: x {x:.4f}, y {y:.4f}, z {z:.4f}; do not compensate again"
