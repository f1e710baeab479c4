"""The rows of a catalogue resolved, each at most once."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from vent_family.base.problems import InputError, Problem, located
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

MANY: Final = 300
"""From so many rows on it pays to resolve them side by side, in processes of their own."""


@dataclass(frozen=True, slots=True)
class Packed:
    """A vent as another process resolved it, still packed: most are never asked for again."""

    data: bytes

    @staticmethod
    def of(vent: VentSpec) -> Packed:
        """Return a vent packed, to be handed to another process."""
        return Packed(pickle.dumps(vent, pickle.HIGHEST_PROTOCOL))

    def vent(self) -> VentSpec:
        """Return the vent."""
        found: VentSpec = pickle.loads(self.data)
        return found


class ResolvedRows:
    """The rows of one catalogue file, resolved when first asked for and then kept.

    A row that breaks a rule is kept as its problems, with file and row number filled in.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> text = "part_number,family,size,status,rib_count\\nV-1,rectangular,60x60,draft,40\\n"
    >>> rows = ResolvedRows(parse_catalog(text + "V-2,rectangular,60x60,draft,2\\n"))
    >>> [spec.part_number for spec in rows.specs()]
    ['V-2']
    >>> [(problem.row, problem.column) for problem in rows.problems()]
    [(2, 'rib_count')]
    """

    def __init__(self, file: CatalogFile) -> None:
        self.file = file
        self._found: dict[int, VentSpec | InputError | Packed] = {}

    def spec(self, source: SourcedRow) -> VentSpec:
        """Return the resolved vent of one row of the file.

        Raises
        ------
        InputError
            with every rule between columns that the row breaks
        """
        found = self._resolved(source)
        if isinstance(found, InputError):
            raise found
        return found

    def specs(self, family: str | None = None, status: str | None = None) -> Iterator[VentSpec]:
        """Yield the vents of all rows that resolve, in file order.

        ``family`` and ``status`` leave the others unresolved.
        """
        for source in self.file.rows:
            row = source.row
            if family not in (None, row.family) or status not in (None, row.status):
                continue
            found = self._resolved(source)
            if not isinstance(found, InputError):
                yield found

    def problems(self) -> list[Problem]:
        """Return every problem of the file, rules between columns included, in row order."""
        problems = list(self.file.problems)
        for source in self.file.rows:
            found = self._kept(source)
            if isinstance(found, InputError):
                problems += found.problems
        return sorted(problems, key=lambda p: p.row or 0)

    def take(self, source: SourcedRow, found: VentSpec | InputError | Packed) -> None:
        """Keep what a row of the file resolves to, where it was resolved elsewhere."""
        if isinstance(found, InputError):
            name, row = self.file.path_name, source.row_number
            found = InputError(self.file.placed(located(found.problems, name, row)))
        self._found[source.row_number] = found

    def _resolved(self, source: SourcedRow) -> VentSpec | InputError:
        found = self._kept(source)
        if isinstance(found, Packed):
            found = self._found[source.row_number] = found.vent()
        return found

    def _kept(self, source: SourcedRow) -> VentSpec | InputError | Packed:
        if source.row_number not in self._found:
            try:
                self.take(source, resolve(source.row, source.attached))
            except InputError as error:
                self.take(source, error)
        return self._found[source.row_number]
