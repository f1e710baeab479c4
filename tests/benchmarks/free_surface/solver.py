"""Runs of a scene: sets up the particles, marches them and keeps the books."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.benchmarks.free_surface import kernels
from tests.benchmarks.free_surface.scene import (
    REACH,
    SLOW_M_S,
    Scene,
    distances,
    labels,
    still_water,
    wall_points,
)

DENSITY_KG_M3 = 1000.0
SOUND_TO_SPEED = 8.0
"""Speed of sound over the jet's: density then varies by 1 % at most in steady flow."""
COURANT = 0.45
"""Time step over the time that sound and flow take across the kernel's smoothing length."""
VISCOSITY = 0.01
DIFFUSION = 0.1
BIN_S = 0.25e-3


@dataclass
class Books:
    """What happened, per time bin of ``BIN_S``; water in particles, m/s, forces in N/m."""

    emitted: np.ndarray
    force: np.ndarray
    guarded: np.ndarray
    ended: dict[str, np.ndarray]
    leaving: dict[str, np.ndarray]
    left: int
    """Particles in the domain at the end."""
    begun: int
    """Particles in the domain at the start."""
    dx_mm: float
    mean_pressure: np.ndarray = field(default_factory=lambda: np.empty(0))
    state: np.ndarray = field(default_factory=lambda: np.empty(0))
    """Particles at the end: x and y (m), velocity (m/s), density (kg/m3)."""

    def share(self, name: str, begin_s: float, end_s: float) -> float:
        """Return the share of the inflow of a time window that ends in a sink in that window."""
        window = slice(round(begin_s / BIN_S), round(end_s / BIN_S))
        return float(self.ended[name][window].sum() / self.emitted[window].sum())

    @property
    def imbalance(self) -> float:
        """Particles emitted less those that ended or are still there; 0 if none was lost."""
        ended = sum(float(e.sum()) for e in self.ended.values())
        return self.begun + float(self.emitted.sum()) - ended - self.left


def simulate(
    scene: Scene, seconds: float, dx_mm: float, *, speed_m_s: float = 0.0, room: int = 60_000
) -> Books:
    """March a scene for a time (s) with particles ``dx_mm`` apart.

    ``speed_m_s`` is the largest speed to expect where there is no jet to tell it.

    Raises
    ------
    RuntimeError
        if more water gathers than there is room for
    """
    dx = dx_mm * 1e-3
    h = 0.5 * REACH * dx
    speed = scene.jet.speed_m_s if scene.jet else speed_m_s
    c0 = SOUND_TO_SPEED * speed
    dt = COURANT * h / (c0 + speed)
    jet = np.zeros(6)
    if scene.jet:
        (mx, my), (u, v) = scene.jet.mouth_mm, scene.jet.heading
        jet[:] = mx * 1e-3, my * 1e-3, u, v, scene.jet.speed_m_s, scene.jet.thickness_mm * 1e-3
    cfg = np.array(
        [
            dx,
            h,
            c0,
            DENSITY_KG_M3,
            VISCOSITY,
            DIFFUSION,
            0.0,
            -scene.gravity_m_s2,
            dt,
            BIN_S,
            SLOW_M_S,
        ]
    )
    still = still_water(scene, dx_mm) * 1e-3
    s = np.zeros((room, 5))
    n = len(still)
    s[:n, :2] = still
    s[:n, 4] = DENSITY_KG_M3
    if n:  # water at rest starts with its own head
        s[:n, 4] += DENSITY_KG_M3 * scene.gravity_m_s2 * (still[:, 1].max() - still[:, 1]) / c0**2
    fed = np.zeros(room, np.int8)
    x0, y0, x1, y1 = scene.domain
    cell = 2.0 * h
    shape = (int((x1 - x0) * 1e-3 / cell) + 1, int((y1 - y0) * 1e-3 / cell) + 1)
    fine = 0.5 * dx_mm
    names = scene.names
    books = np.zeros((round(seconds / BIN_S), 4 + 3 * len(names)))
    steps = int(seconds / dt)
    n, _ = kernels.march(
        s,
        fed,
        n,
        wall_points(scene.solid, dx_mm) * 1e-3,
        np.array([x0, y0]) * 1e-3,
        cell,
        shape,
        distances(scene, fine) * 1e-3,
        labels(scene, fine),
        fine * 1e-3,
        jet,
        cfg,
        0.0,
        0.0,
        steps,
        books,
    )
    if n < 0:
        raise RuntimeError("more water in the domain than there is room for")
    return Books(
        emitted=books[:, 0],
        force=books[:, 1:3] / BIN_S,
        guarded=books[:, 3],
        ended={name: books[:, 4 + 3 * i] for i, name in enumerate(names)},
        leaving={name: books[:, 5 + 3 * i : 7 + 3 * i] for i, name in enumerate(names)},
        left=n,
        begun=len(still),
        dx_mm=dx_mm,
        state=s[:n].copy(),
    )
