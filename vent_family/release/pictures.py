"""Pictures of a part as files: figures as SVG and PNG, scenes as PNG."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from vent_family.base.atomic import write_bytes
from vent_family.evidence.kind import Rendered
from vent_family.files.figure import KINDS, figure_bytes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DPI: Final = 150


def picture_files(drawn: Figure | Rendered) -> dict[str, Callable[[], bytes]]:
    """Return what makes the bytes of a picture's files, by the ending of the file's name."""
    if isinstance(drawn, Rendered):
        return {".png": drawn.png}
    return {f".{kind}": partial(figure_bytes, drawn, kind, dpi=_DPI) for kind in KINDS}


def write_drawn(folder: Path, stem: str, drawn: Figure | Rendered) -> list[str]:
    """Write a figure or scene as ``stem`` with its endings and return the names.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    names = []
    for ending, made in picture_files(drawn).items():
        names.append(f"{stem}{ending}")
        write_bytes(folder / names[-1], made())
    return names
