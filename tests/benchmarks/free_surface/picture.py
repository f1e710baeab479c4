"""A picture of a run's last moment."""

from __future__ import annotations

from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

from tests.benchmarks.free_surface.scene import Scene
from tests.benchmarks.free_surface.solver import Books


def draw(scene: Scene, books: Books, path: Path) -> None:
    """Write solids and water, coloured by its speed (m/s)."""
    figure, axes = plt.subplots(figsize=(8.0, 8.0))
    for part in getattr(scene.solid, "geoms", [scene.solid]):
        axes.fill(*part.exterior.xy, color="0.6")
    state = books.state
    speed = np.hypot(state[:, 2], state[:, 3])
    dots = axes.scatter(1e3 * state[:, 0], 1e3 * state[:, 1], c=speed, s=1.5, cmap="turbo")
    figure.colorbar(dots, label="m/s", shrink=0.6)
    x0, y0, x1, y1 = scene.domain
    axes.set(xlim=(x0, x1), ylim=(y0, y1), aspect="equal", xlabel="z, mm", ylabel="y, mm")
    figure.savefig(path, dpi=110, bbox_inches="tight")
    plt.close(figure)
