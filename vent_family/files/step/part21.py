"""The text form of STEP: strings, numbers and instances of an exchange structure.

Rules as cited in public descriptions of ISO 10303-21 (clear text encoding), whose own text was
not read. Nothing here knows what the instances mean.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Final

_RECORD: Final = re.compile(r"#(\d+) *= *(.*?);")
_REFERENCE: Final = re.compile(r"#(\d+)")
# Instances that are nothing but numbers. One is as good as another with the same numbers, so they
# may be shared; a placement or a context may not, because a set must not hold one twice.
_SHAREABLE: Final = ("CARTESIAN_POINT(", "DIRECTION(", "VECTOR(")


def encode_text(text: str) -> str:
    r"""Return ``text`` as a Part 21 string literal, quotes included.

    Apostrophes and backslashes are doubled. Everything outside printable ASCII goes into
    ``\X2\...\X0\`` (four hexadecimal digits a character) or, beyond the basic multilingual plane,
    ``\X4\...\X0\`` (eight digits).

    Raises
    ------
    ValueError
        if it holds an unpaired surrogate or a control character other than tab and line end

    Examples
    --------
    >>> print(encode_text("it's 5 mm"))
    'it''s 5 mm'
    >>> print(encode_text("Höhe"))
    'H\X2\00F6\X0\he'
    """
    out: list[str] = []
    run = ""
    for char in text:
        wide = 0 if " " <= char <= "~" else (2 if ord(char) <= 0xFFFF else 4)
        now = f"\\X{wide}\\" if wide else ""
        if now != run:
            if run:
                out.append("\\X0\\")
            out.append(now)
            run = now
        if wide:
            check_character(char)
            out.append(f"{ord(char):0{wide * 2}X}")
        else:
            out.append(char * 2 if char in "'\\" else char)
    if run:
        out.append("\\X0\\")
    return "'" + "".join(out) + "'"


def check_character(char: str) -> None:
    """Refuse what no reader shows: unpaired surrogates, control characters but tab and line end.

    Raises
    ------
    ValueError
        if it is such a character
    """
    category = unicodedata.category(char)
    if category == "Cs" or (category == "Cc" and char not in "\t\n\r"):
        raise ValueError(f"the character U+{ord(char):04X} cannot be written to a STEP file")


def check_texts(what: str, texts: Sequence[str]) -> None:
    """Refuse texts with a character that no reader shows; ``what`` names their owner.

    Raises
    ------
    ValueError
        if a text has such a character
    """
    for text in texts:
        for char in text:
            try:
                check_character(char)
            except ValueError as error:
                raise ValueError(f"{what}: {error} ({text!r})") from error


def encode_real(value: float) -> str:
    """Return a Part 21 real with just enough digits to read the same number back.

    Parameters
    ----------
    value
        the number, in the file's unit: mm, degrees or another

    Raises
    ------
    ValueError
        if it is NaN or an infinity

    Examples
    --------
    >>> encode_real(5.0), encode_real(0.1), encode_real(1e-7), encode_real(-0.0)
    ('5.', '0.1', '1.E-7', '0.')
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be written to a STEP file")
    mantissa, _, exponent = repr(float(value) + 0.0).partition("e")
    mantissa = mantissa.removesuffix("0") if mantissa.endswith(".0") else mantissa
    if "." not in mantissa:
        mantissa += "."
    return f"{mantissa}E{int(exponent)}" if exponent else mantissa


class InstanceList:
    """Numbered instances of a DATA section, kept in the order in which they were added.

    Examples
    --------
    >>> instances = InstanceList(7)
    >>> newton = instances.shared("SI_UNIT(*,$,.NEWTON.)")
    >>> instances.shared("SI_UNIT(*,$,.NEWTON.)") == newton
    True
    >>> print(instances.text().strip())
    #7=SI_UNIT(*,$,.NEWTON.);
    """

    def __init__(self, first_number: int) -> None:
        self._next = first_number
        self._lines: list[str] = []
        self._shared: dict[str, str] = {}

    def add(self, record: str) -> str:
        """Add an instance, for instance ``SI_UNIT(*,$,.NEWTON.)``, and return its ``#number``."""
        reference = f"#{self._next}"
        self._next += 1
        self._lines.append(f"{reference}={record};\n")
        return reference

    def shared(self, record: str) -> str:
        """Return the instance with this very text, adding it the first time."""
        if record not in self._shared:
            self._shared[record] = self.add(record)
        return self._shared[record]

    def text(self) -> str:
        """Return the instances as lines."""
        return "".join(self._lines)


def compact(data: str) -> tuple[list[str], Mapping[int, int]]:
    """Return the records of a DATA section renumbered from 1, equal numbers written once.

    Points, directions and vectors with the same text become one instance; this takes away about a
    third of a file with planar faces, without touching a digit. The mapping leads from the numbers
    in ``data`` to the new ones. ``data`` must hold no ``#`` and no ``;`` inside strings.

    Raises
    ------
    ValueError
        if ``data`` holds something besides records

    Examples
    --------
    >>> point = "CARTESIAN_POINT('',(0.,0.,1.))"
    >>> records, numbers = compact(f"#4={point};#6={point};#9=VERTEX_POINT('',#6);")
    >>> records
    ["CARTESIAN_POINT('',(0.,0.,1.))", "VERTEX_POINT('',#1)"]
    >>> numbers[6], numbers[9]
    (1, 2)
    """
    joined = re.sub(r"\n *", "", data)
    records = {int(number): record for number, record in _RECORD.findall(joined)}
    if "/*" in joined or re.sub(r"\s", "", _RECORD.sub("", joined)):
        raise ValueError("the data section holds something that is not a record")
    alias: dict[int, int] = {}
    # Vectors refer to directions, so they can be compared only after those have been joined.
    for kinds in (_SHAREABLE[:2], _SHAREABLE[2:]):
        seen: dict[str, int] = {}
        for number, record in list(records.items()):
            if record.startswith(kinds):
                text = _renumber(record, alias)
                first = seen.setdefault(text, number)
                if first != number:
                    alias[number] = first
                    del records[number]
    order = {old: new for new, old in enumerate(records, 1)}
    final = {**order, **{old: order[kept] for old, kept in alias.items()}}
    return [_renumber(record, final) for record in records.values()], final


def _renumber(record: str, numbers: Mapping[int, int]) -> str:
    def replaced(match: re.Match[str]) -> str:
        number = int(match.group(1))
        return f"#{numbers.get(number, number)}"

    return _REFERENCE.sub(replaced, record)
