r"""Strings, numbers and records of an exchange structure (ISO 10303-21, as cited in public
descriptions; the standard's text was not read)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.part21 import Exchange, decode
from vent_family.files.step.part21 import InstanceList, compact, encode_real, encode_text

WRITABLE = st.text(
    st.characters(exclude_categories=("Cs", "Cc")) | st.sampled_from("\t\n\r'\\ÄöüßΩ𝄞€")
)


@pytest.mark.parametrize(
    ("text", "literal"),
    [
        ("", "''"),
        ("plain", "'plain'"),
        ("it's", "'it''s'"),
        ("a\\b", r"'a\\b'"),
        ("ü", r"'\X2\00FC\X0\'"),
        ("Größe", r"'Gr\X2\00F600DF\X0\e'"),
        ("Ωμέγα", r"'\X2\03A903BC03AD03B303B1\X0\'"),
        ("𝄞", r"'\X4\0001D11E\X0\'"),
        ("ü𝄞ü", r"'\X2\00FC\X0\\X4\0001D11E\X0\\X2\00FC\X0\'"),
        # Text that looks like an escape is text.
        (r"\X2\00FC\X0" + "\\", r"'\\X2\\00FC\\X0\\'"),
        ("a\nb", r"'a\X2\000A\X0\b'"),
    ],
)
def test_encode_text(text: str, literal: str) -> None:
    assert encode_text(text) == literal
    assert decode(literal[1:-1]) == text


@given(WRITABLE)
def test_any_text_comes_back(text: str) -> None:
    literal = encode_text(text)
    assert literal.isascii()
    assert literal.isprintable()
    assert decode(literal[1:-1]) == text


@pytest.mark.parametrize("text", ["\x00", "\x07", "\x7f", "\x85", "\ud800"])
def test_unwritable_text(text: str) -> None:
    with pytest.raises(ValueError, match=r"U\+"):
        encode_text("a" + text)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0."), (-0.0, "0."), (1.0, "1."), (-1.5, "-1.5"), (1e-5, "1.E-5"), (1e22, "1.E22")],
)
def test_encode_real(value: float, text: str) -> None:
    assert encode_real(value) == text


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_any_real_comes_back_exactly(value: float) -> None:
    text = f"#1=A({encode_real(value)});"
    read = Exchange(f"ISO-10303-21;HEADER;ENDSEC;DATA;{text}ENDSEC;END-ISO-10303-21;")
    assert read.instances[1].parts["A"] == [value]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_such_real(value: float) -> None:
    with pytest.raises(ValueError, match="STEP"):
        encode_real(value)


def test_section_numbers_and_shares() -> None:
    section = InstanceList(7)
    assert [section.add("A()"), section.shared("B()"), section.shared("B()")] == ["#7", "#8", "#8"]
    assert section.add("A()") == "#9"
    assert section.text() == "#7=A();\n#8=B();\n#9=A();\n"


def test_compact_joins_equal_numbers_only() -> None:
    data = (
        "\n#1 = LINE('',#2,#3);\n#2 = CARTESIAN_POINT('',(0.,0.,0.));\n#3 = VECTOR('',#4,1.);\n"
        "#4 = DIRECTION('',(1.,0.,\n    0.));\n#5 = LINE('',#6,#7);\n"
        "#6 = CARTESIAN_POINT('',(0.,0.,0.));\n#7 = VECTOR('',#8,1.);\n"
        "#8 = DIRECTION('',(1.,0.,0.));\n#9 = CARTESIAN_POINT('',(0.,0.,1.));\n"
        "#10 = AXIS2_PLACEMENT_3D('',#2,$,$);\n#11 = AXIS2_PLACEMENT_3D('',#6,$,$);\n"
    )
    records, numbers = compact(data)
    assert records == [
        "LINE('',#2,#3)",
        "CARTESIAN_POINT('',(0.,0.,0.))",
        "VECTOR('',#4,1.)",
        "DIRECTION('',(1.,0.,0.))",
        "LINE('',#2,#3)",
        "CARTESIAN_POINT('',(0.,0.,1.))",
        "AXIS2_PLACEMENT_3D('',#2,$,$)",
        "AXIS2_PLACEMENT_3D('',#2,$,$)",
    ]
    assert numbers == {1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 2, 7: 3, 8: 4, 9: 6, 10: 7, 11: 8}


@pytest.mark.parametrize("data", ["#1 = A($ /* UNKNOWN REF */);\n", "#1 = A();\nSCOPE\n"])
def test_compact_refuses_what_it_does_not_understand(data: str) -> None:
    with pytest.raises(ValueError, match="not a record"):
        compact(data)
