"""All solids of one part, and where they go: in the assembly, and on the print bed."""

from __future__ import annotations

from dataclasses import dataclass

import cadquery as cq

from vent_family.geometry.block import build_block
from vent_family.geometry.gasket import frame_gasket, gasket
from vent_family.geometry.locknut import locknut, locknut_location, simplified_locknut
from vent_family.geometry.opening import panel_piece
from vent_family.geometry.round_head import build_round
from vent_family.spec.vent import BlockBody, GasketSpec, RoundBody, VentSpec


@dataclass(frozen=True, eq=False)
class VentSolids:
    """The solids of one part, each at its own datum; mm.

    ``vent`` has the true thread; ``vent_step`` and ``locknut_step`` are what goes into STEP files
    (simplified threads where the row asks for them). ``gasket_fitted`` is the gasket pressed down
    to its recess. The vent's datum is the outer panel face; gaskets lie on it, locknuts hang
    below it.
    """

    vent: cq.Solid
    vent_step: cq.Solid
    locknut: cq.Solid | None
    locknut_step: cq.Solid | None
    gasket: cq.Solid | None
    gasket_fitted: cq.Solid | None
    panel: cq.Solid

    def companions(self) -> list[tuple[str, cq.Solid]]:
        """Return name and exact solid of everything delivered beside the vent."""
        found = [("locknut", self.locknut), ("gasket", self.gasket)]
        return [(name, solid) for name, solid in found if solid is not None]


@dataclass(frozen=True, eq=False)
class Placed:
    """One member of the assembly: its suffix (empty for the vent), shape and place."""

    name: str
    shape: cq.Solid
    location: cq.Location


def build_solids(spec: VentSpec) -> VentSolids:
    """Return all solids of a part.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid where one is needed
    """
    body = spec.body
    panel = panel_piece(spec)
    if isinstance(body, BlockBody):
        vent = build_block(spec)
        seal = fitted = None
        if body.gasket is not None:
            seal = _gasket(body.gasket, body.gasket.thickness_mm)
            fitted = _gasket(body.gasket, body.gasket.recess_mm)
        return VentSolids(vent, vent, None, None, seal, fitted, panel)
    vent = build_round(spec, true_thread=True)
    nut = locknut(body.thread)
    return VentSolids(
        vent=vent,
        vent_step=vent if body.true_thread else build_round(spec, true_thread=False),
        locknut=nut,
        locknut_step=nut if body.true_thread else simplified_locknut(body.thread),
        gasket=_gasket(body.gasket, body.gasket.thickness_mm),
        gasket_fitted=_gasket(body.gasket, body.gasket.recess_mm),
        panel=panel,
    )


def _gasket(spec: GasketSpec, thickness_mm: float) -> cq.Solid:
    if spec.is_ring:
        return gasket(spec.inner_mm[0], spec.outer_mm[0], thickness_mm)
    return frame_gasket(*spec.outer_mm, *spec.inner_mm, thickness_mm)


def assembled(spec: VentSpec, solids: VentSolids) -> list[Placed]:
    """Return the members of the fitted assembly: vent, panel piece, gasket, locknut."""
    here = cq.Location()
    members = [Placed("", solids.vent_step, here), Placed("panel", solids.panel, here)]
    if solids.gasket_fitted is not None:
        members.append(Placed("gasket", solids.gasket_fitted, here))
    if solids.locknut_step is not None:
        assert isinstance(spec.body, RoundBody)
        place = locknut_location(spec.body.thread, -spec.panel_thickness_mm)
        members.append(Placed("locknut", solids.locknut_step, place))
    return members


def print_location(orientation: str, solid: cq.Solid) -> cq.Location:
    """Return the move that puts a solid on the print bed (z = 0), layers stacking along +z.

    ``face_down`` lays the outer face on the bed, ``upright`` stands the part on its floor.
    """
    angle = 180.0 if orientation == "face_down" else 90.0
    turn = cq.Location(cq.Vector(0, 0, 0), cq.Vector(1, 0, 0), angle)
    low = solid.moved(turn).BoundingBox().zmin
    return cq.Location(cq.Vector(0, 0, -low)) * turn
