"""Bills of materials against sums by hand; what is in a tree is in its bill."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import cadquery as cq
import pytest

import vent_family
from vent_family.enclosure.bill import bill_of_materials, to_csv
from vent_family.enclosure.fasteners import fan_of, fasteners_of
from vent_family.enclosure.members import node_name
from vent_family.evidence.solid.kind import SOLID

BLOCK = cq.Solid.makeBox(10.0, 20.0, 30.0)
"""6 cm3."""
SMALL = cq.Solid.makeBox(10.0, 10.0, 10.0)
"""1 cm3."""


def said(number: str, revision: str = "A", **further: object) -> dict[str, object]:
    told = {"part_number": number, "revision": revision, "material": "steel"}
    return {**told, "density_g_cm3": 7.85, **further}


def pair(name: str) -> cq.Assembly:
    """Two blocks and a small one, a sub-assembly with a number."""
    held = cq.Assembly(name=name, metadata={"part_number": "S-1", "revision": "A"})
    held.add(BLOCK, name="one", metadata=said("P-1"))
    held.add(BLOCK, name="two", loc=cq.Location(cq.Vector(50, 0, 0)), metadata=said("P-1"))
    held.add(SMALL, name="foot", metadata=said("P-2"))
    return held


@pytest.fixture
def cabinet() -> cq.Assembly:
    held = cq.Assembly(name="cabinet")
    held.add(pair("left"), name="left")
    held.add(pair("right"), name="right", loc=cq.Location(cq.Vector(0, 0, 99)))
    held.add(SMALL, name="door", metadata=said("P-2"))
    held.add(BLOCK, name="rag")
    held.add(SMALL, name="tape", metadata=said("P-3", attributes={"printed_mass_g": 0.5}))
    return held


def column(bill: object, name: str) -> list[object]:
    return bill[name].tolist()  # type: ignore[index,no-any-return]


def test_parts_of_the_whole_tree_are_summed(cabinet: cq.Assembly) -> None:
    bill = bill_of_materials(cabinet)
    assert column(bill, "position") == ["1", "2", "3", "4"]
    assert column(bill, "part_number") == ["P-1", "P-2", "", "P-3"]
    assert column(bill, "quantity") == [4, 3, 1, 1]
    assert column(bill, "name") == ["", "", "rag", ""]
    # 6 cm3 and 1 cm3 of 7.85 g/cm3.
    assert column(bill, "mass_each_g")[:2] == [47.1, 7.85]
    assert column(bill, "mass_total_g")[:2] == [188.4, 23.55]
    assert column(bill, "mass_each_g")[3] == 0.5
    assert math.isnan(bill["mass_total_g"][2])
    assert column(bill, "mass_from") == ["solid", "solid", "", "printed mass"]
    assert bill.attrs["notes"] == []
    assert bill.attrs["units"]["mass_each_g"] == "g"


def test_sub_assemblies_have_lines_of_their_own(cabinet: cq.Assembly) -> None:
    bill = bill_of_materials(cabinet, nested=True)
    assert column(bill, "position") == ["1", "1.1", "1.2", "2", "3", "4"]
    assert column(bill, "part_number") == ["S-1", "P-1", "P-2", "P-2", "", "P-3"]
    assert column(bill, "quantity") == [2, 2, 1, 1, 1, 1]
    # Two blocks and a small one, twice.
    assert column(bill, "mass_each_g")[0] == 102.05
    assert column(bill, "mass_total_g")[0] == 204.1
    # What is flat and what is nested weigh the same.
    flat = bill_of_materials(cabinet)["mass_total_g"].sum()
    outer = bill[~bill["position"].str.contains(".", regex=False)]["mass_total_g"].sum()
    assert outer == pytest.approx(flat)


def test_two_revisions_of_one_number_are_two_lines_and_told(cabinet: cq.Assembly) -> None:
    cabinet.add(SMALL, name="old", metadata=said("P-2", "B"))
    bill = bill_of_materials(cabinet)
    both = bill[bill["part_number"] == "P-2"]
    assert both[["revision", "quantity"]].values.tolist() == [["A", 3], ["B", 1]]
    assert column(both, "note") == ["also here with revision B", "also here with revision A"]
    assert bill.attrs["notes"] == [
        "P-2: also here with revision B",
        "P-2: also here with revision A",
    ]


def test_one_number_for_different_things_is_told() -> None:
    held = cq.Assembly(name="frame")
    held.add(BLOCK, name="one", metadata=said("P-1"))
    held.add(SMALL, name="two", metadata=said("P-1", material="brass"))
    bill = bill_of_materials(held)
    assert column(bill, "quantity") == [2]
    assert math.isnan(bill["mass_each_g"][0])
    assert column(bill, "mass_total_g") == [54.95]
    assert "material 'brass'" in bill["note"][0]
    assert "not of one mass" in bill["note"][0]


def test_a_number_with_other_contents_is_another_line() -> None:
    other = pair("right")
    other.add(SMALL, name="more", metadata=said("P-2"))
    held = cq.Assembly(name="cabinet").add(pair("left"), name="left").add(other, name="right")
    bill = bill_of_materials(held, nested=True)
    both = bill[bill["part_number"] == "S-1"]
    assert column(both, "position") == ["1", "2"]
    assert set(both["note"]) == {"also here with other contents"}


def test_nothing_is_dropped() -> None:
    """Nameless members, such with the same name, such without a shape that have a number."""
    held = cq.Assembly(name="cabinet")
    held.add(SMALL).add(SMALL).add(BLOCK)
    inner = cq.Assembly(name="box").add(BLOCK, name="lid")
    held.add(inner).add(SMALL, name="lid")
    held.add(cq.Assembly(name="glue", metadata={"part_number": "G-1"}))
    bill = bill_of_materials(held)
    found = {(n, p): q for n, p, q in bill[["name", "part_number", "quantity"]].values.tolist()}
    assert bill["quantity"].sum() == 6
    assert found[("", "G-1")] == 1
    assert column(bill, "name") == ["unnamed", "unnamed", "lid", "lid", ""]
    assert bill_of_materials(held, nested=True)["name"].tolist().count("box") == 1


def test_a_body_that_holds_members_counts_itself() -> None:
    held = cq.Assembly(BLOCK, name="door", metadata=said("D-1"))
    held.add(SMALL, name="hinge", metadata=said("P-2"))
    assert column(bill_of_materials(held), "part_number") == ["D-1", "P-2"]
    assert column(bill_of_materials(held, nested=True), "part_number") == ["D-1-body", "P-2"]


def test_a_vent_with_its_fasteners(tmp_path: Path) -> None:
    """The vent's mass is that of its record; screws are listed by their designations."""
    text = (
        "part_number,family,size,status,panel_thickness_mm\nV-40,rectangular,40x40,released,1.5\n"
    )
    parts = vent_family.Parts.from_text(text)
    held = parts.assembly("V-40", fasteners=False)
    room = parts.installation("V-40")
    for body in (*fasteners_of("V-40", room, 1.5), *fan_of("V-40", room)):
        held.add(
            body.shape,
            name=node_name(body.name),
            loc=body.location,
            metadata=body.data.metadata(),
        )
    bill = bill_of_materials(held, attributes=("opening", "belongs_to"))
    vent = bill.iloc[0]
    assert (vent["part_number"], vent["quantity"]) == ("V-40", 1)
    assert vent["opening"].startswith("rectangle 40 x 40 mm")
    assert vent["mass_each_g"] == pytest.approx(
        parts.evidence("V-40").record(SOLID).mass_g, rel=1e-4
    )
    rows = bill.iloc[1:][["quantity", "standard", "belongs_to"]].values.tolist()
    assert rows == [[4, "ISO 7089", "V-40"], [2, "ISO 7045", "V-40"], [2, "ISO 7040", "V-40"]]
    # pi / 4 (9^2 - 4.3^2) 0.8 mm3 of 7.9 g/cm3.
    assert bill.iloc[1]["mass_each_g"] == pytest.approx(0.3103, abs=1e-4)


def test_the_file_runs_nothing_in_a_spreadsheet(tmp_path: Path) -> None:
    held = cq.Assembly(name="cabinet")
    nasty = '=HYPERLINK("http://example.org","x")'
    for i, text in enumerate((nasty, "+1", "-1", "@a", "\ta", "plain, with comma")):
        held.add(SMALL, name=f"m{i}", metadata=said(f"P-{i}", description=text))
    held.add(SMALL, name="cold", metadata=said("P-9", attributes={"offset_mm": -2.5}))
    bill = bill_of_materials(held, attributes=("offset_mm",))
    to_csv(bill, tmp_path / "bill.csv")
    data = (tmp_path / "bill.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(data.decode("utf-8-sig").splitlines()))
    texts = [row["description"] for row in rows]
    assert texts == ["'" + nasty, "'+1", "'-1", "'@a", "'\\ta", "plain, with comma", ""]
    # A number below zero is no text.
    assert rows[-1]["offset_mm"] == "-2.5"
    assert [row["mass_each_g"] for row in rows] == ["7.85"] * 7
