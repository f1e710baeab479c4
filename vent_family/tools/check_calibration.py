"""Compare the corrected loss model with solver runs its table has not seen, and print the errors.

Usage: ``python -m vent_family.tools.check_calibration [--form FORM]``. Some ten minutes on one
core; folded slats take most of it.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.flow2d import solve_stack
from vent_family.evidence.air.losses import corrected_loss
from vent_family.spec.forms import IN, OUT
from vent_family.spec.stack import Stack

INCLINED = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (OUT, IN, OUT))
FLAT = Stack("flat", 1.5, 12.0, 9.0, (8.0, 4.0, 4.0), 0.5, (OUT,) * 4)
FOLDED = Stack("folded", 1.5, 8.0, 7.0, (3.0,), 0.5, (OUT, OUT))
CASES = {
    "inclined, default": INCLINED,
    "inclined, 0.8 mm thin": replace(INCLINED, thickness_mm=0.8),
    "inclined, 2 mm, pitch 8": replace(
        INCLINED, thickness_mm=2.0, pitch_mm=8.0, slat_height_mm=7.5
    ),
    "inclined, 2 banks": replace(INCLINED, gaps_mm=(4.0,), slopes=(IN, OUT)),
    "inclined, 5 banks": replace(INCLINED, gaps_mm=(4.0,) * 4, slopes=(OUT, IN, OUT, IN, OUT)),
    "flat, default, 4 banks": FLAT,
    "flat, 0.8 mm thin": replace(FLAT, thickness_mm=0.8),
    "flat, 2 banks": replace(FLAT, gaps_mm=(5.0,), slopes=(OUT, OUT)),
    "folded, default, 2 banks": FOLDED,
    "folded, 1 bank": replace(FOLDED, gaps_mm=(), slopes=(OUT,)),
    "folded, 0.8 mm thin": replace(FOLDED, thickness_mm=0.8),
    "folded, 4 banks": replace(FOLDED, gaps_mm=(4.0,) * 3, slopes=(OUT,) * 4),
}


def main() -> None:
    """Print one line per case and Reynolds number, and the scatter."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--form", default="", help="only the cases of this slat form")
    only = parser.parse_args().form
    print("case | Re | solver K | block range | quick | corrected | quick off | corrected off")
    errors = []
    for name, stack in CASES.items():
        if only and stack.form != only:
            continue
        for re in (80.0, 300.0, 1200.0):
            flow = solve_stack(
                stack, re, cells=stack.shape.solver_cells, tolerance=0.015, blocks_max=10
            )
            batch = StackBatch.of([stack])
            quick = float(quick_loss(batch, re).k[0, 0])
            best = float(corrected_loss(batch, re).k[0, 0])
            errors.append(best / flow.k - 1)
            print(
                f"{name} | {re:g} | {flow.k:.1f} | {flow.k_spread:.1f} | {quick:.1f} | {best:.1f}"
                f" | {100 * (quick / flow.k - 1):+.0f} % | {100 * errors[-1]:+.0f} %",
                flush=True,
            )
    off = np.abs(errors)
    print(
        f"corrected model: mean {100 * np.mean(errors):+.0f} %,"
        f" rms {100 * np.sqrt(np.mean(off**2)):.0f} %,"
        f" worst {100 * off.max():.0f} % over {len(errors)} runs"
    )


if __name__ == "__main__":
    main()
