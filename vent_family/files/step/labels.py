"""What stands on the labels of the kernel's document of shapes, into which it reads a file."""

from __future__ import annotations

from typing import Any, Final

import cadquery as cq
from OCP.Quantity import Quantity_ColorRGBA, Quantity_TOC_sRGB
from OCP.TDataStd import TDataStd_Name, TDataStd_NamedData
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.XCAFDoc import (
    XCAFDoc_Centroid,
    XCAFDoc_ColorGen,
    XCAFDoc_ColorSurf,
    XCAFDoc_ColorTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
)

from vent_family.files.step.options import extended
from vent_family.files.step.parts import Colour


def labels_by_identity(document: Any) -> dict[tuple[str, str], TDF_Label]:
    """Return the labels of parts and assemblies by the number and name of their product.

    The reader forgets which entity became which shape, but in metadata mode it notes both on the
    label.
    """
    sequence = TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetShapes(sequence)
    found: dict[tuple[str, str], TDF_Label] = {}
    for index in range(1, sequence.Length() + 1):
        label = sequence.Value(index)
        if not label.IsAttribute(TDataStd_NamedData.GetID_s()):
            continue
        data = TDataStd_NamedData()
        label.FindAttribute(TDataStd_NamedData.GetID_s(), data)
        identity = (_named(data, "ProductID"), _named(data, "ProductName"))
        if any(identity):
            found.setdefault(identity, label)
    return found


def _named(data: TDataStd_NamedData, name: str) -> str:
    key = extended(name)
    return str(data.GetString(key).ToExtString()) if data.HasString(key) else ""


_KINDS: Final = (XCAFDoc_ColorSurf, XCAFDoc_ColorGen)


def own_colour(label: TDF_Label) -> Colour | None:
    """Return the colour of a label itself as sRGB, or None."""
    colour = Quantity_ColorRGBA()
    if any(XCAFDoc_ColorTool.GetColor_s(label, kind, colour) for kind in _KINDS):
        return _srgb(colour)
    return None


def colour_of(document: Any, label: TDF_Label) -> Colour | None:
    """Return the colour of a label as sRGB, or the one its solids have in common, or None."""
    own = own_colour(label)
    if own is not None or XCAFDoc_ShapeTool.IsAssembly_s(label):
        return own
    colour = Quantity_ColorRGBA()
    tool = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    found = set()
    for solid in cq.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label)).Solids():
        coloured = any(tool.GetColor(solid.wrapped, kind, colour) for kind in _KINDS)
        found.add(_srgb(colour) if coloured else None)
    return found.pop() if len(found) == 1 else None


def _srgb(colour: Quantity_ColorRGBA) -> Colour:
    red, green, blue = (float(share) for share in colour.GetRGB().Values(Quantity_TOC_sRGB))
    opacity = float(colour.Alpha())
    return (red, green, blue) if opacity >= 1.0 else (red, green, blue, opacity)


def stored_number(label: TDF_Label, kind: Any) -> float | None:
    """Return a number that the kernel keeps of a label, volume in mm3 or area in mm2, or None."""
    # Asking for an attribute that is not there crashes the interpreter.
    if not label.IsAttribute(kind.GetID_s()):
        return None
    stored = kind()
    label.FindAttribute(kind.GetID_s(), stored)
    return float(stored.Get())


def stored_centroid(label: TDF_Label) -> tuple[float, float, float] | None:
    """Return the centroid (mm) that a file states of a label, or None."""
    if not label.IsAttribute(XCAFDoc_Centroid.GetID_s()):
        return None
    stored = XCAFDoc_Centroid()
    label.FindAttribute(XCAFDoc_Centroid.GetID_s(), stored)
    point = stored.Get()
    return point.X(), point.Y(), point.Z()


def name_of(label: TDF_Label) -> str:
    """Return the name of a label, empty if it has none."""
    if not label.IsAttribute(TDataStd_Name.GetID_s()):
        return ""
    name = TDataStd_Name()
    label.FindAttribute(TDataStd_Name.GetID_s(), name)
    return str(name.Get().ToExtString())


def address(label: TDF_Label) -> str:
    """Return the address of a label in its document, such as ``0:1:1:2``."""
    tags = []
    while not label.IsRoot():
        tags.append(str(label.Tag()))
        label = label.Father()
    return ":".join(reversed(tags))
