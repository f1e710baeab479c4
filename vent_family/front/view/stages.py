"""A part made to be shown, what is quick to have first: section, exact solids, evidence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import cadquery as cq

from vent_family.base.materials import Rgb
from vent_family.base.rates import Rates
from vent_family.enclosure.fasteners import fan_of, fasteners_of
from vent_family.enclosure.members import FittedBody
from vent_family.evidence.context import PartContext
from vent_family.evidence.curves.all import all_curves, quick_curves
from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.front.view.shown import ShownBody, ShownPart, Stage, Wanted
from vent_family.geometry.cross_section import section_slice
from vent_family.geometry.primitives import box
from vent_family.geometry.projection import cut_x_mm
from vent_family.geometry.vent import VentSolids, assembled, build_solids
from vent_family.release.cautions import CAUTION
from vent_family.release.product import CUT_COLOUR, member_colour
from vent_family.spec.vent import VentSpec

_FRONT: Final = (0.55, 0.42, 1.0)
_BESIDE: Final = (1.0, 0.42, 1.0)
"""Towards the viewer: from outside; more from the side, to see curves in the plane of a section."""
_SIDE: Final = (1.0, 0.28, 0.45)
_PLAIN: Final[Rgb] = (0.80, 0.82, 0.84)
_PLAIN_CUT: Final[Rgb] = (0.91, 0.92, 0.93)
"""Parts under curves: whatever colour a curve has stands out from them."""
_CLEAR: Final = 0.22
"""Opacity of what curves lie inside of."""
_BEFORE_MM: Final = 0.06
"""Curves in the plane of a cut are drawn so far in front of it, or its faces would hide them."""
_FAR_MM: Final = 1e3
_ON_PLANE_MM: Final = 1e-6


def stages(spec: VentSpec, wanted: Wanted, rates: Rates | None = None) -> Iterator[ShownPart]:
    """Yield a part as it is shown, each stage instead of the one before.

    The section takes a tenth of a second, the solids of a block a quarter, those of a round vent
    one to two, evidence some seconds.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid where one is needed
    """
    x = cut_x_mm(spec.bays)
    context = PartContext(spec, rates)
    known = quick_curves(context, x) if wanted.evidence else ()
    look = _Look(spec, wanted, x)
    yield look.shown(
        "section", look.opened(spec.part_number, "", section_slice(spec, x)), known, cut=True
    )
    solids = build_solids(spec, stand_ins=False)
    bodies = look.bodies(solids)
    yield look.shown("solid", bodies, known)
    if wanted.evidence:
        known = all_curves(PartContext(spec, context.rates, solids), x)
        yield look.shown("evidence", bodies, known)


class _Look:
    """How one part is to look."""

    def __init__(self, spec: VentSpec, wanted: Wanted, x_mm: float) -> None:
        self._spec, self._wanted, self._x_mm = spec, wanted, x_mm
        self._colours: dict[str, Rgb] = {}

    def shown(
        self,
        stage: Stage,
        bodies: Sequence[ShownBody],
        known: Sequence[Curves],
        *,
        cut: bool = False,
    ) -> ShownPart:
        """Return a stage; ``cut`` says that it is cut open, whatever is wanted."""
        spec, wanted = self._spec, self._wanted
        opened = wanted.section or cut
        if opened:
            known = [curves.left_of(self._x_mm) for curves in known]
        curves = tuple(c.moved((_BEFORE_MM, 0.0, 0.0)) for c in known if c.lines)
        title = f"{spec.part_number}, {spec.description}"
        return ShownPart(
            part_number=spec.part_number,
            title=title,
            stage=stage,
            bodies=tuple(bodies),
            curves=curves,
            towards=_SIDE if opened else _BESIDE if known else _FRONT,
            notes=(CAUTION,) if wanted.evidence else (),
        )

    def bodies(self, solids: VentSolids) -> list[ShownBody]:
        """Return the vent, or all that is fitted, whole or cut open."""
        spec = self._spec
        members: list[tuple[str, cq.Shape]] = [("", solids.vent)]
        if self._wanted.assembly:
            members = [(m.name, m.shape.moved(m.location)) for m in assembled(spec, solids)]
            for body in self._bought(solids):
                self._colours[body.name] = body.colour
                members.append((body.name, body.shape.moved(body.location)))
        if self._wanted.section:
            return [
                body
                for name, shape in members
                for body in self.opened(name or spec.part_number, name, shape)
            ]
        clear = _CLEAR if self._wanted.evidence else 1.0
        return [
            ShownBody(name or spec.part_number, shape, self._colour(name), clear)
            for name, shape in members
        ]

    def _bought(self, solids: VentSolids) -> tuple[FittedBody, ...]:
        """Return screws, washers, nuts and the fan, as assemblies hold them."""
        spec = self._spec
        room = INSTALLED.record(PartContext(spec, solids=solids))
        held = fasteners_of(spec.part_number, room, spec.panel_thickness_mm)
        return (*held, *fan_of(spec.part_number, room))

    def opened(self, title: str, name: str, shape: cq.Shape) -> list[ShownBody]:
        """Return what of a shape lies left of the cut, and its faces in it apart."""
        far = (-_FAR_MM, _FAR_MM)
        left = shape.cut(box((self._x_mm, _FAR_MM), far, far))
        there: list[cq.Face] = []
        others: list[cq.Face] = []
        for face in left.Faces():
            reach = face.BoundingBox()
            flat = max(abs(reach.xmin - self._x_mm), abs(reach.xmax - self._x_mm))
            (there if flat < _ON_PLANE_MM else others).append(face)
        found = []
        if others:
            found.append(ShownBody(title, cq.Compound.makeCompound(others), self._colour(name)))
        if there:
            plain = _PLAIN_CUT if self._wanted.evidence else CUT_COLOUR
            colour = self._colour(name) if name else plain
            found.append(ShownBody(f"{title}, cut", cq.Compound.makeCompound(there), colour))
        return found

    def _colour(self, name: str) -> Rgb:
        if self._wanted.evidence and not name:
            return _PLAIN
        if name in self._colours:
            return self._colours[name]
        return member_colour(self._spec, name)
