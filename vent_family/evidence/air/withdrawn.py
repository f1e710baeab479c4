"""What the air model computes in place of a depression that a row still states by hand."""

from __future__ import annotations

from dataclasses import replace

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.catalog.renamed import COLUMNS_WITHDRAWN
from vent_family.evidence.air.drive import drive_of
from vent_family.evidence.air.point import operating_points
from vent_family.evidence.air.resistance import vent_air
from vent_family.spec.resolve import resolve


def with_computed(file: CatalogFile) -> CatalogFile:
    """Return a file whose problems with withdrawn columns say what is computed for their rows.

    The reader can only say that the column is gone; what replaces its value takes the air model. A
    row with further problems gets the plain sentence.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> head = "part_number,family,size,status,fan_depression_pa\\n"
    >>> file = parse_catalog(head + "V-1,rectangular,80x60,draft,20\\n")
    >>> (problem,) = with_computed(file).problems
    >>> problem.suggestion.split("; ")[1]  # doctest: +ELLIPSIS
    'the air model computes 25 Pa over the pool for this row (default: 25 Pa over the vent...'
    """
    rows = {source.row_number: source for source in file.withheld}
    return replace(
        file,
        problems=tuple(
            _completed(p, rows[p.row]) if p.column in COLUMNS_WITHDRAWN and p.row in rows else p
            for p in file.problems
        ),
    )


def _completed(problem: Problem, source: SourcedRow) -> Problem:
    try:
        vent = resolve(source.row, source.attached)
        drive = drive_of(vent)
    except InputError:
        return problem
    pa = operating_points(vent_air(vent), drive)[0].depression_pa
    told = (
        f"the air model computes {pa:.0f} Pa over the pool for this row"
        f" ({drive.words().split(';')[0]})"
    )
    return replace(problem, suggestion=f"{problem.suggestion}; {told}")
