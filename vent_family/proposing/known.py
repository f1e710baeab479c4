"""Parts of the catalogue, judged by what is asked: which do it already, and what the others lack.

A part keeps its own geometry, wall of the cabinet included, and meets the water, air and mounting
that are asked for. Unlike in the search a part that fails somewhere is carried on, so that all is
told that it lacks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import (
    RUNGS,
    Candidate,
    Margin,
    climbed,
    judged_row,
    lack_at,
    refused_words,
)
from vent_family.proposing.requirement import Requirement
from vent_family.proposing.sizes import is_thread, sides_mm
from vent_family.release.pool import run_in
from vent_family.spec.changes import cell_text
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

CONDITIONS: Final = frozenset(
    {
        *("exposure", "fan", "fan_position", "air_direction", "vents_in_parallel"),
        *("opposite_vent", "face_velocity_m_s", "extra_depression_pa", "other_openings"),
        *("mounting_tilt_deg", "mounting_roll_deg", "cabinet_surface_m2"),
    }
)
"""Columns that say what a part meets, not what it is."""
_COMPUTED: Final = "computed"
"""What is told of a blank cell whose value follows from others."""


@dataclass(frozen=True, slots=True)
class Differs:
    """Something that a part is, and that another is asked for, each in the catalogue's words."""

    name: str
    has: str
    asked: str


@dataclass(frozen=True)
class Carried:
    """A row that was carried up the whole ladder, whatever it failed on the way.

    ``candidate`` has the margins of every rung, its ``lack`` and ``reason`` are those of the first
    that it failed. ``refused`` are sentences for what gives no margin: a rule that is broken, no
    temperature that could be predicted.
    """

    candidate: Candidate
    refused: tuple[str, ...] = ()

    @property
    def lacks(self) -> tuple[Margin, ...]:
        """The margins that are not kept, the largest lack first."""
        found = (m for m in self.candidate.margins if not m.kept)
        return tuple(sorted(found, key=lambda m: m.share))

    @property
    def short(self) -> float:
        """By how much all margins together are not kept, as shares; 1 for what gives none."""
        return sum(-m.share for m in self.lacks) + len(self.refused)


@dataclass(frozen=True)
class KnownPart:
    """A part of the catalogue under the conditions that are asked for.

    ``row`` is the part's own; ``carried`` holds it under those conditions, of several fans with
    the one that suits it best; ``differs`` is what it is and another is asked for.
    """

    row: CatalogRow
    carried: Carried
    differs: tuple[Differs, ...] = ()

    @property
    def released(self) -> bool:
        """Whether the part is released; a draft is not."""
        return self.row.status == "released"

    @property
    def candidate(self) -> Candidate:
        """The part with its figures and margins."""
        return self.carried.candidate

    @property
    def does_it(self) -> bool:
        """Whether the part does all that is asked."""
        return self.short == 0.0 and self.candidate.kept

    @property
    def short(self) -> float:
        """How much the part lacks: shares of what is not kept, 1 for each thing that differs."""
        return self.carried.short + len(self.differs)

    @property
    def binding(self) -> Margin | None:
        """The constraint of which least is left; ``None`` for a part that breaks a rule."""
        return min(self.candidate.margins, key=lambda m: m.share, default=None)

    @property
    def order(self) -> tuple[Any, ...]:
        """By what parts are sorted: those that do it by price, then those that lack least."""
        price = self.candidate.figures.price
        costs = (price is None, price or 0.0)
        short = 0.0 if self.does_it else self.short
        return (not self.does_it, short, *costs, not self.released, self.row.part_number)


def known_parts(crew: Crew, rows: Iterable[CatalogRow]) -> tuple[KnownPart, ...]:
    """Return the parts of a catalogue whose openings are asked for, those that do it first.

    Released ones and drafts are told, retired ones are not. Those that do what is asked come by
    price, then the others by how little they lack.

    Parameters
    ----------
    crew
        who judges them, and by what
    rows
        the rows of the catalogue
    """
    asked = crew.enquiry.asked
    fit = [row for row in rows if row.status != "retired" and takes(asked, row)]
    jobs = [(row, fan) for row in fit for fan in asked.air.fan or (None,)]
    work = partial(_known, crew.enquiry)
    if crew.pool is None:
        found = [work(job) for job in jobs]
    else:
        found = run_in(crew.pool, jobs, work, _lost)
    best: dict[str, KnownPart] = {}
    for known in found:
        before = best.get(known.row.part_number)
        if before is None or known.order < before.order:
            best[known.row.part_number] = known
    return tuple(sorted(best.values(), key=lambda k: k.order))


def takes(asked: Requirement, row: CatalogRow) -> bool:
    """Return whether a row's opening and family are among those that a requirement allows."""
    opening = asked.opening
    mine = sides_mm(row.size)
    for size in opening.sizes:
        if row.family not in opening.families_for(size) or is_thread(size) != is_thread(row.size):
            continue
        sides = sides_mm(size)
        if mine == sides or (opening.at_most is not None and _within(mine, sides)):
            return True
    return False


def _within(mine: tuple[float, float], most: tuple[float, float]) -> bool:
    return mine[0] <= most[0] and mine[1] <= most[1]


def under_conditions(asked: Requirement, row: CatalogRow, fan: str | None) -> CatalogRow:
    """Return a row that keeps what it is and meets what a requirement says."""
    cells = asked.row_cells(row.family, row.size, row.material or "", fan)
    met = {name: cells.get(name) for name in CONDITIONS}
    return CatalogRow(**(row.model_dump() | met))


def carried(row: CatalogRow, enquiry: Enquiry) -> Carried:
    """Return how a row stands to every constraint, those included that come after one it fails.

    Raises
    ------
    InputError
        if its thread has no profile
    """
    candidate = judged_row(row, enquiry, "rules")
    if not candidate.kept:
        return Carried(candidate, refused_words(row, enquiry))
    lack, reason = 0.0, ""
    refused: list[str] = []
    for rung in RUNGS[1:]:
        if rung == "water":
            candidate = replace(candidate, rung=rung)  # all drops come with the last rung
            continue
        before = len(candidate.margins)
        candidate = climbed(candidate, enquiry, rung)
        if not candidate.kept:
            if all(m.kept for m in candidate.margins[before:]):
                refused.append(candidate.reason)
            lack, reason = lack or candidate.lack, reason or candidate.reason
            candidate = replace(candidate, lack=0.0, reason="")
    return Carried(replace(candidate, lack=lack, reason=reason), tuple(refused))


def _known(enquiry: Enquiry, job: tuple[CatalogRow, str | None]) -> KnownPart:
    row, fan = job
    met = under_conditions(enquiry.asked, row, fan)
    found = carried(met, enquiry)
    if found.candidate.rung == "rules":
        return KnownPart(row, found, _cells(enquiry.asked, met, None))
    spec = resolve(met, enquiry.attached(met))
    return KnownPart(row, found, _cells(enquiry.asked, met, spec))


def _cells(asked: Requirement, row: CatalogRow, spec: VentSpec | None) -> tuple[Differs, ...]:
    """Return where a part is not what is asked: its wall, material, printing, cells."""
    order = asked.order
    filled = filled_row(row)
    wall = asked.opening.panel_thickness_mm
    found = []
    if spec is not None:
        fits = spec.body.panel_range(spec.section)
        if not fits.least_mm <= wall <= fits.most_mm:
            has = f"{cell_text(fits.least_mm)} to {cell_text(fits.most_mm)}"
            found.append(Differs("panel_thickness_mm", has, cell_text(wall)))
    allowed: dict[str, tuple[Any, ...]] = {"material": order.material}
    if order.print_orientation is not None:
        allowed["print_orientation"] = order.print_orientation
    if order.colour is not None:
        allowed["colour"] = (order.colour,)
    for name, value in asked.row_cells(row.family, row.size, "", None).items():
        if name in asked.cells and name not in CONDITIONS:
            allowed[name] = (value,)
    for name, values in allowed.items():
        has = getattr(filled, name)
        if has not in values:
            words = _COMPUTED if has is None else cell_text(has)
            found.append(Differs(name, words, " or ".join(cell_text(v) for v in values)))
    return tuple(found)


def _lost(job: tuple[CatalogRow, str | None], why: str) -> KnownPart:
    row, _ = job
    return KnownPart(
        row, Carried(Candidate(row, "rules", lack_at("rules", 1e3), reason=why), (why,))
    )
