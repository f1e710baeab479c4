"""The pictures of the README, drawn from real solids and sections.

Run ``python -m vent_family.tools.gallery docs/pictures`` to make them anew.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any, Final, cast

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
from matplotlib.figure import Figure
from matplotlib.patches import Polygon as Patch
from matplotlib.patches import Rectangle

from vent_family.base.atomic import write_bytes
from vent_family.base.materials import COLOURS, GASKET_COLOUR, PANEL_COLOUR
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.ways.kind import BOTH_WAYS
from vent_family.files.figure import figure_bytes
from vent_family.geometry.primitives import box, cut
from vent_family.geometry.vent import assembled
from vent_family.mesh.scene import shapes_scene
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

SHOWN: Final[tuple[dict[str, Any], ...]] = (
    {"family": "rectangular", "size": "80x60", "locating_key": "notch"},
    {"family": "round", "size": "M32x1.5"},
    {"family": "flanged", "size": "92x92", "slat_form": "folded"},
)
FAN: Final[dict[str, Any]] = {"family": "flanged", "size": "120x120", "fan_mount": "120"}
"""The vent shown with its fan mount."""
_SLAT: Final = "#3b4a54"
_BODY: Final = "#aeb8bf"
_PANEL: Final = "#d8c9a8"


def make_gallery(folder: Path) -> list[Path]:
    """Write all pictures of the README into ``folder`` and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    specs = [
        resolve(CatalogRow(part_number=cells["size"], status="draft", **cells)) for cells in SHOWN
    ]
    for spec in specs:
        name = spec.family
        context = PartContext(spec)
        solids = context.solids
        grey = COLOURS["light_grey"]
        written.append(folder / f"{name}.png")
        write_bytes(written[-1], shapes_scene([(solids.vent, grey)], size_px=(640, 560)).png())
        if spec is specs[0]:
            written.append(folder / "cost.png")
            drawn = cast("Figure", BOTH_WAYS.figures(context)["cost"].drawn)
            write_bytes(written[-1], figure_bytes(drawn, "png", dpi=110))
        if spec.body.neck is not None:
            written.append(folder / f"{name}-cut.png")
            colours = {"": grey, "locknut": COLOURS["dark_grey"], "gasket": GASKET_COLOUR}
            half = box((0.0, 300.0), (-300.0, 300.0), (-300.0, 300.0))
            shown = [
                (
                    cut(placed.shape.moved(placed.location), [half]),
                    colours.get(placed.name, PANEL_COLOUR),
                )
                for placed in assembled(spec, solids)
            ]
            scene = shapes_scene(shown, direction=(1.0, 0.22, 0.25), size_px=(900, 620))
            write_bytes(written[-1], scene.png())
            written.append(folder / "print.png")
            write_bytes(written[-1], PRINTING.scene(context).png())
    written.append(folder / "fan-mount.png")
    draw_fan_mount(written[-1])
    written.append(folder / "datum.png")
    draw_datum(written[-1], specs[:2])
    return written


def draw_fan_mount(path: Path) -> None:
    """Draw a vent that holds a fan, seen from inside the cabinet."""
    spec = resolve(CatalogRow(part_number=FAN["size"], status="draft", **FAN))
    vent = PartContext(spec).solids.vent
    scene = shapes_scene(
        [(vent, COLOURS["light_grey"])], direction=(0.55, 0.4, -1.0), size_px=(640, 560)
    )
    write_bytes(path, scene.png())


def draw_datum(path: Path, specs: list[VentSpec]) -> None:
    """Draw the datum convention on the sections of two vents side by side."""
    figure, axes = plt.subplots(1, 2, figsize=(11, 6.2), width_ratios=(1, 1.25))
    for axis, spec in zip(axes, specs, strict=True):
        _draw_section(axis, spec)
        axis.set_title(f"{spec.family} vent, seen along X", fontsize=11)
    figure.tight_layout()
    buffer = io.BytesIO()
    figure.savefig(buffer, dpi=110, metadata={"Software": None})
    plt.close(figure)
    write_bytes(path, buffer.getvalue())


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


if __name__ == "__main__":
    for made in make_gallery(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")):
        print(made)
