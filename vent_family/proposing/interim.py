from dataclasses import dataclass

import numpy as np

from vent_family.evidence.cost.sheet import PartToPrint, order_cost
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.evidence.water.advice import Trials
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.report import severity


@dataclass
class Band:
    low: float
    mean: float
    high: float


def quick_price(spec, shop, quantity):
    v = estimate_volume_mm3(spec)
    m = v * spec.material.density_g_cm3 * 1e-3
    r = spec.body.cover.reach_mm
    d = spec.in_front_mm + spec.behind_mm
    w, h = r[0] + r[1], r[2] + r[3]
    up = spec.print_orientation == "upright"
    size = (w, h, d) if not up else (w, d, h)
    n = max(1, int(size[2] / 0.2))
    work = np.full(n, v / 0.45 / 0.2 / 60.0 / n)
    p = order_cost((PartToPrint(size, work, m, spec.material.name, up),), quantity, shop).price
    return Band(0.8 * p, p, 1.25 * p)


@dataclass
class Wet:
    passed_ml: float
    share: float
    reason: str


def water_of(spec, at_least, flights=0):
    c = conditions_of(spec)
    t = Trials(spec, c.vent, potential_flow)
    worst = []
    for st in c.singles():
        worst.append(
            max(
                (t.worst(spec, s_, flights) if False else t.worst(spec, st, flights))[0:]
                if False
                else t.worst(spec, st, flights),
                key=severity,
            )
        )
    w = max(worst, key=severity)
    bad = RANK[w.verdict.outcome] - RANK[at_least]
    if isinstance(w, JetReport):
        ml = 1e3 * w.inside_share.high * w.flow_l_min
        x = 100 * w.inside_share.high
    else:
        ml = 1e3 * w.passed_l.high
        x = ml / 100
    if bad <= 0:
        return Wet(ml, 0.1 / (1 + x), "")
    return Wet(ml, -(bad - 1) - x / (1 + x) - 1e-3, f"{w.name}: {w.verdict.mechanism}")


def foretold_price(spec, shop, quantity):
    from types import SimpleNamespace

    return SimpleNamespace(
        price=quick_price(spec, shop, quantity).mean,
        mass_g=estimate_volume_mm3(spec) * spec.material.density_g_cm3 * 1e-3,
    )
