"""Old names of columns and words: refused with the new ones, and written anew on request."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.base.problems import InputError
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.reader import parse_catalog, read_catalog
from vent_family.catalog.renamed import COLUMNS_RENAMED
from vent_family.catalog.update import updated
from vent_family.front.cli.app import app

OLD = (
    "# hatchery vents: thread, key\r\n"
    "part_number,family,size,status,bank_shift, Thread ,key,description\r\n"
    '"HF-1",rectangular,80x60,released,0.45,,notch,"thread, true"\r\n'
    "\r\n"
    'HF-2,round,M32x1.5,draft,,"true",,key\r\n'
    "HF-3,round,M32x1.5,draft,, Simplified ,,\r\n"
    "HF-4,round,M20x1.5,draft,,WAHR,,\r\n"
)
NEW = (
    "# hatchery vents: thread, key\r\n"
    "part_number,family,size,status,bank_stagger, step_thread ,locating_key,description\r\n"
    '"HF-1",rectangular,80x60,released,0.45,,notch,"thread, true"\r\n'
    "\r\n"
    'HF-2,round,M32x1.5,draft,,"helical",,key\r\n'
    "HF-3,round,M32x1.5,draft,, plain ,,\r\n"
    "HF-4,round,M20x1.5,draft,,helical,,\r\n"
)
ENCODINGS = {
    "plain": lambda t: t.encode(),
    "byte order mark": lambda t: b"\xef\xbb\xbf" + t.encode(),
    "UTF-16": lambda t: b"\xff\xfe" + t.encode("utf-16-le"),
    "UTF-16, other end first": lambda t: b"\xfe\xff" + t.encode("utf-16-be"),
    "Windows-1252": lambda t: t.replace("hatchery", "hätchery").encode("cp1252"),
    "line feeds": lambda t: t.replace("\r\n", "\n").encode(),
    "carriage returns": lambda t: t.replace("\r\n", "\r").encode(),
    "no last line end": lambda t: t.rstrip("\r\n").encode(),
    "separator line": lambda t: ("sep=,\r\n" + t).encode(),
    "tabs": lambda t: t.replace('"thread, true"', "x").replace(",", "\t").encode(),
}


@pytest.mark.parametrize("how", ENCODINGS)
def test_new_names_are_written_and_every_other_byte_is_kept(how: str) -> None:
    write = ENCODINGS[how]
    data, changes = updated(write(OLD), "vents.csv")
    assert data == write(NEW)
    assert len(changes) == 6
    assert [(c.old, c.new) for c in changes[3:5]] == [("true", "helical"), ("Simplified", "plain")]
    assert updated(data, "vents.csv") == (data, ())


def test_new_names_are_columns_and_words_and_old_ones_are_not() -> None:
    for old, now in COLUMNS_RENAMED.items():
        assert old not in COLUMNS
        assert now.column in COLUMNS
        choices = COLUMNS[now.column].choices
        assert set(now.cells.values()) <= set(choices)
        assert not set(now.cells) & set(choices)


def test_old_names_are_refused_with_the_new_one() -> None:
    found = parse_catalog(OLD, "vents.csv").problems
    told = {p.column: p.sentence() for p in found}
    assert "the column is called bank_stagger now" in told["bank_shift"]
    assert "the column is called locating_key now" in told["key"]
    assert "the column is called step_thread now" in told["Thread"]
    assert all("vent-family update" in told[c] for c in ("bank_shift", "key", "Thread"))
    cells = parse_catalog(OLD.replace(" Thread ", "step_thread"), "vents.csv").problems
    assert any("simplified is called plain now" in p.message for p in cells)


def test_updated_catalogue_has_no_problems() -> None:
    found = parse_catalog(updated(OLD.encode(), "vents.csv")[0].decode(), "vents.csv")
    assert found.problems == ()
    assert [r.row.step_thread for r in found.rows] == [None, "helical", "plain", "helical"]


def test_old_and_new_name_beside_each_other_are_refused() -> None:
    both = (
        b"part_number,family,size,status,key,locating_key\nA,rectangular,60x60,draft,notch,none\n"
    )
    with pytest.raises(InputError, match="stands beside key, which is its old name"):
        updated(both, "vents.csv")


def test_rows_that_cannot_be_split_stay_as_they_are() -> None:
    broken = OLD.encode() + b'HF-5,round,M20x1.5,draft,,"true,,\r\n'
    assert (
        updated(broken, "vents.csv")[0] == NEW.encode() + b'HF-5,round,M20x1.5,draft,,"true,,\r\n'
    )


def test_hash_is_that_of_the_first_names(tmp_path: Path) -> None:
    """Published files carry hashes: a new name for the same content must not change them."""
    path = tmp_path / "vents.csv"
    path.write_text(
        "part_number,family,size,status,step_thread\nA,round,M20x1.5,draft,plain\n", "utf-8"
    )
    # printf '{"family":"round","part_number":"A","size":"M20x1.5","status":"draft",
    # "thread":"simplified"}' on one line through sha256sum
    assert read_catalog(path).rows[0].row_hash == "ffe28a2ed10512db"


CELL = st.text(st.sampled_from('abT,"# \t;7.5üthread'), max_size=8)


@given(
    st.lists(st.lists(CELL, min_size=5, max_size=5), max_size=5), st.sampled_from(["\n", "\r\n"])
)
def test_without_old_names_nothing_changes(rows: list[list[str]], end: str) -> None:
    body = "".join(",".join(cells) + end for cells in rows)
    data = f"part_number,family,size,status,step_thread{end}{body}".encode()
    assert updated(data, "vents.csv") == (data, ())


def test_command_rewrites_the_file(tmp_path: Path) -> None:
    path, other = tmp_path / "vents.csv", tmp_path / "new.csv"
    path.write_bytes(OLD.encode())
    kept = CliRunner().invoke(app, ["update", "-c", str(path), "--out", str(other)])
    assert kept.exit_code == 0, kept.output
    assert (path.read_bytes(), other.read_bytes()) == (OLD.encode(), NEW.encode())
    done = CliRunner().invoke(app, ["update", "-c", str(path)])
    assert "row 2: bank_shift -> bank_stagger" in done.output
    assert "6 names rewritten" in done.output
    assert path.read_bytes() == NEW.encode()
    again = CliRunner().invoke(app, ["update", "-c", str(path)])
    assert "nothing to rewrite" in again.output


@pytest.mark.parametrize("separator", [",", ";"])
def test_command_remarks_on_a_column_that_it_leaves(tmp_path: Path, separator: str) -> None:
    text = (
        '# old\n"part_number",family,size,status,thread," Fan_depression_pa "\n'
        "A,round,M20x1.5,draft,true,20\n"
    ).replace(",", separator)
    path = tmp_path / "vents.csv"
    path.write_text(text, "utf-8")
    done = CliRunner().invoke(app, ["update", "-c", str(path)])
    assert done.exit_code == 0, done.output
    assert (
        "vents.csv, row 2, column fan_depression_pa: left as it is, because the fan's depression is"
        " computed now and not stated any more. Run vent-family check" in done.output
    )
    assert "extra_depression_pa" in done.output
    now = text.replace("thread", "step_thread").replace("true", "helical")
    assert path.read_text("utf-8") == now
    told = CliRunner().invoke(app, ["update", "-c", str(path), "--json"])
    (remark,) = answered(told.output)["left"]
    assert (remark["row"], remark["column"]) == (2, "fan_depression_pa")


@pytest.mark.parametrize(
    ("words", "new"),
    [
        (["print", "HV-N20"], "print-check"),
        (["air", "HV-N20", "--heat", "1", "--limit", "40", "--counter", "5"], "--back-pressure"),
        (["air", "HV-N20", "--heat", "1", "--limit", "40", "--series", "2"], "--fans-in-series"),
        (["air", "HV-N20", "--heat", "1", "--limit", "40", "--place", "x"], "--fan-position"),
    ],
)
def test_old_commands_and_options_name_the_new_ones(words: list[str], new: str) -> None:
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 2
    assert new in result.output
    assert "now" in result.output
    listed = CliRunner().invoke(app, [words[0] if words[0] == "air" else "", "--help"][-2:])
    assert words[-2] not in listed.output.split()
