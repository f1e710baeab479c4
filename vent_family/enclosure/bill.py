"""Bill of materials of any CadQuery assembly whose members say what they are.

What a member says is read from its ``metadata`` as :mod:`vent_family.enclosure.metadata` tells. A
member counts if it holds a shape. Equal part numbers of one revision are one line, wherever in the
tree they stand; members without a part number are listed by name. Nothing is left out.

A mass is what the member's attributes state (``printed_mass_g``, else ``mass_g``), else the volume
of its solids times its density; blank where neither is known.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Final

import cadquery as cq
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import printable
from vent_family.enclosure.fasteners import STANDARD
from vent_family.enclosure.metadata import MemberData, given_name, told_by
from vent_family.evidence.rounding import worth
from vent_family.release.entry import FORMULA_STARTS

if TYPE_CHECKING:
    import pandas as pd

COLUMNS: Final[dict[str, tuple[str, str]]] = {
    "position": ("", "number of the line; of what is in a sub-assembly, after a point"),
    "quantity": ("", "how many there are; in a sub-assembly, in one of it"),
    "part_number": ("", "part number, or the designation of a standard part"),
    "revision": ("", "revision"),
    "name": ("", "name of the member that has no part number"),
    "description": ("", "what it is"),
    "material": ("", "material"),
    "standard": ("", "the standard of a bought part"),
    "mass_each_g": ("g", "mass of one"),
    "mass_total_g": ("g", "mass of all of the line"),
    "mass_from": ("", "where the mass comes from"),
    "note": ("", "what to look at"),
}
"""Every column: unit and meaning. Attributes asked for follow."""
STATED_MASSES: Final = ("printed_mass_g", "mass_g")
"""Attributes that state a mass, the first one of them counts."""
ALIKE: Final = 1e-4
"""How far masses of one part may differ, as a share of them: beyond, its solids are not the same"""

Cell = str | int | float | None


@dataclass(slots=True)
class _Line:
    """A line in the making; ``masses_g`` of its members, g, ``None`` where one is not known.

    ``volume_mm3`` is that of the first member's solids.
    """

    told: MemberData
    name: str
    masses_g: list[float | None]
    mass_from: str
    volume_mm3: float = 0.0
    inner: list[_Line] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def quantity(self) -> int:
        return len(self.masses_g)

    @property
    def each_g(self) -> float | None:
        """Mass of one, g; ``None`` where it is not known, or not the same of all."""
        known = [mass for mass in self.masses_g if mass is not None]
        if len(known) < self.quantity or max(known) - min(known) > ALIKE * max(known):
            return None
        return known[0]

    @property
    def total_g(self) -> float | None:
        """Mass of all, g; ``None`` where one is not known."""
        known = [mass for mass in self.masses_g if mass is not None]
        return None if len(known) < self.quantity else sum(known)

    def content(self) -> Hashable:
        """Return what equal sub-assemblies have in common."""
        return tuple(
            (i.told.part_number or i.name, i.told.revision, i.quantity, i.content())
            for i in self.inner
        )


class _Volumes:
    """Volumes of solids, each measured once however often it is placed."""

    def __init__(self) -> None:
        self._known: dict[int, list[tuple[TopoDS_Shape, float]]] = {}

    def of(self, member: cq.Assembly) -> float:
        """Return the volume of a member's solids, mm3."""
        return sum(self._volume(solid) for shape in member.shapes for solid in shape.Solids())

    def _volume(self, solid: cq.Solid) -> float:
        bare = solid.wrapped.Located(TopLoc_Location())
        alike = self._known.setdefault(hash(bare), [])
        for other, volume in alike:
            if other.IsPartner(bare):
                return volume
        alike.append((bare, solid.Volume()))
        return alike[-1][1]


def bill_of_materials(
    assembly: cq.Assembly, *, attributes: Sequence[str] = (), nested: bool = False
) -> pd.DataFrame:
    """Return the bill of materials of an assembly, one line a part, in the tree's order.

    Parameters
    ----------
    assembly
        the assembly, of any depth
    attributes
        names of attributes that get a column each
    nested
        whether sub-assemblies have lines of their own, what is in them below, positions after a
        point; by default all parts of the whole tree are summed

    Returns
    -------
    pandas.DataFrame
        columns as in :data:`COLUMNS`; units and meanings also stand in ``attrs``, and under
        ``notes`` all there is to look at

    Raises
    ------
    ValueError
        if a member's metadata cannot be read

    Examples
    --------
    >>> plate = cq.Solid.makeBox(100.0, 100.0, 2.0)
    >>> told = {"part_number": "P-1", "material": "steel", "density_g_cm3": 7.85}
    >>> held = cq.Assembly(name="frame").add(plate, name="left", metadata=told)
    >>> held = held.add(plate, name="right", metadata=told).add(plate, name="cloth")
    >>> bill = bill_of_materials(held)
    >>> bill[["position", "quantity", "part_number", "name", "mass_total_g"]].values.tolist()
    [['1', 2, 'P-1', '', 314.0], ['2', 1, '', 'cloth', nan]]
    """
    # Imported here: it takes most of a second to load.
    import pandas as pd

    where = given_name(assembly) or "assembly"
    volumes = _Volumes()
    found = _entries(assembly, where, volumes) if nested else _bodies(assembly, where, volumes)
    lines = _merged(found)
    _noted(lines)
    rows = [_cells(line, at, attributes) for line, at in _numbered(lines)]
    bill = pd.DataFrame(rows, columns=[*COLUMNS, *attributes])
    for name in ("mass_each_g", "mass_total_g"):
        bill[name] = bill[name].astype(float)
    bill.attrs["units"] = {name: unit for name, (unit, _) in COLUMNS.items()}
    bill.attrs["meanings"] = {name: meaning for name, (_, meaning) in COLUMNS.items()}
    bill.attrs["notes"] = [
        f"{line.told.part_number or line.name}: {note}"
        for line, _ in _numbered(lines)
        for note in line.notes
    ]
    return bill


def to_csv(bill: pd.DataFrame, path: str | PathLike[str]) -> None:
    """Write a bill as a file that spreadsheets open: comma, UTF-8 with its mark.

    Text that a spreadsheet would run as a formula gets an apostrophe in front (common practice, no
    source); what cannot be printed is written as its escape.

    Raises
    ------
    OSError
        if the file cannot be written; nothing is half written
    """
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\r\n")
    lines.writerow([_safe(name) for name in bill.columns])
    for row in bill.itertuples(index=False):
        lines.writerow([_safe(cell) for cell in row])
    write_bytes(Path(path), out.getvalue().encode("utf-8-sig"))


def _safe(cell: object) -> str:
    """Return a cell as text that no spreadsheet runs.

    Examples
    --------
    >>> _safe("=1+1"), _safe(-2.5), _safe(float("nan")), _safe("tab\\tin")
    ("'=1+1", '-2.5', '', 'tab\\\\tin')
    """
    if cell is None or cell != cell:
        return ""
    if not isinstance(cell, str):
        return str(cell)
    text = printable(cell)
    return f"'{text}" if cell.startswith(FORMULA_STARTS) else text


def _bodies(member: cq.Assembly, where: str, volumes: _Volumes) -> Iterator[_Line]:
    """Yield every member that holds a shape, or a part number alone, with its own line."""
    told = told_by(member, where)
    if _counts(member, told):
        yield _body(member, told, where, volumes)
    for child in member.children:
        yield from _bodies(child, _below(where, child), volumes)


def _entries(member: cq.Assembly, where: str, volumes: _Volumes) -> Iterator[_Line]:
    """Yield what stands in a member: its own body, parts, and sub-assemblies with their lines."""
    told = told_by(member, where)
    if _counts(member, told):
        named = f"{told.part_number}-body" if told.part_number and member.children else None
        own = told if named is None else replace(told.of_body(), part_number=named)
        yield _body(member, own, where, volumes)
    for child in member.children:
        inner = _below(where, child)
        if not child.children:
            yield from _entries(child, inner, volumes)
            continue
        lines = _merged(_entries(child, inner, volumes))
        masses = [line.total_g for line in lines]
        known = [mass for mass in masses if mass is not None]
        total = sum(known) if len(known) == len(masses) else None
        said = told_by(child, inner).of_whole()
        yield _Line(said, _last(inner), [total], "sum", inner=lines)


def _counts(member: cq.Assembly, told: MemberData) -> bool:
    """Tell whether a member is something to be had: what is not drawn has a number at least."""
    return bool(member.shapes) or (bool(told.part_number) and not member.children)


def _body(member: cq.Assembly, told: MemberData, where: str, volumes: _Volumes) -> _Line:
    volume = volumes.of(member)
    stated = {a.name: a.value for a in told.attributes}
    for name in STATED_MASSES:
        mass = stated.get(name)
        if isinstance(mass, int | float):
            return _Line(told, _last(where), [float(mass)], name.removesuffix("_g"), volume)
    if told.density_g_cm3 is None or not volume:
        return _Line(told, _last(where), [None], "", volume)
    return _Line(told, _last(where), [volume * told.density_g_cm3 * 1e-3], "solid", volume)


def _below(where: str, child: cq.Assembly) -> str:
    return f"{where}/{given_name(child) or 'unnamed'}"


def _last(where: str) -> str:
    return where.rsplit("/", 1)[-1]


def _merged(lines: Iterable[_Line]) -> list[_Line]:
    """Return lines with those of one part summed, in the order they first appear."""
    found: dict[Hashable, _Line] = {}
    for line in lines:
        told = line.told
        key: Hashable
        if told.part_number:
            key = ("part", told.part_number, told.revision, line.content())
        else:
            size = f"{line.volume_mm3:.6g}"
            key = ("name", line.name, told.material, told.description, size, line.content())
        known = found.setdefault(key, line)
        if known is line:
            continue
        known.masses_g += line.masses_g
        for what in ("description", "material"):
            one, other = getattr(known.told, what) or "", getattr(told, what) or ""
            note = f"stands elsewhere with {what} {other!r}"
            if one != other and note not in known.notes:
                known.notes.append(note)
    return list(found.values())


def _noted(lines: list[_Line]) -> None:
    """Note in lines where one part number stands for different things."""
    every = [line for line, _ in _numbered(lines)]
    by_number: dict[str, list[_Line]] = {}
    for line in every:
        if line.told.part_number:
            by_number.setdefault(line.told.part_number, []).append(line)
        known = [mass for mass in line.masses_g if mass is not None]
        if line.each_g is None and len(known) == line.quantity:
            line.notes.append("its members are not of one mass")
    for alike in by_number.values():
        revisions = list(dict.fromkeys(line.told.revision or "none" for line in alike))
        for line in alike:
            own = line.told.revision or "none"
            others = [r for r in revisions if r != own]
            if others:
                line.notes.append(f"also here with revision {', '.join(others)}")
            if any(o.content() != line.content() for o in alike if o.told.revision == own):
                line.notes.append("also here with other contents")


def _numbered(lines: list[_Line], above: str = "") -> Iterator[tuple[_Line, str]]:
    """Yield all lines, those of sub-assemblies after theirs, with their positions."""
    for place, line in enumerate(lines, 1):
        at = f"{above}{place}"
        yield line, at
        yield from _numbered(line.inner, f"{at}.")


def _cells(line: _Line, position: str, attributes: Sequence[str]) -> list[Cell]:
    told = line.told
    said = {a.name: a.value for a in told.attributes}
    each, total = line.each_g, line.total_g
    return [
        position,
        line.quantity,
        told.part_number,
        told.revision or "",
        "" if told.part_number else line.name,
        told.description,
        told.material or "",
        str(said.get(STANDARD, "")),
        None if each is None else worth(each, "g"),
        None if total is None else worth(total, "g"),
        line.mass_from.replace("_", " "),
        "; ".join(line.notes),
        *(said.get(name, "") for name in attributes),
    ]
