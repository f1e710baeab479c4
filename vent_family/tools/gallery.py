"""The pictures of README and documentation, drawn from real solids of the demo catalogue.

``python -m vent_family.tools.gallery docs/pictures`` makes them anew, ``--only round round-cut``
some of them, and ``--parts HV-N63 --catalog catalog.csv`` product pictures of any row: its front,
its back, and cut open in its panel.
"""

from __future__ import annotations

import argparse
import io
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final, cast

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
from matplotlib.figure import Figure
from matplotlib.patches import Polygon as Patch
from matplotlib.patches import Rectangle

from vent_family.base.atomic import write_bytes
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.ways.kind import BOTH_WAYS
from vent_family.files.figure import figure_bytes
from vent_family.front.parts import Parts
from vent_family.release.product import back_picture, cut_picture, front_picture
from vent_family.spec.vent import VentSpec

CATALOG: Final = Path(__file__).parents[2] / "catalog.csv"
SHOWN: Final = ("HV-R080", "HV-N32", "HV-F120")
"""A row of each family, shown from in front and cut open."""
FAN: Final = "HV-F121"
"""The row shown with its fan mount, from inside the cabinet."""
_SLAT: Final = "#3b4a54"
_BODY: Final = "#aeb8bf"
_PANEL: Final = "#d8c9a8"


def document_pictures(parts: Parts) -> dict[str, Callable[[], bytes]]:
    """Return how each picture of the documents is drawn, by its file's stem, from the demo rows."""
    rows = [parts.evidence(number) for number in SHOWN]
    first, necked = rows[0], next(row for row in rows if row.spec.body.neck is not None)
    drawn: dict[str, Callable[[], bytes]] = {}
    for context in rows:
        drawn[context.spec.family] = partial(front_picture, context)
        drawn[f"{context.spec.family}-cut"] = partial(cut_picture, context)
    drawn["fan-mount"] = lambda: back_picture(parts.evidence(FAN))
    drawn["cost"] = lambda: figure_bytes(
        cast("Figure", BOTH_WAYS.figures(first)["cost"].drawn), "png", dpi=110
    )
    drawn["print"] = lambda: PRINTING.scene(necked).png()
    drawn["datum"] = lambda: datum_picture([first.spec, necked.spec])
    return drawn


def datum_picture(specs: list[VentSpec]) -> bytes:
    """Return the datum convention on the sections of two vents side by side, as a PNG image."""
    figure, axes = plt.subplots(1, 2, figsize=(11, 6.2), width_ratios=(1, 1.25))
    for axis, spec in zip(axes, specs, strict=True):
        _draw_section(axis, spec)
        axis.set_title(f"{spec.family} vent, seen along X", fontsize=11)
    figure.tight_layout()
    buffer = io.BytesIO()
    figure.savefig(buffer, dpi=110, metadata={"Software": None})
    plt.close(figure)
    return buffer.getvalue()


def _draw_section(axis: Any, spec: VentSpec) -> None:
    section, body = spec.section, spec.body
    t = spec.panel_thickness_mm
    outline = body.side_outline_mm(section.front_z_mm)
    reach = max(body.cover.reach_mm[2:]) + 10
    # The opening in the middle plane: a round hole's diameter, a rectangle's height.
    hole = spec.opening.size_mm[1] / 2
    ring = outline + [(z, -y) for z, y in reversed(outline)]
    for y in (hole, -reach):
        axis.add_patch(Rectangle((-t, y), t, reach - hole, fc=_PANEL, ec="k", lw=0.8, hatch="//"))
    axis.add_patch(Patch(ring, fc=_BODY, ec="k", lw=0.8))
    inside = section.cavity
    axis.add_patch(Patch(list(inside.exterior.coords), fc="white", ec="none"))
    for slat in section.slats:
        axis.add_patch(Patch(slat.outline, fc=_SLAT, ec="none"))
    front = section.front_z_mm
    axis.annotate("", (front + 22, 0), (0, 0), arrowprops={"arrowstyle": "-|>", "lw": 1.6})
    axis.text(front + 23, 0, "+Z outside", va="center", fontsize=10)
    axis.annotate("", (0, reach + 9), (0, 0), arrowprops={"arrowstyle": "-|>", "lw": 1.6})
    axis.text(0, reach + 10, "+Y, TOP", ha="center", va="bottom", fontsize=10)
    axis.plot(0, 0, "o", ms=6, mfc="white", mec="k", zorder=5)
    axis.annotate(
        "origin:\ncentre of opening",
        (0, 0),
        (front + 6, -14),
        arrowprops={"arrowstyle": "->"},
        fontsize=9,
    )
    low = section.drain_mm[0]
    axis.annotate(
        "drain, towards -Y",
        (front, low + 1.5),
        (front + 6, low - 12),
        arrowprops={"arrowstyle": "->"},
        fontsize=9,
    )
    inner = min(z for z, _ in ring)
    sill = section.sill
    axis.annotate(
        "sill",
        sill,
        (inner - 12, sill[1] - 9),
        arrowprops={"arrowstyle": "->"},
        fontsize=9,
    )
    axis.annotate(
        "Z = 0: outer panel face",
        (0, reach - 3),
        (8, reach + 2),
        arrowprops={"arrowstyle": "->"},
        fontsize=9,
    )
    axis.text(inner - 12, reach - 5, "inside", fontsize=10)
    axis.set_xlim(inner - 30, front + 48)
    axis.set_ylim(-reach - 10, reach + 16)
    axis.set_aspect("equal")
    axis.axis("off")


def main(arguments: Sequence[str] | None = None) -> None:
    """Write pictures into a folder, which is made if it is missing, and name each."""
    parser = argparse.ArgumentParser(description="Pictures of the documents, or of any row.")
    parser.add_argument("folder", type=Path, help="where they are written")
    parser.add_argument("--only", nargs="+", default=[], help="names of the documents' pictures")
    parser.add_argument("--parts", nargs="+", default=[], help="rows to draw instead")
    parser.add_argument("--catalog", type=Path, default=CATALOG, help="the rows' catalogue")
    given = parser.parse_args(arguments)
    parts = Parts(given.catalog)
    drawn: dict[str, Callable[[], bytes]] = {}
    for number in given.parts:
        context = parts.evidence(number)
        drawn[number] = partial(front_picture, context)
        drawn[f"{number}-back"] = partial(back_picture, context)
        drawn[f"{number}-cut"] = partial(cut_picture, context)
    if not given.parts:
        drawn = document_pictures(parts)
    unknown = [name for name in given.only if name not in drawn]
    if unknown:
        parser.error(f"no picture is called {unknown[0]}; there are {', '.join(drawn)}")
    given.folder.mkdir(parents=True, exist_ok=True)
    for name in given.only or drawn:
        path = given.folder / f"{name}.png"
        write_bytes(path, drawn[name]())
        print(path)


if __name__ == "__main__":
    main()
