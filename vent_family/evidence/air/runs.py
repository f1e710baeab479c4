"""The table of solver runs that corrects the quick loss model: its places, stacks and rows.

``data/stack_losses.csv`` holds K (face velocity heads) of the 2-D solver over slat form, thickness,
height, bank gap, Reynolds number and width of feet: for stacks of three banks at half a pitch of
shift with equal gaps, and for single banks. Each form names a grid of its own
(:class:`vent_family.spec.forms.AirTable`). ``tools/calibrate_air.py`` fills the table.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Final

from vent_family.evidence.air.solved import rows_of
from vent_family.spec.forms import IN, OUT, AirTable, SlatForm
from vent_family.spec.stack import Stack

RUNS: Final = Path(__file__).with_name("data") / "stack_losses.csv"

SAMPLE_BANKS: Final = 3
NO_GAP: Final = 0.0
"""Gap ratio that stands for a single bank."""
SLAT_NODES: Final = 2.75
"""Least number of nodes across a slat's thickness: thinner ones come out too easy to pass."""

SINGLE_FINER: Final = 1.5
"""So much finer is the grid of a single bank: where its nodes lie beside the one sharp edge of all
slats changes K by a tenth on the usual one."""


@dataclass(frozen=True, slots=True)
class Place:
    """One point of the table.

    ``height_ratio`` is slat height over pitch, ``gap_ratio`` gap over passage (0: a single bank),
    ``re`` the passage Reynolds number, ``foot_mm`` the width of the flats in which acute corners
    end.
    """

    form: str
    thickness_mm: float
    height_ratio: float
    gap_ratio: float
    re: float
    foot_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """One solver run of the table; ``k`` and ``k_spread`` in face velocity heads.

    ``cells`` are the nodes across a passage; ``speed`` (lattice units), ``blocks``, ``unsteady``
    (1) and ``settled`` are those of :class:`vent_family.evidence.air.flow2d.MeanFlow`.
    """

    form: str
    thickness_mm: float
    height_ratio: float
    gap_ratio: float
    re: float
    foot_mm: float
    cells: int
    speed: float
    blocks: int
    k: float
    k_spread: float
    unsteady: float
    settled: bool

    @property
    def place(self) -> Place:
        """Where in the table the run stands."""
        own = (self.form, self.thickness_mm, self.height_ratio, self.gap_ratio)
        return Place(*own, self.re, self.foot_mm)


_NUMBERS: Final = tuple(f.name for f in fields(Run) if f.type == "float")
"""The columns that hold a number with a point."""


def grid_places(form: SlatForm) -> Iterator[Place]:
    """Yield every place of one form's table: none where it has no table.

    Examples
    --------
    >>> from vent_family.spec.forms import FORMS
    >>> next(grid_places(FORMS["flat"]))
    Place(form='flat', thickness_mm=0.75, height_ratio=0.6, gap_ratio=0.9, re=10.0, foot_mm=0.0)
    """
    table = form.air_table
    if table is None:
        return
    for foot, thicknesses, reynolds in (
        (0.0, table.thicknesses_mm, table.reynolds),
        (table.foot_mm, table.foot_thicknesses_mm, table.foot_reynolds),
    ):
        shapes = itertools.chain(
            itertools.product(thicknesses, table.height_ratios, table.gap_ratios),
            itertools.product(thicknesses, table.single_height_ratios, (NO_GAP,)),
        )
        for shape, re in itertools.product(shapes, reynolds):
            yield Place(form.name, *shape, re, foot)


def table_of(form: SlatForm) -> AirTable:
    """Return a form's table.

    Raises
    ------
    ValueError
        if the form has no table of solver runs
    """
    if form.air_table is None:
        raise ValueError(f"the flow solver was never run on {form.name} slats")
    return form.air_table


def sample_stack(
    form: SlatForm,
    thickness_mm: float,
    height_ratio: float,
    gap_ratio: float,
    foot_mm: float = 0.0,
) -> Stack:
    """Return the stack a table row stands for.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    thickness_mm
        slat thickness, mm
    height_ratio
        slat height over the pitch
    gap_ratio
        clear distance between banks over the passage width; 0 for a single bank
    foot_mm
        width of the flats in which acute corners end, mm

    Raises
    ------
    ValueError
        if the form has no table of solver runs

    Examples
    --------
    >>> from vent_family.spec.forms import FORMS
    >>> stack = sample_stack(FORMS["flat"], 1.5, 0.75, 1.6)
    >>> stack.slat_height_mm, stack.passage_mm, stack.gaps_mm
    (9.0, 3.0, (4.800000000000001, 4.800000000000001))
    >>> sample_stack(FORMS["folded"], 1.5, 1.25, 0.0).bank_count
    1
    """
    pitch = table_of(form).pitch_mm
    banks = 1 if gap_ratio == NO_GAP else SAMPLE_BANKS
    slopes = tuple(OUT if i % 2 == 0 else IN for i in range(banks))
    no_gaps = (0.0,) * (banks - 1)
    height = height_ratio * pitch
    bare = Stack(form.name, thickness_mm, pitch, height, no_gaps, 0.5, slopes, foot_mm)
    return replace(bare, gaps_mm=(gap_ratio * bare.passage_mm,) * (banks - 1))


def nodes_across(stack: Stack) -> int:
    """Return the nodes across a passage that the solver needs for a stack.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (1, 1))
    >>> nodes_across(flat), nodes_across(replace(flat, thickness_mm=0.6))
    (12, 14)
    """
    thin = SLAT_NODES * stack.passage_mm / stack.thickness_mm
    usual = stack.shape.solver_cells * (1.0 if stack.gaps_mm else SINGLE_FINER)
    return math.ceil(max(usual, thin) - 1e-9)


def read_runs() -> list[Run]:
    """Return the table's rows."""
    return [
        Run(
            form=row["form"],
            cells=int(row["cells"]),
            blocks=int(row["blocks"]),
            settled=row["settled"] == "True",
            **{name: float(row[name]) for name in _NUMBERS},
        )
        for row in rows_of(RUNS)
    ]
