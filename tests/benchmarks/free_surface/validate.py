"""The solver against closed forms: ``python -m tests.benchmarks.free_surface.validate``.

Writes ``validation.csv``. Split of a jet at a plate and its force: momentum along and across the
plate. Narrow plate: free-streamline theory (Kirchhoff's drag coefficient 0.88 is its limit for wide
jets). Water at rest: pressure by depth.
"""

from __future__ import annotations

import argparse
import csv
import math
import os
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Final

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely.geometry import box

from tests.benchmarks.free_surface.scene import GRAVITY_M_S2, Jet, Scene, Sink, frame
from tests.benchmarks.free_surface.solver import BIN_S, DENSITY_KG_M3, SOUND_TO_SPEED, simulate

TABLE: Final = Path(__file__).with_name("validation.csv")
WIDTHS: Final = (1.0, 2.0)
"""Widths of narrow plates over the jet's thickness."""


@dataclass(frozen=True)
class Check:
    """One comparison."""

    what: str
    spacing_mm: float
    exact: float
    found: float


def deflection_deg(ratio: float) -> float:
    """Return the angle between a jet and its halves behind a plate, by free-streamline theory.

    ``ratio`` is the plate's width over the jet's thickness. The upper half's hodograph is a quarter
    of the unit disc with a source at 1 and a sink at the angle asked for; images in the circle and
    both axes give dw/dv; the plate's half width is the integral of dw/v from rest to full speed.
    """

    def width(angle: float) -> float:
        c = math.cos(2.0 * angle)

        def slope(q: float) -> float:
            return (q**2 + c) / (q**4 + 2.0 * c * q**2 + 1.0) - 1.0 / (1.0 + q**2)

        return 4.0 / math.pi * abs(float(quad(slope, 0.0, 1.0)[0]))

    found = brentq(lambda angle: width(angle) - ratio, 0.05, 0.5 * math.pi - 0.01)
    return math.degrees(float(found))


def plate(elevation_deg: float, half_mm: float = 40.0) -> Scene:
    """Return a jet on an upright plate; sinks ``up`` and ``down`` at its ends."""
    domain = (-8.0, -half_mm - 5.0, 40.0, half_mm + 5.0)
    sinks = (
        Sink("up", box(-10.0, half_mm, 60.0, half_mm + 60.0)),
        Sink("down", box(-10.0, -half_mm - 60.0, 60.0, -half_mm)),
        Sink("off", frame(domain, 1.0)),
    )
    solid = box(-4.0, -half_mm - 20.0, 0.0, half_mm + 20.0)
    jet = Jet(0.0, 0.0, elevation_deg, run_mm=20.0)
    return Scene(domain, solid, sinks, jet, gravity_m_s2=0.0)


def on_plate(angle_deg: float, spacing_mm: float) -> list[Check]:
    """Return split and force for an angle (degrees) between jet and plate."""
    scene = plate(90.0 - angle_deg)
    seconds = 20e-3
    books = simulate(scene, seconds, spacing_mm)
    late = slice(round(0.6 * seconds / BIN_S), None)
    jet, a = scene.jet, math.radians(angle_deg)
    assert jet is not None
    force = DENSITY_KG_M3 * jet.speed_m_s**2 * jet.thickness_mm * 1e-3
    return [
        Check(
            f"share thrown back along a plate at {angle_deg:g} deg",
            spacing_mm,
            (1.0 - math.cos(a)) / 2.0,
            books.share("up", 0.6 * seconds, seconds),
        ),
        Check(
            f"share carried on along a plate at {angle_deg:g} deg",
            spacing_mm,
            (1.0 + math.cos(a)) / 2.0,
            books.share("down", 0.6 * seconds, seconds),
        ),
        Check(
            f"force on a plate at {angle_deg:g} deg, N/m",
            spacing_mm,
            force * math.sin(a),
            -float(books.force[late, 0].mean()),
        ),
        Check(
            f"force along a plate at {angle_deg:g} deg, N/m",
            spacing_mm,
            0.0,
            float(books.force[late, 1].mean()),
        ),
    ]


def narrow(ratio: float, spacing_mm: float) -> list[Check]:
    """Return the deflection behind a plate, its width over the jet's thickness given."""
    domain = (-50.0, -50.0, 30.0, 50.0)
    rim = frame(domain, 1.0)
    sinks = (
        Sink("up", rim.intersection(box(-90.0, 0.0, 90.0, 90.0))),
        Sink("down", rim.intersection(box(-90.0, -90.0, 90.0, 0.0))),
    )
    jet = Jet(0.0, 0.0, run_mm=20.0)
    half = 0.5 * ratio * jet.thickness_mm
    scene = Scene(domain, box(-2.0, -half, 0.0, half), sinks, jet, gravity_m_s2=0.0)
    seconds = 18e-3
    books = simulate(scene, seconds, spacing_mm)
    late = slice(round(0.6 * seconds / BIN_S), None)
    up, down = (books.leaving[k][late].sum(axis=0) for k in ("up", "down"))
    angle = math.degrees(math.atan2(up[1] - down[1], -(up[0] + down[0])))
    force = DENSITY_KG_M3 * jet.speed_m_s**2 * jet.thickness_mm * 1e-3
    exact = deflection_deg(ratio)
    return [
        Check(f"deflection by a plate {ratio:g} jets wide, deg", spacing_mm, exact, angle),
        Check(
            f"force on a plate {ratio:g} jets wide, N/m",
            spacing_mm,
            force * (1.0 - math.cos(math.radians(exact))),
            -float(books.force[late, 0].mean()),
        ),
    ]


def pool(spacing_mm: float, depth_mm: float = 15.0) -> list[Check]:
    """Return the gradient of pressure by depth, the level and the largest speed in still water."""
    width = 20.0
    domain = (-3.0, -3.0, width + 3.0, 2.0 * depth_mm)
    tank = box(-9.0, -9.0, width + 9.0, 2.0 * depth_mm).difference(
        box(0.0, 0.0, width, 3.0 * depth_mm)
    )
    water = box(0.0, 0.0, width, depth_mm)
    scene = Scene(domain, tank, (Sink("out", frame(domain, 0.5)),), None, water)
    speed = math.sqrt(2.0 * GRAVITY_M_S2 * depth_mm * 1e-3)
    books = simulate(scene, 0.5, spacing_mm, speed_m_s=speed, room=10_000)
    y, density = books.state[:, 1], books.state[:, 4]
    pressure = (SOUND_TO_SPEED * speed) ** 2 * (density - DENSITY_KG_M3)
    slope = np.polyfit(y, pressure, 1)[0]
    level = 1e3 * float(np.quantile(y, 0.98)) + 0.02 * depth_mm
    return [
        Check(
            "pressure by depth in still water, Pa/m",
            spacing_mm,
            DENSITY_KG_M3 * GRAVITY_M_S2,
            -float(slope),
        ),
        Check("level of still water, mm", spacing_mm, depth_mm, level),
        Check(
            "largest speed in still water over that of a fall, -",
            spacing_mm,
            0.0,
            float(np.hypot(books.state[:, 2], books.state[:, 3]).max()) / speed,
        ),
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--spacing", type=float, default=0.5, help="between particles, mm")
    spacing = parser.parse_args().spacing
    checks = [c for angle in (90.0, 60.0, 45.0) for c in on_plate(angle, spacing)]
    checks += [c for ratio in WIDTHS for c in narrow(ratio, spacing)]
    checks += pool(spacing)
    others: list[list[str]] = []
    if TABLE.exists():
        with TABLE.open(encoding="utf-8", newline="") as file:
            others = [r for r in list(csv.reader(file))[1:] if float(r[1]) != spacing]
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([f.name for f in fields(Check)])
        writer.writerows(others)
        writer.writerows((c.what, c.spacing_mm, f"{c.exact:.4g}", f"{c.found:.4g}") for c in checks)
    for c in checks:
        print(f"{c.what:60s} exact {c.exact:9.4g}  found {c.found:9.4g}")


if __name__ == "__main__":
    main()
