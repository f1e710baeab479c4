"""The kernel's STEP options: process-global, so every one is set for each file and put back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Final

from OCP.Interface import Interface_Static
from OCP.Resource import Resource_DataMapOfAsciiStringAsciiString
from OCP.STEPCAFControl import STEPCAFControl_Controller
from OCP.TCollection import TCollection_AsciiString, TCollection_ExtendedString
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_DocumentTool

_COMMON: Final[dict[str, str]] = {"xstep.cascade.unit": "MM"}

EXPORT_OPTIONS: Final[dict[str, str]] = _COMMON | {
    "write.step.schema": "AP242DIS",
    "write.step.unit": "MM",
    # No curves in the parameter space of the faces: other systems compute their own, and with
    # planar faces the file is less than half the size.
    "write.surfacecurve.mode": "Off",
    # The uncertainty in the file covers the widest gap in the part, not the average one.
    "write.precision.mode": "Max",
    "write.precision.val": "1.e-03",
    "write.step.assembly": "Auto",
    "write.step.vertex.mode": "Compound",
    "write.step.nonmanifold": "Off",
    "write.step.tessellated": "Off",
    "write.stepcaf.subshapes.name": "Off",
    "write.step.product.name": "unnamed",
    "write.step.resource.name": "STEP",
    "write.step.sequence": "ToSTEP",
}

IMPORT_OPTIONS: Final[dict[str, str]] = _COMMON | {
    "read.precision.mode": "File",
    "read.precision.val": "1.e-03",
    "read.maxprecision.mode": "Preferred",
    "read.maxprecision.val": "1.",
    "read.surfacecurve.mode": "Default",
    "read.stdsameparameter.mode": "Off",
    "read.encoderegularity.angle": "0.01",
    "read.step.product.mode": "ON",
    "read.step.product.context": "all",
    "read.step.shape.repr": "All",
    "read.step.shape.relationship": "ON",
    "read.step.shape.aspect": "ON",
    "read.step.constructivegeom.relationship": "OFF",
    "read.step.assembly.level": "all",
    "read.step.root.transformation": "ON",
    "read.step.all.shapes": "Off",
    "read.step.nonmanifold": "Off",
    "read.step.tessellated": "On",
    "read.step.ideas": "Off",
    "read.step.codepage": "UTF8",
    "read.stepcaf.subshapes.name": "Off",
    "read.step.resource.name": "STEP",
    "read.step.sequence": "FromSTEP",
    "step.angleunit.mode": "File",
}

_MENDING: Final = (
    "FixOrientationMode",
    "FixShellOrientationMode",
    "FixFaceOrientationMode",
    "FixSelfIntersectionMode",
    "FixSelfIntersectingEdgeMode",
    "FixIntersectingEdgesMode",
    "FixNonAdjacentIntersectingEdgesMode",
    "FixIntersectingWiresMode",
    "FixLoopWiresMode",
    "FixNotchedEdgesMode",
)
"""What the kernel's reader puts right in shapes besides what it must add to every file: the curves
in the parameter space of the faces, which are not written."""


def unmended() -> Resource_DataMapOfAsciiStringAsciiString:
    """Return the parameters with which the reader leaves shapes as they stand in the file."""
    parameters = Resource_DataMapOfAsciiStringAsciiString()
    for name in _MENDING:
        parameters.Bind(TCollection_AsciiString(f"FixShape.{name}"), TCollection_AsciiString("0"))
    return parameters


@contextmanager
def kernel_options(options: Mapping[str, str]) -> Iterator[None]:
    """Set the kernel's global options for the block, then give back what was there before.

    Raises
    ------
    RuntimeError
        if the kernel does not know an option or refuses its value; a later version may have
        renamed it, and a silently different file would be worse
    """
    # Loads the STEP classes, which bring their options with them; without it none is known.
    STEPCAFControl_Controller.Init_s()
    before: dict[str, str] = {}
    try:
        for name, value in options.items():
            if not Interface_Static.IsPresent_s(name):
                raise RuntimeError(f"the kernel has no option {name!r}")
            before[name] = Interface_Static.CVal_s(name)
            if not Interface_Static.SetCVal_s(name, value):
                raise RuntimeError(f"the kernel refuses the value {value!r} for option {name!r}")
        yield
    finally:
        for name, value in before.items():
            Interface_Static.SetCVal_s(name, value)


def new_document() -> TDocStd_Document:
    """Return an empty document of shapes with names and colours, lengths in millimetres.

    It belongs to no application, which would keep it alive for as long as the process runs.
    """
    document = TDocStd_Document(extended("BinXCAF"))
    XCAFDoc_DocumentTool.SetLengthUnit_s(document, 0.001)
    return document


def extended(text: str) -> TCollection_ExtendedString:
    """Return ``text`` as a string of the kernel, all of Unicode kept."""
    return TCollection_ExtendedString(text, True)
