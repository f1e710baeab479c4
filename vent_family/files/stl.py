"""Meshes as binary STL, with their identity in the header and measured as they stand in the file.

The format is the one common among slicers: 80 bytes of header, the number of triangles as an
unsigned 32-bit integer, then 50 bytes per triangle (normal, three corners, two spare bytes), all
little-endian (common practice; the original publication of the format was not read). The format
knows no units; lengths are millimetres, and the header says so.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Final

import cadquery as cq
import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.mesh.triangles import (
    edge_multiplicity,
    is_watertight,
    mesh_volume_mm3,
    weld,
)

HEADER_BYTES: Final = 80
_PREFIX: Final = "unit=mm"
_CUT: Final = "~"
_TRIANGLE: Final = np.dtype(
    [("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("spare", "<u2")], align=False
)


@dataclass(frozen=True, slots=True)
class MeshFacts:
    """What was written, measured on the single-precision corners that stand in the file.

    ``edge_multiplicity`` holds (triangles per edge, number of such edges), ascending; a closed
    mesh has one entry, for 2. ``size_mm`` is the extent along X, Y and Z.
    """

    triangles: int
    vertices: int
    volume_mm3: float
    watertight: bool
    edge_multiplicity: tuple[tuple[int, int], ...]
    size_mm: tuple[float, float, float]


Scale = tuple[float, float, float]
"""By what a mesh is stretched along x, y and z."""


def header_text(
    part_number: str,
    revision: str,
    row_hash: str,
    scale: Scale | None = None,
    orientation: str = "print",
) -> str:
    """Return the identity of a part as ASCII text of at most 80 characters.

    ``unit=mm lies=<orientation> part=<number> rev=<revision> row=<hash>``; of a mesh that is
    stretched, ``unit=mm lies=<orientation> scaled=<x>,<y>,<z> part=...``. It lies as it is printed
    or as it is used. Letters outside ASCII lose their accents or become ``?``. Where the text is
    too long, the hash is cut to 16 characters and then to 9, the revision to 12, then the part
    number to what is left; a cut field ends in ``~``. Unit, orientation and scale are never cut.
    Blanks inside a field become ``_``, so that the fields can be told apart.

    Examples
    --------
    >>> header_text("HV-R050", "A", "0123456789abcdef")
    'unit=mm lies=print part=HV-R050 rev=A row=0123456789abcdef'
    >>> header_text("Gehäuse 7", "A", "ffff")
    'unit=mm lies=print part=Gehause_7 rev=A row=ffff'
    >>> header_text("HV-R050", "A", "0123456789abcdef", (1.005, 1.005, 1.003))
    'unit=mm lies=print scaled=1.0050,1.0050,1.0030 part=HV-R050 rev=A row=01234567~'
    """
    number, rev, row = (_ascii(text) for text in (part_number, revision, row_hash))
    text = _join(number, rev, row, scale, orientation)
    for digits in (16, 9):
        if len(text) > HEADER_BYTES:
            row = _cut(row, digits)
            text = _join(number, rev, row, scale, orientation)
    if len(text) > HEADER_BYTES:
        rev = _cut(rev, 12)
        text = _join(number, rev, row, scale, orientation)
    if len(text) > HEADER_BYTES:
        number = _cut(number, len(number) - (len(text) - HEADER_BYTES))
        text = _join(number, rev, row, scale, orientation)
    return text


@dataclass(frozen=True, slots=True)
class StlFile:
    """The bytes of a binary STL file, and what they hold."""

    data: bytes
    facts: MeshFacts


def stl_file(
    vertices: FloatArray,
    triangles: IntArray,
    header_text: str,
    location: cq.Location | None = None,
    scale: Scale | None = None,
) -> StlFile:
    """Return a mesh as a binary STL file.

    The mesh is taken as it is, watertight or not: the facts tell.

    Parameters
    ----------
    vertices, triangles
        corners (n, 3) in mm, triangles (m, 3) of indices
    header_text
        see :func:`header_text`
    location
        moves the mesh, for instance into print orientation
    scale
        stretches it then along the file's x, y and z

    Raises
    ------
    ValueError
        if the header is not printable ASCII, is longer than 80 characters or begins with "solid",
        by which many readers take the file for text
    """
    header = _header(header_text)
    if location is not None:
        vertices = _moved(vertices, location)
    if scale is not None:
        vertices = vertices * np.array(scale)
    # Single precision can bring two vertices onto the same spot: join those, or the file would
    # hold triangles without area where the mesh in memory had none.
    rounded = vertices.astype(np.float32).astype(np.float64)
    vertices, triangles = weld(rounded, triangles, 0.0)
    corners = vertices[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    # Three corners in line have no normal; zero asks the reader to work it out.
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    records = np.zeros(len(triangles), dtype=_TRIANGLE)
    # Adding zero removes negative zeros, which would make equal files differ.
    records["normal"] = normals + 0.0
    records["corners"] = corners + 0.0
    count = np.array(len(triangles), dtype="<u4")
    size = np.ptp(vertices, axis=0)
    facts = MeshFacts(
        triangles=len(triangles),
        vertices=len(vertices),
        volume_mm3=mesh_volume_mm3(vertices, triangles),
        watertight=is_watertight(triangles),
        edge_multiplicity=tuple(sorted(edge_multiplicity(triangles).items())),
        size_mm=(float(size[0]), float(size[1]), float(size[2])),
    )
    return StlFile(header + count.tobytes() + records.tobytes(), facts)


def _header(text: str) -> bytes:
    if not (text.isascii() and text.isprintable()):
        raise ValueError(f"an STL header takes printable ASCII only: {text!r}")
    if len(text) > HEADER_BYTES:
        raise ValueError(
            f"an STL header takes {HEADER_BYTES} characters, not {len(text)}: {text!r}"
        )
    if text.lstrip().lower().startswith("solid"):
        raise ValueError(f'an STL header must not begin with "solid": {text!r}')
    return text.encode("ascii").ljust(HEADER_BYTES, b" ")


def _moved(vertices: FloatArray, location: cq.Location) -> FloatArray:
    """Return the vertices moved by ``location``."""
    move = location.wrapped.Transformation()
    matrix: FloatArray = np.array(
        [[move.Value(row, column) for column in range(1, 5)] for row in range(1, 4)]
    )
    return np.asarray(vertices @ matrix[:, :3].T + matrix[:, 3], dtype=np.float64)


def _join(number: str, revision: str, row_hash: str, scale: Scale | None, orientation: str) -> str:
    prefix = f"{_PREFIX} lies={orientation}"
    if scale is not None:
        prefix += " scaled=" + ",".join(f"{factor:.4f}" for factor in scale)
    return f"{prefix} part={number} rev={revision} row={row_hash}"


def _ascii(text: str) -> str:
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    printable = "".join(
        c if c.isascii() and (c.isprintable() or c.isspace()) else "?" for c in bare
    )
    return "_".join(printable.split())


def _cut(text: str, length: int) -> str:
    """Return ``text`` in at most ``length`` characters, a cut marked by ``~``."""
    return text if len(text) <= length else text[: length - 1] + _CUT
