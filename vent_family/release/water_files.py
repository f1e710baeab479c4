"""Pictures of the water check, written into a part's folder."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal

from vent_family.base.atomic import write_bytes
from vent_family.evidence.water.report import WaterReport
from vent_family.spec.vent import VentSpec

KINDS: Final[tuple[Literal["svg", "png"], ...]] = ("svg", "png")


def write_water_pictures(folder: Path, spec: VentSpec, report: WaterReport) -> list[str]:
    """Write every picture as SVG and PNG and return the file names.

    Raises ``OSError`` if the folder cannot be written.
    """
    # Imported here: the plotting library takes a while to load, and only this needs it.
    from vent_family.evidence.water.pictures import picture_bytes, pictures

    names = []
    for stem, figure in pictures(spec.section, report).items():
        for kind in KINDS:
            name = f"{spec.part_number}-{stem}.{kind}"
            write_bytes(folder / name, picture_bytes(figure, kind))
            names.append(name)
    return names
