"""Pictures of the water check, written into a part's folder."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from vent_family.evidence.water.report import WaterReport
from vent_family.files.figure import write_figure
from vent_family.spec.vent import VentSpec

_DPI: Final = 150


def write_water_pictures(folder: Path, spec: VentSpec, report: WaterReport) -> list[str]:
    """Write every picture as SVG and PNG and return the file names.

    Raises ``OSError`` if the folder cannot be written.
    """
    # Imported here: the plotting library takes a while to load, and only this needs it.
    from vent_family.evidence.water.pictures import pictures

    names = []
    for stem, figure in pictures(spec.section, report).items():
        paths = write_figure(folder, f"{spec.part_number}-{stem}", figure, dpi=_DPI)
        names += [path.name for path in paths]
    return names
