"""The tree speaks of vents, not of how it came about: no such words, no paths of one machine."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

# Written backwards, so that this file does not hold what it looks for. A drawing's and a part's
# revision has numbered issues; only those of a tracker say how the tree came about.
WORDS = ["feirb", "gnifeirb", "noisses", "snoisses", "tpmorp", "stpmorp", "ksat", "sksat",
         "tnemngissa", "stnemngissa", "# eussi", "eussi ees", "txet eussi", "rekcart eussi",
         "eussi siht sexif", "eussi eht sesolc", "epytotorp", "sepytotorp",
         "detseuqer sa", "tpgtahc", "edualc", "tolipoc", "mll", "tnega ia"]  # fmt: skip
PATHS = ["derahs/..", "/krow/", "/emoh/", "/toor/", "\\sresU\\:C"]

ALLOWED = {
    # The kernel's own name for what holds the entities of a STEP file while it is read.
    "vent_family/files/step/read.py": {"noisses"[::-1]},
    # A library of others as it comes: what objects of its language have, and the browser's own.
    "vent_family/release/site/static/viewer.js": {"epytotorp"[::-1], "noisses"[::-1]},
}
SKIPPED = {"exports", "build", "dist", "__pycache__", "node_modules"}
"""Folders that hold what is made from the tree, not the tree."""
WORD = re.compile(
    r"(?<![A-Za-z_])(?:" + "|".join(re.escape(w[::-1]) for w in WORDS) + r")(?![A-Za-z_])"
    "|" + "|".join(re.escape(p[::-1]) for p in PATHS),
    re.IGNORECASE,
)


TYPE_COMMENT = re.compile(r"# type: ignore\[[a-z, -]+\]")
"""Names of the type checker's complaints are its own words."""


def found_in(text: str) -> set[str]:
    """Return the words and paths of a text that stand for its origin, in small letters."""
    return {match.lower() for match in WORD.findall(TYPE_COMMENT.sub("", text))}


def tree() -> Iterator[Path]:
    """Yield every file of the tree, relative to its root."""
    for path in sorted(ROOT.rglob("*")):
        parts = path.relative_to(ROOT).parts
        hidden = any(p.startswith(".") and p != ".ci" for p in parts[:-1])
        made = any(p in SKIPPED or p.endswith(".egg-info") for p in parts)
        if path.is_file() and not hidden and not made and parts[-1] != ".git":
            yield path.relative_to(ROOT)


@pytest.mark.parametrize("word", [*WORDS, *PATHS])
def test_each_word_is_noticed(word: str) -> None:
    plain = word[::-1]
    assert found_in(f"as the {plain.title()}: says") == {plain.lower()}
    assert not found_in("ignored, multitasking, PRESENTATION_STYLE_ASSIGNMENTS, tissue, promptly")


def test_no_file_speaks_of_its_origin() -> None:
    seen = 0
    for path in tree():
        seen += 1
        named = found_in(path.as_posix().replace("_", " "))
        assert not named, f"{path} is named after {named}"
        try:
            text = (ROOT / path).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # pictures
        words = found_in(text) - ALLOWED.get(path.as_posix(), set())
        assert not words, f"{path} speaks of {words}"
    assert seen > 150


def test_allowed_words_are_still_used() -> None:
    for path, words in ALLOWED.items():
        assert words <= found_in((ROOT / path).read_text(encoding="utf-8")), path
