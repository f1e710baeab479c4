"""The lock file: one line a part, read back as written, every fault of it told."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from vent_family.base.problems import InputError
from vent_family.release.pinned.lockfile import parse_pins, pins_text, read_pins, write_pins
from vent_family.release.pinned.pin import Pin

HASH = "0123456789abcdef" * 4
PINS = (Pin("V-n2", "B", 12, HASH), Pin("V-40.5", "A", 1, HASH[::-1]), Pin("V-N1", "AA", 2, HASH))


def one(text: str) -> str:
    """Return the only problem of a text: code, then sentence."""
    with pytest.raises(InputError) as raised:
        parse_pins(text)
    (problem,) = raised.value.problems
    return f"{problem.code} {problem.sentence()}"


def test_what_is_written_is_read() -> None:
    assert list(parse_pins(pins_text(PINS)).values()) == [PINS[1], PINS[2], PINS[0]]


def test_the_file_is_plain_toml_for_everybody() -> None:
    """Read with Python's own reader, not with ours."""
    found = tomllib.loads(pins_text(PINS))
    assert found["parts"]["V-n2"] == {"revision": "B", "issue": 12, "sha256": HASH}
    assert list(found["parts"]) == ["V-40.5", "V-N1", "V-n2"]


def test_a_change_of_one_part_is_a_change_of_one_line() -> None:
    before = pins_text(PINS).splitlines()
    now = pins_text([PINS[0], PINS[1], Pin("V-N1", "AB", 1, HASH)]).splitlines()
    assert len(before) == len(now)
    assert sum(a != b for a, b in zip(before, now, strict=True)) == 1
    more = set(pins_text([*PINS, Pin("V-50", "A", 1, HASH)]).splitlines())
    assert set(before) < more
    assert len(more - set(before)) == 1


def test_lines_may_stand_in_any_order_with_comments() -> None:
    text = pins_text(PINS)
    head, *lines = text.split("[parts]\n")[1].splitlines()
    turned = text.split("[parts]\n")[0] + "[parts]\n" + "\n# mine\n".join([*lines, head])
    assert set(parse_pins(turned).values()) == set(PINS)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('schema_version = "1.0"', 'schema_version = "9.0"', "'9.0', and only '1.0' is known"),
        ("[parts]", "[part]", "must hold schema_version and [parts]"),
        ('"A", issue = 1,', '"A", issue = 1', "(at line 6"),
        ('"V-N1"', '"V-40.5"', "line 7"),
    ],
)
def test_a_file_of_another_kind_is_told(old: str, new: str, told: str) -> None:
    text = pins_text(PINS)
    assert old in text
    sentence = one(text.replace(old, new))
    assert sentence.startswith("pins.file.unread vents.lock: this is no lock file")
    assert told in sentence


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("issue = 1,", "issue = 0,", "0 is no issue"),
        ("issue = 1,", "issue = true,", "True is no issue"),
        ("issue = 1,", 'issue = "1",', "'1' is no issue"),
        ('revision = "A"', 'revision = "a"', "'a' is no revision"),
        ('revision = "A", ', "", "must state revision, issue, sha256"),
        (HASH[::-1], HASH[::-1][:-1], "sha256 must have 64 hexadecimal digits"),
        (HASH[::-1], HASH[::-1].upper(), "sha256 must have 64 hexadecimal digits"),
    ],
)
def test_a_bad_line_is_told_with_its_part(old: str, new: str, told: str) -> None:
    sentence = one(pins_text(PINS).replace(old, new))
    assert sentence.startswith("pins.line.unread vents.lock, part V-40.5: ")
    assert told in sentence


def test_all_bad_lines_are_told_at_once() -> None:
    with pytest.raises(InputError) as raised:
        parse_pins(pins_text(PINS).replace("issue = ", "issue = -"))
    assert [p.part_number for p in raised.value.problems] == ["V-40.5", "V-N1", "V-n2"]


def test_a_part_number_that_leads_elsewhere_is_none() -> None:
    assert "this is no part number" in one(pins_text([Pin("../x", "A", 1, HASH)]))


def test_an_unfinished_merge_is_told_with_its_line() -> None:
    lines = pins_text(PINS).splitlines()
    lines[6:6] = ["<<<<<<< mine", lines[6].replace("AA", "AB"), "======="]
    assert one("\n".join(lines)).startswith("pins.file.merge vents.lock, row 7: ")


def test_files_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    for name, data, code in (
        ("none.lock", None, "file.missing"),
        ("bytes.lock", b"\xff\xfe\x00", "pins.file.unread"),
    ):
        path = tmp_path / name
        if data is not None:
            path.write_bytes(data)
        with pytest.raises(InputError) as raised:
            read_pins(path)
        assert raised.value.problems[0].code == code
    with pytest.raises(InputError) as raised:
        read_pins(tmp_path)
    assert raised.value.problems[0].code == "file.unopened"


def test_nothing_is_left_where_the_file_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "vents.lock").mkdir()
    with pytest.raises(OSError, match=r"vents\.lock"):
        write_pins(tmp_path / "vents.lock", PINS)
    assert [p.name for p in tmp_path.iterdir()] == ["vents.lock"]
