"""DXF drawings from plain descriptions: closed outlines, circles, lines and texts on layers, in mm.

Written as R2010 (AC1024), the oldest release that states its units and holds every letter. The
bytes depend on nothing but what is drawn and on the time stamp.
"""

from __future__ import annotations

import io
import re
import threading
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Final

from ezdxf import units
from ezdxf._options import options
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.tools.juliandate import juliandate

_DECIMALS: Final = 6
"""Coordinates are written to a millionth of a mm."""
_NAMES: Final = uuid.uuid5(uuid.NAMESPACE_URL, "vent-family/dxf")
_MADE: Final = "0.0 @ 2000-01-01T00:00:00.000000+00:00"
"""What the library then says of itself."""
_FIXED: Final = threading.Lock()
"""The library's switch for dates and identifiers that do not change is one for the process."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer: its name, colour by the number that drawing programs give it, kind of line.

    ``linetype`` is CONTINUOUS, DASHED or CENTER.
    """

    name: str
    colour: int
    linetype: str = "CONTINUOUS"
    description: str = ""


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner (x, y) of an outline, mm, and how the side that follows is bent.

    ``bulge`` (1) is the tangent of a quarter of the angle that the arc turns through, above zero
    counterclockwise; 0 for a straight side.
    """

    x_mm: float
    y_mm: float
    bulge: float = 0.0


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed outline of straight sides and arcs."""

    layer: str
    corners: tuple[Corner, ...]


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle around (x, y), mm."""

    layer: str
    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from one point (x, y) to another, mm."""

    layer: str
    start_mm: tuple[float, float]
    end_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text from its lower left corner (x, y), mm."""

    layer: str
    x_mm: float
    y_mm: float
    height_mm: float
    text: str


Item = Loop | Circle | Line | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """What stands in one file.

    ``name`` is what the drawing is of; from it come the identifiers in the file. ``properties`` are
    names and texts that drawing programs show as the file's own.
    """

    name: str
    layers: tuple[Layer, ...]
    items: tuple[Item, ...]
    properties: tuple[tuple[str, str], ...] = ()


def dxf_bytes(drawing: Drawing, time_stamp: datetime) -> bytes:
    """Return a drawing as a DXF file, ``time_stamp`` with its offset from UTC.

    Raises
    ------
    ValueError
        if an item lies on a layer that the drawing lacks, or a text has more than one line
    RuntimeError
        if the library writes no dates or identifiers any more
    """
    known = {layer.name for layer in drawing.layers}
    for item in drawing.items:
        if item.layer not in known:
            raise ValueError(f"the drawing has no layer {item.layer}")
        if isinstance(item, Text) and len(item.text.splitlines()) > 1:
            raise ValueError(f"more than one line in the text {item.text!r}")
    with _FIXED:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            text = _written(drawing)
        finally:
            options.write_fixed_meta_data_for_testing = before
    return _stamped(text, drawing.name, time_stamp).encode("utf-8")


def _written(drawing: Drawing) -> str:
    document = new("R2010", setup=["linetypes"], units=units.MM)
    document.header["$MEASUREMENT"] = 1
    for name, value in drawing.properties:
        document.header.custom_vars.append(name, value)
    for layer in drawing.layers:
        made = document.layers.add(layer.name, color=layer.colour, linetype=layer.linetype)
        if layer.description:
            made.description = layer.description
    for item in drawing.items:
        _add(document, item)
    # Else their order differs from process to process, as that of a set of texts does.
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = dict(sorted(document.classes.classes.items()))
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def _add(document: Document, item: Item) -> None:
    space, on = document.modelspace(), {"layer": item.layer}
    if isinstance(item, Loop):
        points = [(_near(c.x_mm), _near(c.y_mm), round(c.bulge, 12)) for c in item.corners]
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=on)
    elif isinstance(item, Circle):
        centre = (_near(item.x_mm), _near(item.y_mm))
        space.add_circle(centre, _near(item.diameter_mm / 2.0), dxfattribs=on)
    elif isinstance(item, Line):
        start, end = ((_near(x), _near(y)) for x, y in (item.start_mm, item.end_mm))
        space.add_line(start, end, dxfattribs=on)
    else:
        # Two per cent signs begin a sign of its own in texts of drawings.
        plain = item.text.replace("%%", "% %")
        made = space.add_text(plain, height=item.height_mm, dxfattribs=on)
        made.set_placement((item.x_mm, item.y_mm), align=TextEntityAlignment.LEFT)


def _near(value_mm: float) -> float:
    return round(value_mm, _DECIMALS) + 0.0


def _stamped(text: str, name: str, time_stamp: datetime) -> str:
    """Return a file's text with its own dates and identifiers in place of the fixed ones.

    The first identifier is the drawing's name's, the second that of what is drawn.
    """
    day = juliandate(time_stamp.astimezone(UTC).replace(tzinfo=None))
    drawn = sha256(text.encode("utf-8")).hexdigest()
    values = dict.fromkeys(("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"), f"{day:.9f}")
    values["$FINGERPRINTGUID"] = f"{{{uuid.uuid5(_NAMES, name)}}}".upper()
    values["$VERSIONGUID"] = f"{{{uuid.uuid5(_NAMES, name + drawn)}}}".upper()
    text = text.replace(_MADE, f"@ {time_stamp.isoformat(timespec='seconds')}")
    for key, value in values.items():
        pattern = rf"^({re.escape(key)}\n *\d+\n)[^\n]*$"
        text, found = re.subn(pattern, rf"\g<1>{value}", text, count=1, flags=re.MULTILINE)
        if found != 1:
            raise RuntimeError(f"the library wrote no {key}")
    return text
