"""Is the envelope what it says: one valid solid of few faces that encloses the vent."""

from __future__ import annotations

import cadquery as cq
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_OUT

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import ENVELOPE_FACES_MAX, ENVELOPE_OUTSIDE
from vent_family.evidence.result import CheckResult


def check_envelope(envelope: cq.Solid, vertices: FloatArray) -> tuple[CheckResult, ...]:
    """Return whether an envelope encloses a vent, of whose mesh all ``vertices`` (n, 3), mm, lie on
    the vent's faces."""
    valid = envelope.isValid() and len(envelope.Shells()) == 1
    outside, faces = outside_mm(envelope, vertices), len(envelope.Faces())
    held = outside <= ENVELOPE_OUTSIDE.value
    return (
        CheckResult(
            "envelope: valid solid",
            "pass" if valid else "fail",
            "the kernel finds no fault" if valid else "the kernel finds faults",
        ),
        CheckResult(
            "envelope: encloses the vent",
            "pass" if held else "fail",
            "no point of the vent lies outside"
            if held
            else f"the vent reaches {outside:.3f} mm out of it",
            outside,
            ENVELOPE_OUTSIDE.value,
            "mm",
        ),
        CheckResult(
            "envelope: few faces",
            "pass" if faces <= ENVELOPE_FACES_MAX.value else "fail",
            f"{faces} faces",
            float(faces),
            ENVELOPE_FACES_MAX.value,
            "1",
        ),
    )


def outside_mm(envelope: cq.Solid, points: FloatArray) -> float:
    """Return how far the farthest of ``points`` (n, 3), mm, lies outside a solid; 0 if none does.

    Examples
    --------
    >>> import numpy as np
    >>> box = cq.Solid.makeBox(10.0, 10.0, 10.0)
    >>> outside_mm(box, np.array([[5.0, 5.0, 5.0], [10.0, 5.0, 5.0]]))
    0.0
    >>> round(outside_mm(box, np.array([[5.0, 5.0, 5.0], [10.5, 5.0, 5.0]])), 3)
    0.5
    """
    inside = BRepClass3d_SolidClassifier(envelope.wrapped)
    skin = envelope.Shells()[0].wrapped
    farthest = 0.0
    for x, y, z in points:
        inside.Perform(gp_Pnt(x, y, z), ENVELOPE_OUTSIDE.value)
        # Points on a face come out as outside by the kernel's own hair, so it is measured.
        if inside.State() == TopAbs_OUT:
            point = cq.Vertex.makeVertex(x, y, z).wrapped
            farthest = max(farthest, BRepExtrema_DistShapeShape(point, skin).Value())
    return farthest
