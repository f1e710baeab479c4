"""A small kind of evidence that no other file knows of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from matplotlib.figure import Figure

from vent_family.base.frozen import Frozen
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import Fact, Shown, TableColumn, table
from vent_family.evidence.kind import Kind, Picture
from vent_family.evidence.result import CheckResult


@dataclass(frozen=True, slots=True)
class PaintReport:
    """Paint for the whole surface, by coat."""

    surface_mm2: float
    coats_cm3: tuple[float, ...]


class CoatRecord(Frozen):
    """One coat of paint."""

    coat: Annotated[int, Fact("which coat", column=TableColumn("coat"))]
    volume_cm3: Annotated[
        float,
        Fact(
            "paint used", "cm3", attribute="paint_coat_{coat}_cm3", column=TableColumn("cm3", ".3f")
        ),
    ]


class PaintRecord(Frozen):
    """What it takes to paint the part."""

    surface_cm2: Annotated[
        float,
        Fact(
            "surface to paint",
            "cm2",
            attribute="paint_surface_cm2",
            index=Shown("paint_surface_cm2", digits=1),
        ),
    ]
    finish: Annotated[str, Fact("how it looks", attribute="paint_finish")]
    coats: Annotated[list[CoatRecord], Fact("coat by coat")]


class Paint(Kind[PaintReport]):
    """Paint, a tenth of a millimetre thick, in two coats."""

    name = "paint"
    section = "paint"
    record_type = PaintRecord
    binding = False
    heading = "Paint"

    def compute(self, context: PartContext) -> PaintReport:
        area = context.mass(context.solids.vent).area_mm2
        return PaintReport(area, (area * 0.06e-3, area * 0.04e-3))

    def record(self, context: PartContext) -> PaintRecord:
        found = context.of(self)
        coats = [CoatRecord(coat=i + 1, volume_cm3=v) for i, v in enumerate(found.coats_cm3)]
        return PaintRecord(surface_cm2=found.surface_mm2 / 100.0, finish="matt", coats=coats)

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        litres = sum(context.of(self).coats_cm3) / 1000.0
        return (CheckResult("paint: one tin", "pass", "a litre will do", litres, 1.0, "L"),)

    def figures(self, context: PartContext) -> dict[str, Picture]:
        figure = Figure(figsize=(3.0, 2.0))
        figure.subplots().bar(["first", "second"], context.of(self).coats_cm3)
        return {"paint": Picture(figure, "paint by coat")}

    def sentences(self, context: PartContext) -> list[str]:
        return [f"Paint {context.of(self).surface_mm2 / 100.0:.0f} cm2."]

    def chapter(self, context: PartContext) -> list[str]:
        record = self.record(context)
        return [*super().chapter(context), "", *table(record.coats, CoatRecord)]


PAINT = Paint()
