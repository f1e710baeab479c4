"""Write figures as PNG and SVG whose bytes depend on nothing but what is drawn."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from vent_family.base.atomic import write_bytes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Kind = Literal["png", "svg"]

KINDS: Final[tuple[Kind, ...]] = ("svg", "png")
"""Every figure is written once for print and once for the screen, in this order: a layout that is
worked out while drawing starts from the last one, so the order is part of the bytes."""
_SALT: Final = "vent-family"


def figure_bytes(figure: Figure, kind: Kind, *, dpi: float, salt: str = _SALT) -> bytes:
    """Return the figure as a file's bytes, without date or program name in it.

    Parameters
    ----------
    figure
        the figure
    kind
        png or svg
    dpi
        dots per inch, of the PNG and of what an SVG holds as pixels
    salt
        text from which the identifiers inside an SVG are made; two SVGs on one page need two
    """
    # Imported here: the plotting library takes a while to load, and few commands draw.
    import matplotlib as mpl

    stream = io.BytesIO()
    metadata: dict[str, Any] = {"Date": None} if kind == "svg" else {"Software": None}
    with mpl.rc_context({"svg.hashsalt": salt, "svg.fonttype": "path"}):
        figure.savefig(stream, format=kind, dpi=dpi, metadata=metadata)
    return stream.getvalue()


def write_figure(
    folder: Path, stem: str, figure: Figure, *, dpi: float, salt: str = _SALT
) -> list[Path]:
    """Write ``stem.svg`` and ``stem.png`` into a folder, each whole or not at all.

    Parameters are those of :func:`figure_bytes`, ``dpi`` in pixels per inch. Returns the paths.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    paths = []
    for kind in KINDS:
        # Not with_suffix: part numbers may contain dots.
        path = folder / f"{stem}.{kind}"
        write_bytes(path, figure_bytes(figure, kind, dpi=dpi, salt=salt))
        paths.append(path)
    return paths
