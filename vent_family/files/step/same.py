"""Whether the file of a part says just what an assembly's file says about the same part.

Both are graphs of numbered records. Two records are the same if they have the same text and their
references lead to the same records; numbers alone do not count. So a part's file need not be read
by the kernel once more where the assembly has been read.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Final

# A string, which may hold anything, or a reference.
_TOKEN: Final = re.compile(r"'(?:[^']|'')*'|#(\d+)")
# What everything that is said about a part leads to: the part, or its solid; what is said about the
# assembly leads to its own definition and representation besides.
_ANCHORS: Final = ("PRODUCT_DEFINITION(", "MANIFOLD_SOLID_BREP(", "SHAPE_REPRESENTATION(")


class _Graph:
    """The records of a file: ``same[number]`` is equal for records that are the same."""

    def __init__(self, path: Path, known: dict[str, int]) -> None:
        self._known = known
        # One record a line, as this package writes them.
        lines = path.read_text(encoding="ascii").split("\n")
        self.records = dict(_numbered(line) for line in lines if line.startswith("#"))
        self.same: dict[int, int] = {}
        self.anchors: dict[int, frozenset[int]] = {}
        for number in self.records:
            self._visit(number)

    def _visit(self, number: int) -> None:
        if number in self.same:
            return
        record = self.records[number]
        anchors: frozenset[int] = frozenset()

        def same(match: re.Match[str]) -> str:
            nonlocal anchors
            if match[1] is None:
                return match[0]
            other = int(match[1])
            self._visit(other)
            if self.anchors[other]:
                anchors |= self.anchors[other]
            return f"#{self.same[other]}"

        text = _TOKEN.sub(same, record)
        found = self._known.setdefault(text, len(self._known))
        self.same[number] = found
        self.anchors[number] = anchors | {found} if record.startswith(_ANCHORS) else anchors


def _numbered(line: str) -> tuple[int, str]:
    number, _, record = line.partition("=")
    return int(number[1:]), record


def same_in_assembly(assembly: Path, parts: list[Path]) -> set[Path]:
    """Return those files of parts that say exactly what the assembly's file says about the part.

    Everything that stands in the part's file stands in the assembly's, and everything the assembly
    says about this part and no other stands in the part's.

    Raises
    ------
    OSError
        if a file cannot be read from the disk
    """
    known: dict[str, int] = {}
    whole = _Graph(assembly, known)
    there = Counter(whole.same.values())
    found = set()
    for path in parts:
        part = _Graph(path, known)
        here = Counter(part.same.values())
        own = {part.same[n] for n, record in part.records.items() if record.startswith(_ANCHORS)}
        about = Counter(
            whole.same[number]
            for number, anchors in whole.anchors.items()
            if anchors and anchors <= own
        )
        if own and not here - there and not about - here:
            found.add(path)
    return found
