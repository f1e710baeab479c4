"""Open space, random stacks and hand-made sections for the tests of the water check."""

from __future__ import annotations

import numpy as np

from vent_family.evidence.water.boundary import Boundary
from vent_family.spec.bounds import Bounds
from vent_family.spec.forms import IN, OUT
from vent_family.spec.layout import lay_out
from vent_family.spec.section import Section, SectionError
from vent_family.spec.stack import Stack


def open_space(
    low: float, high: float, wall: tuple[float, float, float, float] | None = None
) -> Boundary:
    """Return a domain from low to high in z and y, mm, with one edge or none."""
    edges = np.empty((0, 4)) if wall is None else np.array([wall], dtype=float)
    # One cell as large as the domain holds every edge.
    size = high - low + 2.0
    count = len(edges)
    return Boundary(
        edges=edges,
        owner=np.zeros(count, dtype=np.int64),
        bank=np.zeros(0, dtype=np.int64),
        start=np.array([0, count], dtype=np.int64),
        items=np.arange(count, dtype=np.int64),
        grid=np.array([low - 1.0, low - 1.0, size]),
        shape=(1, 1),
        limits=np.array([low, high, low, high]),
    )


def bounds(stack: Stack, height: float = 60.0, **changes: float) -> Bounds:
    """Return bounds deep enough for a stack; keywords replace its fields."""
    front = 3.0
    inner = front - 1.0 - stack.depth_mm
    values = {
        "front_z_mm": front,
        "front_margin_mm": 1.0,
        "floor_front_mm": -height / 2,
        "slope_deg": 5.0,
        "drain_height_mm": 4.0,
        "apron_thickness_mm": 2.0,
        "ceiling_max_mm": height / 2,
        "ceiling_min_mm": height / 2 - 2 * stack.pitch_mm,
        "inner_z_mm": inner - 4.6,
        "foot_z_mm": inner - 3.0,
        "sill_top_mm": -height / 2 + 10.0,
    }
    return Bounds(**(values | changes))


def stack(form: str = "inclined", **changes: object) -> Stack:
    """Return a stack like the defaults of a form; keywords replace its fields."""
    values: dict[str, object] = {
        "flat": {
            "thickness_mm": 1.5,
            "pitch_mm": 12.0,
            "slat_height_mm": 9.0,
            "gaps_mm": (8.0, 4.0, 4.0),
            "slopes": (OUT,) * 4,
        },
        "inclined": {
            "thickness_mm": 1.5,
            "pitch_mm": 6.5,
            "slat_height_mm": 6.25,
            "gaps_mm": (3.0, 3.0),
            "slopes": (OUT, IN, OUT),
        },
        "folded": {
            "thickness_mm": 1.5,
            "pitch_mm": 8.0,
            "slat_height_mm": 7.0,
            "gaps_mm": (3.0,),
            "slopes": (OUT, OUT),
        },
    }[form]
    return Stack(**({"form": form, "shift": 0.5} | values | changes))  # type: ignore[arg-type]


def random_section(rng: np.random.Generator) -> Section | None:
    """Return the section of a random stack, open or closed; ``None`` if it has no layout."""
    form = str(rng.choice(["flat", "inclined", "folded"]))
    banks = int(rng.integers(1, 5))
    made = stack(
        form,
        thickness_mm=float(rng.uniform(0.8, 2.5)),
        pitch_mm=float(rng.uniform(6.0, 12.0)),
        slat_height_mm=float(rng.uniform(4.5, 9.5)),
        gaps_mm=tuple(float(g) for g in rng.uniform(2.8, 8.0, banks - 1)),
        shift=float(rng.choice([0.5, 0.33, 0.25, 0.4])),
        slopes=tuple(int(s) for s in rng.choice([OUT, IN], banks)),
    )
    rise = float(rng.uniform(6.0, 14.0))
    try:
        return lay_out(made, bounds(made, 42.0, sill_top_mm=-21.0 + rise))
    except SectionError:
        return None
