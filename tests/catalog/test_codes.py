"""The code of each malformed catalogue: what is wrong, whatever the sentence says of it.

Each line was compared with its case by reading both.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.catalog.test_malformed import CELLS, FILES, Cell, File, write
from vent_family.base.problems import InputError
from vent_family.catalog.reader import read_catalog

CODES: dict[str, tuple[str, ...]] = {
    "table.number.ambiguous": (
        "thousands or decimals, quoted",
        "point with three digits beside commas",
        "gaps ambiguous",
    ),
    "table.number.mark": (
        "decimal comma, quoted",
        "decimal point beside commas",
        "size with decimal comma in a comma file",
    ),
    "table.number.thousands": (
        "thousands point and decimal comma",
        "thousands space",
        "thousands hard space",
    ),
    "table.number.mixed": ("gaps with both marks",),
    "table.cell.date": (
        "date, day first",
        "date, German month",
        "date, ISO",
        "date, slashes",
        "date, short in gaps",
        "time",
        "date as part number",
        "two numbers",
    ),
    "table.cell.scientific": ("scientific part number", "scientific number"),
    "table.cell.hashes": ("column too narrow", "hashes in the first cell are no comment"),
    "table.cell.error": (
        "error value",
        "not available",
        "error value in the first cell is no comment",
    ),
    "table.cell.apostrophe": ("apostrophe",),
    "table.cell.formula": ("formula", "own formula"),
    "table.cell.truth": ("truth value", "truth value as part number", "false for thread"),
    "catalog.cell.renamed": ("old word for thread",),
    "table.number.unit": (
        "unit",
        "unit with decimal comma",
        "other unit",
        "degrees",
        "superscript",
        "underscore digits",
    ),
    "table.number.percent": ("percent of a fraction", "percent of a length"),
    "table.number.script": ("full-width digits", "Arabic digits"),
    "table.cell.number": ("nan", "NA", "inf", "words"),
    "table.number.huge": ("float overflow",),
    "table.number.minus": ("en dash for minus", "accounting minus"),
    "table.number.unfinished": ("number cut short",),
    "catalog.cell.small": ("negative", "range with decimal comma", "zero gap", "no height"),
    "catalog.cell.large": ("too large", "open end", "too many banks", "absurd width"),
    "table.number.whole": ("half a bank",),
    "catalog.size.unread": ("negative size", "size with slash", "size with unit"),
    "catalog.size.opening": ("thread on a block",),
    "catalog.size.thread": ("block on a thread", "bare diameter"),
    "catalog.thread.pitch": ("pitch missing", "wrong pitch"),
    "catalog.thread.unknown": ("unknown thread",),
    "catalog.column.family": ("column of another family",),
    "catalog.cell.choice": (
        "near miss",
        "short form",
        "no choice",
        "colour spelling",
        "None where none is no choice",
    ),
    "catalog.cell.slopes": ("slopes with slashes",),
    "catalog.revision.case": ("revision in small letters",),
    "catalog.cell.long": ("long description", "huge cell", "own text too long"),
    "catalog.cell.break": ("line break",),
    "catalog.cell.unseen": (
        "control character",
        "unseen character",
        "damaged letter",
        "own text unseen",
    ),
    "catalog.cell.encoding": ("double encoding",),
    "catalog.part.path": ("path out", "backslash", "absolute path", "drive"),
    "catalog.part.reserved": ("CON", "NUL with ending", "COM1"),
    "catalog.part.dot": ("trailing dot",),
    "catalog.part.ends": ("leading hyphen",),
    "catalog.part.characters": ("space inside", "umlaut"),
    "catalog.part.long": ("too long a name",),
    "catalog.cell.blank": ("required cell blank",),
    "table.row.decimal": ("decimal comma splits a cell", "short row, two readings"),
    "table.row.long": ("surplus blank cell", "text with a comma"),
    "table.row.cut": ("file cut off",),
    "table.row.separator": ("other separator",),
    "table.row.quotation": (
        "quote never closed",
        "stray quote",
        "text after a quote",
        "comment swallows rows",
    ),
    "catalog.row.single": ("heading",),
    "catalog.header.repeated": ("second header",),
    "catalog.column.unknown": ("near-miss column", "unknown column", "hash column"),
    "catalog.column.near": ("own column like a real one", "own column like an old one"),
    "catalog.column.own": ("own column misnamed",),
    "catalog.column.unnamed": ("no column name",),
    "file.empty": ("empty", "only a byte order mark", "only separators"),
    "catalog.file.comments": ("only comments",),
    "file.binary": ("workbook", "old workbook", "compressed", "NUL bytes"),
    "file.markup": ("web page", "JSON"),
    "file.encoding": (
        "UTF-16 without mark",
        "UTF-16 cut off",
        "UTF-32",
        "French letter, or a Czech one",
        "DOS umlaut",
        "DOS sharp s",
        "Macintosh umlaut",
        "Cyrillic",
    ),
    "catalog.header.missing": ("no header",),
    "catalog.file.table": ("no table", "vertical bars"),
    "catalog.header.commented": ("header commented out", "only a commented header"),
    "catalog.header.unread": ("header with an open quote",),
    "catalog.column.missing": ("required column missing", "required column misspelt"),
    "catalog.column.repeated": ("column twice",),
    "catalog.header.separators": ("mixed separators in the header",),
    "table.separator.unknown": ("unknown separator line",),
    "catalog.file.merge": ("merge conflict", "merge conflict, CRLF"),
}


def test_every_malformed_catalogue_has_its_code_here() -> None:
    named = [name for names in CODES.values() for name in names]
    assert sorted(named) == sorted(case.name for case in (*CELLS, *FILES))


@pytest.mark.parametrize("case", [*CELLS, *FILES], ids=lambda c: c.name)
def test_a_malformed_catalogue_is_told_under_its_code(case: Cell | File, tmp_path: Path) -> None:
    try:
        found = read_catalog(write(tmp_path, case.content)).problems
    except InputError as error:
        found = error.problems
    (code,) = {problem.code for problem in found}
    assert case.name in CODES[code]
