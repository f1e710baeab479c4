"""Small faults of what is told of known parts, of constraints that give way, of small openings."""

from __future__ import annotations

from typing import Final

from tests.faults.fault import Fault

KNOWN: Final = (
    Fault(
        "known-1",
        "records",
        "proposing/known.py",
        "dropped",
        "a part that fails a rung is carried no further",
        'candidate = replace(candidate, lack=0.0, reason="")',
        'candidate = replace(candidate, reason="")',
    ),
    Fault(
        "known-2",
        "records",
        "proposing/known.py",
        "sign",
        "parts wider than the largest opening are told",
        "return mine[0] <= most[0] and mine[1] <= most[1]",
        "return mine[0] >= most[0] and mine[1] <= most[1]",
    ),
    Fault(
        "known-3",
        "records",
        "proposing/known.py",
        "dropped",
        "a wall that is too thin for a part's arms is taken to fit",
        "if not fits.least_mm <= wall <= fits.most_mm:",
        "if not wall <= fits.most_mm:",
    ),
    Fault(
        "known-4",
        "records",
        "proposing/known.py",
        "column",
        "a part is judged by its own water and air where its row names any",
        "return CatalogRow(**(row.model_dump() | met))",
        "return CatalogRow(**(met | row.model_dump(exclude_none=True)))",
    ),
    Fault(
        "known-5",
        "records",
        "proposing/relax.py",
        "min max",
        "the row that needs most is told in place of the one that needs least",
        "return sorted(ended, key=cost)",
        "return sorted(ended, key=cost, reverse=True)",
    ),
    Fault(
        "known-6",
        "records",
        "proposing/instead.py",
        "sign",
        "the half is searched in which there is no answer",
        "low, high = (low, middle) if good(middle) else (middle, high)",
        "low, high = (middle, high) if good(middle) else (low, middle)",
    ),
    Fault(
        "known-7",
        "records",
        "proposing/constraints.py",
        "off by one",
        "what would do is told a step too high",
        "return round(math.ceil(value / step - 1e-9) * step, 9)",
        "return round((math.ceil(value / step - 1e-9) + 1) * step, 9)",
    ),
    Fault(
        "known-8",
        "records",
        "proposing/smallest.py",
        "sign",
        "the largest opening is tried first",
        "key=lambda size: (area_mm2(size), size)",
        "key=lambda size: (-area_mm2(size), size)",
    ),
    Fault(
        "known-9",
        "records",
        "proposing/openings.py",
        "min max",
        "openings larger than any are named",
        "if max(w, h) <= OPENING_MAX.value",
        "if min(w, h) <= OPENING_MAX.value",
    ),
)
