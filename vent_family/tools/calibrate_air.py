"""Run the flow solver over the calibration grid and write the table the air model reads.

Usage: ``python -m vent_family.tools.calibrate_air``. Runs already in the table are kept, so an
interrupted sweep goes on where it stopped; delete the table to start over. About half an
hour on one core.
"""

from __future__ import annotations

import argparse
import csv
import io
import time
from collections.abc import Sequence
from dataclasses import asdict, fields

from vent_family.base.atomic import write_bytes
from vent_family.evidence.air import calibration
from vent_family.evidence.air.flow2d import solve_stack


def table_text(rows: Sequence[calibration.Run]) -> str:
    """Return the table's text with the runs in the order of the grid."""
    order = sorted(rows, key=lambda r: (r.form, r.thickness_mm, r.overlap_ratio, r.gap_ratio, r.re))
    text = io.StringIO(newline="")
    text.write("# K of the 2-D flow solver in face velocity heads; three banks, equal gaps.\n")
    text.write("# Written by tools/calibrate_air.py; ratios: air/calibration.py.\n")
    table = csv.DictWriter(text, [f.name for f in fields(calibration.Run)], lineterminator="\n")
    table.writeheader()
    table.writerows(asdict(r) for r in order)
    return text.getvalue()


def main() -> None:
    """Fill the table."""
    argparse.ArgumentParser(description=__doc__).parse_args()
    rows = calibration.read_runs() if calibration.RUNS.exists() else []
    done = {(r.form, r.thickness_mm, r.overlap_ratio, r.gap_ratio, r.re) for r in rows}
    for form, thickness, overlap, gap, re in calibration.grid_points():
        if (form.name, thickness, overlap, gap, re) in done:
            continue
        start = time.perf_counter()
        cells = form.solver_cells
        stack = calibration.sample_stack(form, thickness, overlap, gap)
        flow = solve_stack(stack, re, cells=cells, tolerance=0.015, blocks_max=10)
        run = calibration.Run(
            form.name,
            thickness,
            overlap,
            gap,
            re,
            cells,
            round(flow.k, 3),
            round(flow.k_spread, 3),
            round(flow.unsteady, 4),
            flow.settled,
        )
        rows.append(run)
        write_bytes(calibration.RUNS, table_text(rows).encode("utf-8"))
        print(run, f"{time.perf_counter() - start:.1f} s", flush=True)


if __name__ == "__main__":
    main()
