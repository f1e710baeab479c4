"""Everything known about one part, each thing made when first asked for and never twice."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

import cadquery as cq

from vent_family.base.frozen import Frozen
from vent_family.base.rates import Rates, demo_rates
from vent_family.evidence.result import CheckResult
from vent_family.geometry.measure import MassProperties, mass_properties
from vent_family.geometry.vent import VentSolids, build_solids, envelope
from vent_family.mesh.vent import Meshes, meshes_of
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    from vent_family.evidence.kind import Kind, Picture

Report = TypeVar("Report")


class PartContext:
    """One part for all kinds of evidence: its specification, solids, meshes and reports.

    Solids, meshes, mass properties and reports are made when first asked for and kept. Solids that
    somebody has made already may be given; they need no plain threads unless files are written.
    """

    def __init__(
        self, spec: VentSpec, rates: Rates | None = None, solids: VentSolids | None = None
    ) -> None:
        # Imported here: the kinds of evidence are made with contexts in mind, not the other way.
        from vent_family.evidence.kinds import KINDS

        self.spec = spec
        self.rates = rates or demo_rates()
        self._given = solids
        self.kinds: tuple[Kind[Any], ...] = tuple(KINDS)
        self._masses: dict[int, tuple[cq.Shape, MassProperties]] = {}
        self._reports: dict[str, Any] = {}
        self._records: dict[str, Frozen] = {}
        self._figures: dict[str, dict[str, Picture]] = {}

    @cached_property
    def solids(self) -> VentSolids:
        """The exact solids.

        Raises
        ------
        GeometryError
            where the kernel makes none
        """
        return build_solids(self.spec) if self._given is None else self._given

    @cached_property
    def envelope(self) -> cq.Solid:
        """The vent's envelope: a solid of few faces that encloses it.

        Raises
        ------
        GeometryError
            where the kernel makes none
        """
        return envelope(self.spec)

    @cached_property
    def meshes(self) -> Meshes:
        """The meshes that are exported, by body."""
        return meshes_of(self.solids)

    def mass(self, shape: cq.Shape) -> MassProperties:
        """Return volume, surface and centroid of one of the part's shapes."""
        key = id(shape)
        if key not in self._masses:
            # The shape is kept beside its numbers, or another one could take its address.
            self._masses[key] = (shape, mass_properties(shape.wrapped))
        return self._masses[key][1]

    def of(self, kind: Kind[Report]) -> Report:
        """Return the report of a kind of evidence."""
        if kind.name not in self._reports:
            self._reports[kind.name] = kind.compute(self)
        report: Report = self._reports[kind.name]
        return report

    def record(self, kind: Kind[Any]) -> Frozen:
        """Return a kind's report as it stands in the record."""
        if kind.name not in self._records:
            self._records[kind.name] = kind.record(self)
        return self._records[kind.name]

    def figures(self, kind: Kind[Any]) -> dict[str, Picture]:
        """Return a kind's pictures by the ending of their file's name."""
        if kind.name not in self._figures:
            self._figures[kind.name] = kind.figures(self)
        return self._figures[kind.name]

    def checks(self, *, binding: bool | None = None) -> tuple[CheckResult, ...]:
        """Return the verdicts of all kinds in order, or of the binding ones or the others only."""
        wanted = [k for k in self.kinds if binding is None or k.binding == binding]
        return tuple(check for kind in wanted for check in kind.checks(self))
