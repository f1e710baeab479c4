"""The register of releases: one text file beside the catalogue, one line for each release.

It says of every release what identifies its geometry and its evidence, so that one revision never
comes to mean two geometries, on whatever machine it is built. It is meant for version control:
lines stand in a fixed order and are never changed once written, only added.
"""

from __future__ import annotations

import csv
import io
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.parse.scan import row_list, shorten
from vent_family.catalog.parse.text import decode
from vent_family.release.entry import COLUMNS, RESTORE, RESTORE_LINE, ReleaseEntry, entry_of_line

_HEAD: Final = (
    "# Register of releases: one line for each, written by vent-family publish and never changed"
    " afterwards.",
    "# Keep it under version control beside the catalogue. Look at it, but do not edit it, nor save"
    " it from a spreadsheet.",
)
_CONFLICT: Final = re.compile(r"<{7}|={7}|>{7}|\|{7}")


@dataclass(frozen=True, slots=True)
class Register:
    """All releases in their order; ``comments`` are those of the file, by what they stand before.

    Comments before the line of column names stand under "", others under the name of the release
    they precede, those at the end under "end".
    """

    entries: tuple[ReleaseEntry, ...] = ()
    comments: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: {"": _HEAD})

    def of_part(self, part_number: str) -> tuple[ReleaseEntry, ...]:
        """Return the releases of a part, the earliest first."""
        return tuple(e for e in self.entries if e.part_number == part_number)

    def of(self, part_number: str, revision: str) -> tuple[ReleaseEntry, ...]:
        """Return the releases of one revision of a part, the earliest first."""
        return tuple(e for e in self.of_part(part_number) if e.revision == revision)

    def latest(self, part_number: str) -> ReleaseEntry | None:
        """Return the last line of a part, which may say that it was withdrawn."""
        found = self.of_part(part_number)
        return found[-1] if found else None

    def by_part(self) -> dict[str, tuple[ReleaseEntry, ...]]:
        """Return the releases of every part."""
        found: dict[str, list[ReleaseEntry]] = defaultdict(list)
        for entry in self.entries:
            found[entry.part_number].append(entry)
        return {number: tuple(entries) for number, entries in found.items()}

    def appended(self, *entries: ReleaseEntry) -> Register:
        """Return a register with more releases, each in its place."""
        together = sorted((*self.entries, *entries), key=lambda e: e.order)
        return replace(self, entries=tuple(together))

    def text(self) -> str:
        """Return the file's text.

        Raises
        ------
        ValueError
            if a cell would be run as a formula or break its line
        """
        stream = io.StringIO()
        lines = csv.writer(stream, lineterminator="\n")
        for line in self.comments.get("", ()):
            stream.write(f"{line}\n")
        lines.writerow(COLUMNS)
        told = set()
        for entry in self.entries:
            if entry.name not in told:
                told.add(entry.name)
                for line in self.comments.get(entry.name, ()):
                    stream.write(f"{line}\n")
            lines.writerow(entry.cells())
        for line in self.comments.get("end", ()):
            stream.write(f"{line}\n")
        return stream.getvalue()

    def write(self, path: Path) -> None:
        """Write the register, whole or not at all.

        Raises
        ------
        OSError
            if the file cannot be written
        ValueError
            if a cell would be run as a formula or break its line
        """
        write_bytes(path, self.text().encode("utf-8"))


def register_path(catalog: Path) -> Path:
    """Return where the register of a catalogue stands.

    Examples
    --------
    >>> register_path(Path("sheets/catalog.csv")).name
    'catalog.releases.csv'
    """
    return catalog.with_name(f"{catalog.stem}.releases.csv")


def read_register(path: Path) -> Register | None:
    """Return the register in a file, ``None`` if there is no file.

    Raises
    ------
    InputError
        with every fault of the file
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        message = f"the register of releases cannot be read: {error.strerror or error}"
        raise InputError([Problem("file.unopened", message, file=path.name)]) from None
    return parse_register(decode(data, path.name), path.name)


def parse_register(text: str, name: str = "register") -> Register:
    """Return the register that a text holds; ``name`` stands in messages.

    Raises
    ------
    InputError
        with every fault of the text
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    problems: list[Problem] = []
    comments: dict[str, list[str]] = defaultdict(list)
    pending: list[str] = []
    found: list[tuple[int, ReleaseEntry]] = []
    header = 0
    for row, line in enumerate(lines, 1):
        if not line.strip():
            continue
        if _CONFLICT.match(line):
            problems.append(_conflict(name, row, line))
        elif line.lstrip('" ').startswith("#"):
            pending.append(line)
        elif not header:
            header = row
            problems += _header(name, row, line)
            if problems and problems[-1].row == row:
                break
            comments[""] = pending
            pending = []
        else:
            entry = entry_of_line(name, row, line, problems)
            if entry is not None:
                found.append((row, entry))
                comments[entry.name] += pending
                pending = []
    if not header and not problems:
        message = "the register of releases has no line of column names"
        problems.append(Problem("register.header.missing", message, file=name, suggestion=RESTORE))
    comments["end"] = pending
    problems += _together(name, found)
    if problems:
        raise InputError(sorted(problems, key=lambda p: p.row or 0))
    entries = sorted((entry for _, entry in found), key=lambda e: e.order)
    kept = {key: tuple(lines) for key, lines in comments.items() if lines}
    return Register(tuple(entries), kept)


def _conflict(name: str, row: int, line: str) -> Problem:
    return Problem(
        "register.file.merge",
        "two versions of the register were merged and the merge was not finished",
        file=name,
        row=row,
        value=shorten(line),
        suggestion="keep the lines of both versions and remove the marks between them; if both made"
        " the same issue of a part, publish it again after the merge",
    )


def _header(name: str, row: int, line: str) -> Iterator[Problem]:
    for separator, words in ((";", "semicolons"), ("\t", "tabs")):
        if line.count(separator) >= len(COLUMNS) - 1:
            yield Problem(
                "register.header.separators",
                f"the register was saved with {words} between its cells, as a spreadsheet does",
                file=name,
                row=row,
                value=shorten(line),
                suggestion=f"{RESTORE}, and do not save it from a spreadsheet",
            )
            return
    cells = line.split(",")
    if cells != list(COLUMNS):
        lacking = [c for c in COLUMNS if c not in cells]
        what = f"lacks {lacking[0]}" if lacking else "has other columns"
        yield Problem(
            "register.header.columns",
            f"this is no register of releases: its line of column names {what}",
            file=name,
            row=row,
            value=shorten(line),
            suggestion=RESTORE,
        )


def _together(name: str, found: list[tuple[int, ReleaseEntry]]) -> Iterator[Problem]:
    """Yield what is wrong between lines: what stands twice, what is missing."""
    rows: dict[tuple[str, str], list[tuple[int, ReleaseEntry]]] = defaultdict(list)
    for row, entry in sorted(found, key=lambda f: f[1].order):
        rows[entry.part_number, entry.revision].append((row, entry))
    for (number, revision), lines in rows.items():
        made: dict[tuple[int, str], int] = {}
        issues: set[int] = set()
        for row, entry in lines:
            kind = {"bytes": entry.content, "withdrawn": "gone"}.get(entry.change, "")
            place = Problem(
                "register.issue.repeated",
                "",
                file=name,
                row=row,
                part_number=number,
                column="issue",
            )
            if (entry.issue, kind) in made:
                both = row_list(sorted((made[entry.issue, kind], row)))
                yield replace(
                    place,
                    message=f"{entry.name} stands twice, in {both}",
                    suggestion="two people published it from different catalogues, or a merge took"
                    " a line twice: keep the line of the release that is in use, and publish again",
                )
            made[entry.issue, kind] = row
            if issues and entry.issue > max(issues) + 1:
                yield replace(
                    place,
                    code="register.issue.missing",
                    message=f"issue {max(issues) + 1} of revision {revision} is missing",
                    value=str(entry.issue),
                    suggestion=RESTORE_LINE,
                )
            issues.add(entry.issue)
