"""Write the pictures of a part: figures as SVG and PNG, scenes as PNG."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from vent_family.base.atomic import write_bytes
from vent_family.evidence.context import PartContext
from vent_family.evidence.kind import Scene
from vent_family.evidence.kinds import KINDS
from vent_family.files.figure import write_figure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DPI: Final = 150


def write_pictures(folder: Path, context: PartContext) -> dict[str, str]:
    """Write every picture of a part's evidence.

    Returns the names of the files, each with the caption it has in the part's report; "" for files
    that the report does not show.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    found: dict[str, str] = {}
    for kind in KINDS:
        for stem, picture in kind.figures(context).items():
            names = write_drawn(folder, f"{context.spec.part_number}-{stem}", picture.drawn)
            found |= dict.fromkeys(names, "")
            if kind.heading:
                found[names[-1]] = picture.caption
    return found


def write_drawn(folder: Path, stem: str, drawn: Figure | Scene) -> list[str]:
    """Write a figure or scene as ``stem`` with its endings and return the names, the PNG last.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    if not isinstance(drawn, Scene):
        return [path.name for path in write_figure(folder, stem, drawn, dpi=_DPI)]
    name = f"{stem}.png"
    write_bytes(folder / name, drawn.png())
    return [name]
