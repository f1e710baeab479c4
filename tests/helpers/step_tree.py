"""The tree in a STEP file, by the kernel's reader alone: the package has no part in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
from OCP.IFSelect import IFSelect_RetDone
from OCP.Quantity import Quantity_ColorRGBA, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFDoc import (
    XCAFDoc_ColorGen,
    XCAFDoc_ColorSurf,
    XCAFDoc_ColorTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
)


@dataclass(frozen=True)
class Leaf:
    """One use of a part: names from the top down, shape in its place, colour with opacity."""

    path: tuple[str, ...]
    product: str
    shape: cq.Shape
    colour: tuple[float, ...] | None


def leaves(path: Path) -> list[Leaf]:
    """Return every use of a part in a file, in file order, and with it its product's name."""
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetColorMode(True)
    reader.SetNameMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    assert reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    roots = TDF_LabelSequence()
    tool.GetFreeShapes(roots)
    assert roots.Length() == 1, "one whole"
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    return list(_below(roots.Value(1), TopLoc_Location(), (), None, colours))


def _below(
    label: TDF_Label,
    place: TopLoc_Location,
    path: tuple[str, ...],
    colour: tuple[float, ...] | None,
    colours: XCAFDoc_ColorTool,
) -> Iterator[Leaf]:
    if not XCAFDoc_ShapeTool.IsAssembly_s(label):
        shape = XCAFDoc_ShapeTool.GetShape_s(label)
        placed = cq.Shape.cast(shape.Moved(place))
        own = colour or _colour(label) or _of_solids(shape, colours)
        yield Leaf(path, _name(label), placed, own)
        return
    parts = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetComponents_s(label, parts, False)
    for index in range(1, parts.Length() + 1):
        component, product = parts.Value(index), TDF_Label()
        assert XCAFDoc_ShapeTool.GetReferredShape_s(component, product)
        there = place.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(component))
        yield from _below(product, there, (*path, _name(component)), _colour(component), colours)


def _of_solids(shape: object, colours: XCAFDoc_ColorTool) -> tuple[float, ...] | None:
    found = set()
    for solid in cq.Shape.cast(shape).Solids():
        colour = Quantity_ColorRGBA()
        there = colours.GetColor(solid.wrapped, XCAFDoc_ColorSurf, colour)
        found.add(_shares(colour) if there else None)
    assert len(found) == 1, "all solids of a part have one colour"
    return found.pop()


def _colour(label: TDF_Label) -> tuple[float, ...] | None:
    colour = Quantity_ColorRGBA()
    for kind in (XCAFDoc_ColorSurf, XCAFDoc_ColorGen):
        if XCAFDoc_ColorTool.GetColor_s(label, kind, colour):
            return _shares(colour)
    return None


def _shares(colour: Quantity_ColorRGBA) -> tuple[float, ...]:
    return (*colour.GetRGB().Values(Quantity_TOC_sRGB), colour.Alpha())


def _name(label: TDF_Label) -> str:
    name = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), name)
    return str(name.Get().ToExtString())
