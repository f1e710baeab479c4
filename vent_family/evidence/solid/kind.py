"""The solid, its open areas and its thread as kinds of evidence."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vent_family.evidence.kind import Kind
from vent_family.evidence.result import CheckResult
from vent_family.evidence.solid.check import SolidFacts, check_body, check_vent, measure
from vent_family.evidence.solid.envelope import check_envelope
from vent_family.evidence.solid.record import (
    AreasRecord,
    GeometryRecord,
    SliversRecord,
    ThreadSection,
    areas_record,
    geometry_record,
    thread_section,
)
from vent_family.evidence.solid.slivers import check_slivers
from vent_family.spec.areas import VentAreas, areas_of

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


@dataclass(frozen=True, slots=True)
class SolidReport:
    """What was measured on the vent's solid, and the verdicts on it and its companions."""

    facts: SolidFacts
    checks: tuple[CheckResult, ...]


class Solid(Kind[SolidReport]):
    """Is the solid honest: one valid closed body of the volume it should have."""

    name = "solid"
    section = "geometry"
    record_type = GeometryRecord

    def compute(self, context: PartContext) -> SolidReport:
        """Measure the vent and check it, its locknut and its gasket."""
        vent = context.solids.vent
        facts = measure(vent, context.mass(vent))
        found = list(check_vent(context.spec, vent, facts, *context.meshes[""]))
        found += check_envelope(context.envelope, context.meshes[""][0])
        for name, solid in context.solids.companions():
            own = measure(solid, context.mass(solid))
            checks = check_body(solid, own, *context.meshes[name])
            found += [replace(check, name=f"{name}: {check.name}") for check in checks]
        return SolidReport(facts, tuple(found))

    def record(self, context: PartContext) -> GeometryRecord:
        """Return the geometry section."""
        return geometry_record(context.spec, context.of(self).facts)

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdicts on the bodies."""
        return context.of(self).checks


class Areas(Kind[VentAreas]):
    """Open areas from outside in."""

    name = "open areas"
    section = ""
    record_type = AreasRecord

    def compute(self, context: PartContext) -> VentAreas:
        """Return all open areas of the vent."""
        return areas_of(context.spec)

    def record(self, context: PartContext) -> AreasRecord:
        """Return the open areas."""
        return areas_record(context.of(self))


class Thread(Kind[ThreadSection]):
    """The thread as designed."""

    name = "thread"
    section = ""
    record_type = ThreadSection

    def compute(self, context: PartContext) -> ThreadSection:
        """Return the thread of a round vent's neck."""
        return thread_section(context.spec)

    def record(self, context: PartContext) -> ThreadSection:
        """Return the thread."""
        return context.of(self)


class Slivers(Kind[tuple[CheckResult, ...]]):
    """Has the finished solid edges and faces too small to be meant."""

    name = "slivers"
    section = "geometry"
    record_type = SliversRecord

    def compute(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Look through the vent and what goes with it."""
        found = list(check_slivers(context.solids.vent))
        for name, solid in context.solids.companions():
            found += [replace(c, name=f"{name}: {c.name}") for c in check_slivers(solid)]
        return tuple(found)

    def record(self, context: PartContext) -> SliversRecord:
        """Return the vent's shortest edge and smallest face."""
        edge, face = context.of(self)[:2]
        assert edge.value is not None
        assert face.value is not None
        return SliversRecord(shortest_edge_mm=edge.value, smallest_face_mm2=face.value)

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdicts."""
        return context.of(self)


SOLID = Solid()
SLIVERS = Slivers()
AREAS = Areas()
THREAD = Thread()
