"""The reference of a requirement's entries names each, and a file of what it says is read."""

from __future__ import annotations

import re

from vent_family.proposing.reference import WORDS, requirement_reference, sections
from vent_family.proposing.requirement import requirement_of


def test_every_entry_has_words_and_no_word_is_left_over() -> None:
    entries = {
        f"{section}.{name}" if section else name
        for section, kind in sections().items()
        for name in kind.model_fields
    }
    assert entries - set(sections()) == set(WORDS)
    text = requirement_reference()
    for path, words in WORDS.items():
        assert f"| `{path.rpartition('.')[2]}` |" in text
        assert words in text


def test_what_is_said_to_stand_without_an_entry_does() -> None:
    least = requirement_of({"opening": {"size": "40x40"}})
    for section, table in re.findall(
        r"### `\[(\w+)\]`\n\n(.*?)(?:\n\n|$)", requirement_reference(), re.S
    ):
        for name, value in re.findall(r"^\| `(\w+)` \| `([^`]+)` \|", table, re.M):
            if section == "cabinet":
                continue  # it has entries that must be there
            found = getattr(getattr(least, section), name)
            assert (", ".join(found) if isinstance(found, tuple) else str(found)) in (
                value, f"{value}.0",
            )  # fmt: skip
