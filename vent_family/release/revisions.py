"""The order of revisions: A to Z, then AA; A1 lies between A and B."""

from __future__ import annotations

import re
from itertools import takewhile
from typing import Final

_MOST: Final = 4
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

RevisionOrder = tuple[int, str, int, str]


def _parts(revision: str) -> tuple[str, str]:
    """Return a revision's leading letters, and what follows them."""
    letters = "".join(takewhile(str.isalpha, revision))
    return letters, revision[len(letters) :]


def revision_order(revision: str) -> RevisionOrder:
    """Return a key by which revisions sort from the earliest to the latest.

    Examples
    --------
    >>> sorted(["AA", "B", "A10", "A", "Z", "A2"], key=revision_order)
    ['A', 'A2', 'A10', 'B', 'Z', 'AA']
    """
    letters, rest = _parts(revision)
    return len(letters), letters, len(rest), rest


def next_revision(revision: str) -> str:
    """Return the next letter after a revision; empty where four letters are used up.

    Examples
    --------
    >>> [next_revision(r) for r in ("A", "B3", "Z", "AZ", "ZZ", "ZZZZ")]
    ['B', 'C', 'AA', 'BA', 'AAA', '']
    """
    letters, _ = _parts(revision)
    kept = re.sub("Z+$", "", letters)
    turned = "A" * (len(letters) - len(kept))
    if kept:
        return kept[:-1] + _LETTERS[_LETTERS.index(kept[-1]) + 1] + turned
    return turned + "A" if len(turned) < _MOST else ""


def skipped(before: str, now: str) -> str:
    """Return the first revision left out between two plain letters, empty if none is.

    Examples
    --------
    >>> skipped("A", "B"), skipped("A", "D"), skipped("A", "A1"), skipped("Y", "AB")
    ('', 'B', '', 'Z')
    """
    following = next_revision(before)
    return following if following and revision_order(now) > revision_order(following) else ""
