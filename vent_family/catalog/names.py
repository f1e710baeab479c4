"""Part numbers as file names: what no disk takes, and which names would meet on one.

Sources: Microsoft, "Naming Files, Paths, and Namespaces" (reserved device names, also with an
extension; no dot or space at the end); names that differ in case only are one file on the usual
disks of Windows and macOS.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

from vent_family.catalog.model import NAME_MOST, PART_NUMBER
from vent_family.catalog.parse.numbers import Fault
from vent_family.catalog.parse.scan import row_list

FILE_ENDINGS: Final = (
    ".step",
    ".stl",
    ".3mf",
    ".json",
    "-locknut.step",
    "-locknut.stl",
    "-locknut.3mf",
    "-screen-frame.step",
    "-screen-frame.stl",
    "-screen-frame.3mf",
    "-gasket.step",
    "-gasket.stl",
    "-envelope.step",
    "-assembly.step",
    "-front.png",
    "-cut.png",
    "-opening.dxf",
    "-drill.pdf",
    "-model.js",
    "-drawing.svg",
    "-section.svg",
    "-datasheet.pdf",
    "-inspection.pdf",
    "-print.md",
    "-print.png",
    "-cost.svg",
    "-cost.png",
    "-water-sight.svg",
    "-water-sight.png",
    "-water-tracks.svg",
    "-water-tracks.png",
    "-water-penetration.svg",
    "-water-penetration.png",
)
"""What is appended to a part number for each file of a part, whatever its family."""

_RESERVED: Final = re.compile(r"(?:CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9])(?:\..*)?", re.IGNORECASE)


def files_of(part_number: str) -> tuple[str, ...]:
    """Return the names of all files that may be written for a part.

    Examples
    --------
    >>> files_of("HV-N20")[:3]
    ('HV-N20.step', 'HV-N20.stl', 'HV-N20.3mf')
    """
    return tuple(part_number + ending for ending in FILE_ENDINGS)


def name_fault(text: str) -> Fault | None:
    """Return why a part number cannot be a file name, ``None`` where it can.

    Examples
    --------
    >>> name_fault("HV-N20") is None
    True
    >>> name_fault("Gehäuse 12").suggestion, name_fault("com3").suggestion
    ('write Gehause-12', 'choose another part number')
    """
    if re.search(r"[/\\]|^\.\.|^[A-Za-z]:|^~", text):
        return Fault(
            "catalog.part.path",
            "the part number is also the file name and would lead out of the export folder",
            "use letters, digits, dots, hyphens and underscores only",
        )
    if _RESERVED.fullmatch(text):
        return Fault(
            "catalog.part.reserved",
            "the part number is also the file name, and Windows reserves this one for a device",
            "choose another part number",
        )
    if re.fullmatch(PART_NUMBER, text):
        return None
    if len(text) > NAME_MOST:
        return Fault(
            "catalog.part.long",
            "the part number is too long",
            f"shorten it to {NAME_MOST} characters",
        )
    if text.endswith("."):
        return Fault(
            "catalog.part.dot",
            "the part number is also the file name and ends with a dot, which Windows drops",
            f"write {text.rstrip('.')}" if text.strip(".") else "choose another part number",
        )
    foreign = sorted(set(re.findall(r"[^A-Za-z0-9._-]", text)))
    if foreign:
        listed = " ".join("a space" if s.isspace() else s for s in foreign[:5])
        plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
        plain = re.sub(r"[^A-Za-z0-9._-]+", "-", plain).strip("-._")
        return Fault(
            "catalog.part.characters",
            "the part number is also the file name and holds characters not allowed there: "
            f"{listed}",
            f"write {plain}" if plain else "choose another part number",
        )
    return Fault(
        "catalog.part.ends",
        "the part number must begin and end with a letter or a digit",
        "rename the part",
    )


def collisions(parts: Sequence[tuple[int, str]]) -> dict[int, Fault]:
    """Return the rows whose files would overwrite each other, by row number.

    ``parts`` holds row numbers and part numbers. Of equal names every row is refused, since
    nobody can know which was meant. Where a name meets a companion file of another part
    (``A-locknut`` and the locknut of ``A``), only the part named like a companion file has to
    give way.

    Examples
    --------
    >>> collisions([(2, "A"), (3, "B"), (4, "A-locknut")])[4].suggestion
    'choose a part number without that ending'
    >>> sorted(collisions([(2, "A"), (3, "a")]))
    [2, 3]
    """
    by_name: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for row, part in parts:
        by_name[part.casefold()].append((row, part))
    faults: dict[int, Fault] = {}
    for same in by_name.values():
        spelled: dict[str, list[int]] = defaultdict(list)
        for row, part in same:
            spelled[part].append(row)
        for row, part in same:
            exact = spelled[part]
            others = [(rows[0], p) for p, rows in spelled.items() if p != part]
            if len(exact) > 1:
                faults[row] = Fault(
                    "catalog.part.repeated",
                    f"the part number also appears in {row_list(exact, without=row)}; "
                    "none of these rows is used",
                    "give each row its own part number, or remove the surplus rows",
                )
            elif others:
                faults[row] = Fault(
                    "catalog.part.case",
                    f"the part number differs from {others[0][1]} in row {others[0][0]} only "
                    "in capital and small letters, so their files overwrite each other on some "
                    "disks; none of these rows is used",
                    "choose a part number that differs in more than case",
                )
    owners: dict[str, str] = {}
    for name in sorted(by_name, key=len):
        for file in files_of(name):
            owners.setdefault(file, name)
    for name, same in by_name.items():
        for file in files_of(name):
            owner = owners[file]
            if owner != name:
                for row, _ in same:
                    other_row, other = by_name[owner][0]
                    faults.setdefault(
                        row,
                        Fault(
                            "catalog.part.overwrites",
                            f"the part's file {_written(same, row)}{file[len(name) :]} would "
                            f"overwrite a companion file of part {other} in row {other_row}",
                            "choose a part number without that ending",
                        ),
                    )
    return faults


def _written(same: Iterable[tuple[int, str]], row: int) -> str:
    return next(p for r, p in same if r == row)
