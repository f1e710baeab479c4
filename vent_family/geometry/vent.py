"""All solids of one part, and where they go: in the assembly, and on the print bed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cadquery as cq

from vent_family.geometry.families import BUILDERS
from vent_family.geometry.gasket import frame_gasket, gasket
from vent_family.geometry.locknut import locknut, locknut_location, simplified_locknut
from vent_family.geometry.opening import panel_piece
from vent_family.geometry.screen import frame_location, mesh_sheet, screen_frame
from vent_family.spec.body import GasketSpec
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class VentSolids:
    """The solids of one part, each at its own datum; mm.

    ``vent`` has the true thread; ``vent_step``, ``locknut_step`` and ``screen_frame_step`` are what
    goes into STEP files (simplified threads where the row asks for them). ``gasket_fitted`` is the
    gasket pressed down to its recess, ``mesh_fitted`` a screen's mesh as a plain sheet, where it
    lies. The vent's datum is the outer panel face; gaskets lie on it, locknuts hang below it.
    """

    vent: cq.Solid
    vent_step: cq.Solid
    locknut: cq.Solid | None
    locknut_step: cq.Solid | None
    gasket: cq.Solid | None
    gasket_fitted: cq.Solid | None
    screen_frame: cq.Solid | None
    screen_frame_step: cq.Solid | None
    mesh_fitted: cq.Solid | None
    panel: cq.Solid

    def companions(self) -> list[tuple[str, cq.Solid]]:
        """Return name and exact solid of everything delivered beside the vent."""
        found = [
            ("locknut", self.locknut),
            ("gasket", self.gasket),
            ("screen-frame", self.screen_frame),
        ]
        return [(name, solid) for name, solid in found if solid is not None]


@dataclass(frozen=True, eq=False)
class Placed:
    """One member of the assembly: its suffix (empty for the vent), shape and place."""

    name: str
    shape: cq.Solid
    location: cq.Location


def build_solids(spec: VentSpec, *, stand_ins: bool = True) -> VentSolids:
    """Return all solids of a part.

    Parameters
    ----------
    spec
        The part.
    stand_ins
        Whether plain threads are made for STEP files that are to have them; without, those solids
        have true threads, too.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid where one is needed
    """
    builder, neck, seal = BUILDERS[spec.family], spec.body.neck, spec.body.gasket
    screen = spec.body.screen
    vent = builder.vent(spec, true_thread=True)
    true = neck is None or neck.true_thread or not stand_ins
    frame = None if screen is None else screen_frame(screen, spec, true_thread=True)
    nut = None if neck is None else locknut(neck.thread)
    return VentSolids(
        vent=vent,
        vent_step=vent if true else builder.vent(spec, true_thread=False),
        locknut=nut,
        locknut_step=nut if neck is None or true else simplified_locknut(neck.thread),
        gasket=None if seal is None else _gasket(seal, seal.thickness_mm),
        gasket_fitted=None if seal is None else _gasket(seal, seal.recess_mm),
        screen_frame=frame,
        screen_frame_step=frame
        if screen is None or true
        else screen_frame(screen, spec, true_thread=False),
        mesh_fitted=None if screen is None else mesh_sheet(screen, spec),
        panel=panel_piece(spec),
    )


def envelope(spec: VentSpec) -> cq.Solid:
    """Return the vent's envelope: a valid solid of few faces that encloses it, at the same datum.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    return BUILDERS[spec.family].envelope(spec)


def as_envelopes(spec: VentSpec, solids: VentSolids, vent: cq.Solid) -> VentSolids:
    """Return the solids of a part with ``vent`` as its envelope and all threads plain."""
    neck, screen = spec.body.neck, spec.body.screen
    nut = None if neck is None else simplified_locknut(neck.thread)
    frame = None if screen is None else screen_frame(screen, spec, true_thread=False)
    return replace(solids, vent_step=vent, locknut_step=nut, screen_frame_step=frame)


def _gasket(spec: GasketSpec, thickness_mm: float) -> cq.Solid:
    if spec.is_ring:
        return gasket(spec.inner_mm[0], spec.outer_mm[0], thickness_mm)
    return frame_gasket(*spec.outer_mm, *spec.inner_mm, thickness_mm)


def assembled(spec: VentSpec, solids: VentSolids) -> list[Placed]:
    """Return the members of the fitted assembly: vent, panel piece, and what goes with it."""
    here = cq.Location()
    members = [Placed("", solids.vent_step, here), Placed("panel", solids.panel, here)]
    if solids.gasket_fitted is not None:
        members.append(Placed("gasket", solids.gasket_fitted, here))
    if solids.locknut_step is not None and spec.body.neck is not None:
        place = locknut_location(spec.body.neck.thread, -spec.panel_thickness_mm)
        members.append(Placed("locknut", solids.locknut_step, place))
    if solids.mesh_fitted is not None:
        members.append(Placed("mesh", solids.mesh_fitted, here))
    if solids.screen_frame_step is not None and spec.body.screen is not None:
        place = frame_location(spec.body.screen)
        members.append(Placed("screen-frame", solids.screen_frame_step, place))
    return members


def print_location(orientation: str, solid: cq.Solid) -> cq.Location:
    """Return the move that puts a solid on the print bed (z = 0), layers stacking along +z.

    ``face_down`` lays the outer face on the bed, ``upright`` stands the part on its floor.
    """
    angle = 180.0 if orientation == "face_down" else 90.0
    turn = cq.Location(cq.Vector(0, 0, 0), cq.Vector(1, 0, 0), angle)
    low = solid.moved(turn).BoundingBox().zmin
    return cq.Location(cq.Vector(0, 0, -low)) * turn
