"""Print checks of single parts, for front ends: nothing is released."""

from __future__ import annotations

from vent_family.base.shop import Shop
from vent_family.evidence.cost.line import CostLine, cost_line
from vent_family.evidence.printing.chapters import report_text
from vent_family.geometry.vent import build_solids
from vent_family.mesh.vent import meshes_of
from vent_family.release.printing import Printing, check_printing
from vent_family.spec.vent import VentSpec


def printed_part(spec: VentSpec, shop: Shop, rates: str | None = None) -> Printing:
    """Return the print check of a part; its solids are built for it.

    ``rates`` says in the record where the rates of ``shop`` come from.
    """
    meshes = meshes_of(build_solids(spec))
    if rates is None:
        return check_printing(spec, meshes, shop)
    return check_printing(spec, meshes, shop, rates)


def costed_part(spec: VentSpec, shop: Shop) -> CostLine:
    """Return what a part weighs, takes and costs; its solids are built for it."""
    found = printed_part(spec, shop)
    return cost_line(spec.part_number, found.report, found.cost)


def markdown(spec: VentSpec, found: Printing) -> str:
    """Return the print report without its picture."""
    text = report_text(spec, found.record, (*found.checks, *found.advice))
    return "\n".join(line for line in text.splitlines() if not line.startswith("!["))
