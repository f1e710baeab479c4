"""The sections of the comparison: three rows of the demo catalogue and one laid out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from tests.benchmarks.free_surface.scene import Jet, Scene, Sink, frame
from vent_family.catalog.reader import read_catalog
from vent_family.spec.resolve import resolve

CATALOGUE: Final = Path(__file__).parents[3] / "catalog.csv"
FLOORS: Final = ("wet", "dry", "closed")
"""A wet floor swallows what touches it as a pool would; a dry one throws it back and drains what is
spent; on a closed one all water gathers."""
SWALLOWED_MM: Final = 1.0
"""Height over a wet floor within which water counts as caught."""
SPENT_MM: Final = 4.0
"""Height over a dry floor within which slow water drains."""
BACK_MM: Final = 10.0
"""Distance before the front beyond which water that moves away has left."""
AROUND_MM: Final = 16.0
"""Room below, above and before the section."""


@dataclass(frozen=True)
class Outlines:
    """Solids of a section and what names its ends, mm (x = 0 on the panel, outwards positive).

    ``floor`` are its inner and outer end; ``shaft`` the region below through which caught water
    leaves downwards, or None; ``drain`` the point that a jet at the drain is aimed at.
    """

    solid: BaseGeometry
    front_mm: float
    inner_mm: float
    low_mm: float
    high_mm: float
    middle_mm: float
    pitch_mm: float
    floor: tuple[tuple[float, float], tuple[float, float]]
    drain: tuple[float, float]
    shaft: BaseGeometry | None = None


def _of_row(part_number: str) -> Outlines:
    rows = [s.row for s in read_catalog(CATALOGUE).rows if s.row.part_number == part_number]
    section = resolve(rows[0]).section
    low, high = section.lowest_mm, section.highest_mm
    solid = unary_union(
        [
            section.slats_solid,
            section.apron_solid,
            section.ground(low - AROUND_MM),
            section.roof(high + AROUND_MM),
        ]
    )
    return Outlines(
        solid=solid,
        front_mm=section.front_z_mm,
        inner_mm=section.inner_z_mm,
        low_mm=low,
        high_mm=high,
        middle_mm=0.5 * (section.window_bottom_mm + section.ceiling_mm),
        pitch_mm=section.stack.pitch_mm,
        floor=(section.foot, section.brink),
        drain=(section.front_z_mm, 0.5 * sum(section.drain_mm)),
    )


WEB, LIP, HEIGHT, PITCH = 1.2, 2.5, 9.0, 12.0
FACES: Final = (0.0, -9.7, -16.4, -23.1)
"""Outer edges of the lips of the four banks of channel slats, x in mm (gaps 6, 3 and 3)."""


def _channel(face: float, low: float, high: float) -> list[BaseGeometry]:
    """Return web and lips of one slat; a slat cut short at the bottom has no lower lip."""
    web = box(face - LIP - WEB, low, face - LIP, high)
    lips = [box(face - LIP - WEB, high - WEB, face, high)]
    if high - low >= HEIGHT:
        lips.append(box(face - LIP - WEB, low, face, low + WEB))
    return [web, *lips]


def channels() -> Outlines:
    """Return four banks of slats with lips outwards, the first bank before the trough."""
    ceiling, inner = 30.0, -31.4
    pieces: list[BaseGeometry] = []
    for bank, face in enumerate(FACES):
        for k in range(-3, 4):
            middle = k * PITCH + (0.5 * PITCH if bank % 2 else 0.0)
            low, high = middle - 0.5 * HEIGHT, middle + 0.5 * HEIGHT
            if bank == 2 and high < -16.5 < high + 5.0:
                low = -24.5
            if low < -28.6 or low > ceiling - 1.0:
                continue
            pieces += _channel(face, low, high)
    ground = Polygon(
        [
            (inner, -20.0),
            (-29.8, -20.0),
            (-29.8, -28.0),
            (-10.5, -29.5),
            (-10.5, -34.0),
            (inner, -34.0),
        ]
    )
    apron = box(-7.5, -35.0, -5.7, -24.0)
    solid = unary_union([*pieces, ground, apron])
    roof = box(inner, ceiling, -5.0, ceiling + 4.0)
    return Outlines(
        solid=solid.difference(box(-60.0, ceiling, -5.0, 90.0)).union(roof),
        front_mm=0.0,
        inner_mm=inner,
        low_mm=-29.5,
        high_mm=ceiling,
        middle_mm=0.0,
        pitch_mm=PITCH,
        floor=((-29.8, -28.0), (-10.5, -29.5)),
        drain=(-5.7, -29.0),
        shaft=box(-10.5, -35.0, -7.5, -34.0),
    )


SECTIONS: Final[dict[str, Callable[[], Outlines]]] = {
    "inclined": lambda: _of_row("HV-R080"),
    "folded": lambda: _of_row("HV-R050"),
    "flat": lambda: _of_row("HV-F180"),
    "channel": channels,
}


def scene_of(
    section: Outlines, elevation_deg: float, height_mm: float, thickness_mm: float, floor: str
) -> Scene:
    """Return the scene of a jet whose axis crosses the front plane at a height (mm).

    Sinks: ``inside`` behind the inner plane, ``trough`` on the floor or down the shaft, ``back``
    before the front.
    """
    x0, x1 = section.inner_mm - 4.0, section.front_mm + AROUND_MM + 8.0
    domain = (x0, section.low_mm - AROUND_MM, x1, section.high_mm + AROUND_MM)
    (ax, ay), (bx, by) = section.floor
    past = box(x0 - 9.0, section.low_mm - 3.0, section.inner_mm - 1.0, section.high_mm + 3.0)
    sinks = [Sink("inside", past)]
    if floor != "closed":
        top = SWALLOWED_MM if floor == "wet" else SPENT_MM
        caught = Polygon([(ax, ay - 1), (bx, by - 1), (bx, by + top), (ax, ay + top)])
        sinks.append(Sink("trough", caught, slow=floor == "dry"))
    if section.shaft is not None:
        sinks.append(Sink("trough", section.shaft))
    beyond = box(section.front_mm + BACK_MM, -500.0, 500.0, 500.0)
    sinks += [Sink("back", frame(domain, 1.0)), Sink("back", beyond, leaving=True)]
    names = {"inside", "trough", "back"} - {s.name for s in sinks}
    sinks += [Sink(name, Polygon()) for name in sorted(names)]
    return Scene(
        domain=domain,
        solid=section.solid,
        sinks=tuple(sinks),
        jet=Jet(section.front_mm, height_mm, elevation_deg, thickness_mm),
    )
