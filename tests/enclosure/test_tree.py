"""Which members of an assembly are one product, what is refused, and what odd members become."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf

from tests.release.parts import part
from vent_family.base.problems import InputError
from vent_family.enclosure import export
from vent_family.enclosure.export import export_assembly
from vent_family.enclosure.metadata import metadata_of, told_by
from vent_family.enclosure.tree import step_tree
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.header import StepHeader
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.read import read_step
from vent_family.files.step.readback import assembly_differences, part_differences
from vent_family.files.step.write import write_step_assembly

TIME = "2026-03-04T05:06:07Z"
BOX = cq.Solid.makeBox(10.0, 20.0, 30.0)
HERE = cq.Location((1.0, 2.0, 3.0))


def numbered(number: str, **more: Any) -> dict[str, Any]:
    return {"part_number": number, **more}


def whole(*members: tuple[Any, dict[str, Any]], **arguments: Any) -> cq.Assembly:
    """Return an assembly of objects with their metadata, 100 mm apart."""
    result = cq.Assembly(name="whole", **arguments)
    for index, (held, metadata) in enumerate(members):
        result.add(
            held, name=f"m{index}", loc=cq.Location((index * 100.0, 0, 0)), metadata=metadata
        )
    return result


def tree_of(assembly: cq.Assembly, **arguments: str) -> StepAssembly:
    tree = step_tree(assembly, **arguments)
    assert isinstance(tree, StepAssembly)
    return tree


def numbers(tree: StepAssembly) -> list[str]:
    return [item.part_number for item, _, _ in tree.children]


class TestOneProduct:
    def test_one_solid_wherever_it_lies(self) -> None:
        """Moved as a shape, as a member, inside a compound or a Workplane: one geometry."""
        members = [BOX, BOX.moved(HERE), cq.Workplane(BOX), cq.Compound.makeCompound([BOX])]
        tree = tree_of(whole(*((member, {}) for member in members)))
        assert numbers(tree) == ["m0"] * 4
        assert tree.children[1][1].toTuple()[0] == pytest.approx((101.0, 2.0, 3.0))

    def test_equal_solids_made_twice_are_one_by_their_number(self) -> None:
        twin = cq.Solid.makeBox(10.0, 20.0, 30.0)
        tree = tree_of(whole((BOX, numbered("B-1")), (twin, numbered("B-1"))))
        assert numbers(tree) == ["B-1", "B-1"]
        assert list(tree.parts()) == ["B-1"]
        assert numbers(tree_of(whole((BOX, {}), (twin, {})))) == ["m0", "m1"], "not without one"

    def test_one_solid_of_two_materials_is_two_parts(self) -> None:
        tree = tree_of(whole((BOX, {"material": "PA"}), (BOX, {"material": "brass"})))
        assert numbers(tree) == ["m0", "m1"]

    def test_several_solids(self) -> None:
        """A Workplane of several solids is one part, made anew or not, turned or not."""
        plates = cq.Workplane(BOX).add(BOX.moved(HERE)).add(cq.Solid.makeSphere(4.0))
        again = cq.Workplane(BOX).add(BOX.moved(HERE)).add(plates.vals()[2])
        other = cq.Workplane(BOX).add(BOX.moved(HERE * HERE)).add(plates.vals()[2])
        tree = tree_of(whole((plates, {}), (again, {}), (other, {})))
        assert numbers(tree) == ["m0", "m0", "m2"]
        (first, *_), *_ = tree.children
        assert isinstance(first, StepPart)
        assert len(first.shape.Solids()) == 3

    def test_assemblies(self) -> None:
        inner = whole((BOX, numbered("B-1")))
        other = whole((BOX, numbered("B-1")), (BOX, numbered("B-1")))
        top = cq.Assembly(name="top")
        for name, held in (("a", inner), ("b", inner), ("c", other)):
            top.add(held, name=name)
        tree = tree_of(top)
        assert numbers(tree) == ["a", "a", "c"]
        assert list(tree.assemblies()) == ["a", "c"]

    @pytest.mark.parametrize(
        ("one", "other", "message"),
        [
            (
                (BOX, numbered("B-1")),
                (cq.Solid.makeBox(10.0, 20.0, 30.01), numbered("B-1")),
                r"whole/m1: another solid has the part number 'B-1', too \(volume 6002 mm3,",
            ),
            (
                (BOX, numbered("B-1")),
                (cq.Workplane().box(10.0, 20.0, 30.0), numbered("B-1")),
                "place the same solid by its location",
            ),
            (
                (BOX, numbered("B-1", revision="A")),
                (BOX, numbered("B-1", revision="B")),
                "'B-1' stands elsewhere with revision 'A', here with 'B'",
            ),
            (
                (BOX, numbered("B-1", material="PA")),
                (BOX, numbered("B-1")),
                "with material 'PA', here with None",
            ),
            (
                (BOX, numbered("B-1")),
                (whole((BOX, {})), numbered("B-1")),
                "'B-1' is that of both a part and an assembly",
            ),
            (
                (whole((BOX, {})), numbered("A-1")),
                (whole((BOX, {}), (BOX, {})), numbered("A-1")),
                "another assembly has the part number 'A-1', too",
            ),
            (
                (whole((BOX, {})), numbered("A-1")),
                (whole((BOX, {}), color=cq.Color("red")), numbered("A-1")),
                "other members, places, colours or attributes",
            ),
        ],
    )
    def test_two_things_of_one_number(self, one: Any, other: Any, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            step_tree(whole(one, other))


class TestColours:
    def test_they_come_from_above_and_one_use_may_differ(self, tmp_path: Path) -> None:
        inner = cq.Assembly(name="inner", color=cq.Color(0.0, 0.5, 0.0))
        inner.add(BOX, name="below")
        inner.add(BOX, name="own", color=cq.Color(1.0, 0.0, 0.0))
        top = cq.Assembly(name="top").add(BOX, name="plain").add(inner)
        tree = tree_of(top)
        (only,) = tree.parts().values()
        assert only.colour_rgb == (0.0, 0.5, 0.0), "what has none shows that of the first with one"
        assert tree.colours == {}
        assert tree.assemblies()["inner"].colours == {"own": (1.0, 0.0, 0.0)}
        export_assembly(top, tmp_path / "a.step", time=TIME)
        assert assembly_differences(tmp_path / "a.step", tree) == []

    def test_none_at_all(self, tmp_path: Path) -> None:
        export_assembly(whole((BOX, {})), tmp_path / "a.step", time=TIME)
        assert [p.colour_rgb for p in read_step(tmp_path / "a.step")] == [None, None]


class TestNames:
    def test_of_members_without_any(self, tmp_path: Path) -> None:
        top = cq.Assembly()
        for held in (BOX, cq.Solid.makeSphere(3.0), cq.Assembly().add(BOX)):
            top.add(held)
        tree = export_assembly(top, tmp_path / "hall 3.stp", time=TIME)
        assert isinstance(tree, StepAssembly)
        assert tree.part_number == "hall 3"
        assert numbers(tree) == ["part", "part-2", "assembly"]
        assert [name for _, _, name in tree.children] == ["part", "part-2", "assembly"]

    def test_that_meet(self) -> None:
        """Names in different assemblies may be the same; numbers that were given come first."""
        left = cq.Assembly(name="left").add(BOX, name="fan")
        right = cq.Assembly(name="right").add(cq.Solid.makeSphere(3.0), name="fan")
        top = cq.Assembly(name="fan").add(left).add(right)
        top.add(cq.Solid.makeCylinder(1.0, 2.0), name="x", metadata=numbered("fan-2"))
        tree = tree_of(top)
        assert tree.part_number == "fan"
        assert list(tree.parts()) == ["fan-3", "fan-4", "fan-2"]
        names = [name for held in tree.assemblies().values() for _, _, name in held.children]
        assert names == ["fan", "fan"]

    def test_given_by_metadata(self) -> None:
        top = whole((BOX, {"instance": "-M1", "name": "Fan"}), (BOX, {"instance": "-M1"}))
        tree = tree_of(top, part_number="W-1", revision="C", description="Größe")
        assert [name for _, _, name in tree.children] == ["-M1", "-M1-2"]
        assert [(p.part_number, p.name) for p in tree.parts().values()] == [
            ("-M1", "Fan"),
            ("-M1-2", "-M1-2"),
        ]
        assert (tree.part_number, tree.revision, tree.description) == ("W-1", "C", "Größe")


class TestOddMembers:
    def test_one_object_without_members_is_a_part(self, tmp_path: Path) -> None:
        single = cq.Assembly(BOX, name="box", loc=HERE, metadata=numbered("B-1", material="PA"))
        written = export_assembly(single, tmp_path / "a.step", time=TIME)
        assert isinstance(written, StepPart)
        assert part_differences(tmp_path / "a.step", written) == []
        (read,) = read_step(tmp_path / "a.step")
        assert read.shape.BoundingBox().zmin == pytest.approx(3.0)

    def test_an_object_with_members_is_the_body_of_their_assembly(self) -> None:
        wall = cq.Assembly(
            BOX, name="wall", loc=HERE, metadata=numbered("W-1", revision="B", material="PA")
        )
        wall.add(cq.Solid.makeSphere(3.0), name="knob")
        tree = tree_of(wall)
        assert (tree.part_number, numbers(tree)) == ("W-1", ["W-1-body", "knob"])
        body, place, name = tree.children[0]
        assert isinstance(body, StepPart)
        assert (body.revision, body.material, name) == ("B", "PA", "wall-body")
        assert place.toTuple()[0] == (1.0, 2.0, 3.0), "where the whole stands is kept"

    def test_what_is_empty_and_says_nothing_is_left_out(self) -> None:
        top = whole((BOX, {}))
        top.add(cq.Assembly(name="place for a shelf"))
        top.add(cq.Workplane(), name="nothing")
        assert numbers(tree_of(top)) == ["m0"]

    @pytest.mark.parametrize(
        ("assembly", "message"),
        [
            (cq.Assembly(name="cab"), "^cab holds no solid, so there is nothing to export$"),
            (cq.Assembly(name="cab").add(cq.Assembly(name="a")), "cab holds no solid"),
            (
                cq.Assembly(name="cab").add(cq.Assembly(name="a"), metadata=numbered("L-1")),
                "cab/a says something about itself but holds no solid",
            ),
            (whole((cq.Workplane().rect(1, 1), {})), "whole/m0 holds an edge that belongs to no"),
            (whole((cq.Face.makePlane(1, 1), {})), "whole/m0 holds a face that belongs to no"),
            (
                whole((cq.Compound.makeCompound([BOX, cq.Face.makePlane(1, 1)]), {})),
                "a part is one or more closed solids",
            ),
            (whole((BOX, {}), metadata={"material": "PA"}), "a material but no solid of its own"),
        ],
    )
    def test_refused(self, tmp_path: Path, assembly: cq.Assembly, message: str) -> None:
        with pytest.raises(ValueError, match=message):
            export_assembly(assembly, tmp_path / "a.step")
        assert os.listdir(tmp_path) == []

    def test_mirrored_places(self) -> None:
        mirror = gp_Trsf()
        mirror.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)))
        top = cq.Assembly(name="top").add(BOX, name="box", loc=cq.Location(mirror))
        with pytest.raises(ValueError, match=r"^top/box is mirrored or scaled"):
            step_tree(top)


class TestMetadata:
    def told(self, **metadata: Any) -> tuple[Attribute, ...]:
        return told_by(cq.Assembly(BOX, name="m", metadata=metadata), "m").attributes

    def test_units_from_names_and_beside_numbers(self) -> None:
        found = self.told(
            attributes={"mass_g": 12, "flow": (3.5, "m3/h"), "share": 0.5, "slats": np.int64(4)},
            area_mm2=np.float64(2.5),
            tested=True,
            on=date(2026, 3, 4),
            note=None,
            ports=["M20", 1.5],
            limits={"lean_deg": 5.0, "by": {"name": "Ö"}},
        )
        assert found == (
            Attribute("mass_g", 12, "g"),
            Attribute("flow", 3.5, "m3/h"),
            Attribute("share", 0.5, "1"),
            Attribute("slats", 4),
            Attribute("area_mm2", 2.5, "mm2"),
            Attribute("tested", "yes"),
            Attribute("on", "2026-03-04"),
            Attribute("ports", "M20, 1.5"),
            Attribute("limits_lean_deg", 5.0, "deg"),
            Attribute("limits_by_name", "Ö"),
        )

    @pytest.mark.parametrize(
        ("metadata", "message"),
        [
            ({"part_number": 1.5}, "m: part_number is 1.5; allowed: text"),
            ({"revision": True}, "m: revision is True"),
            ({"density_g_cm3": "heavy"}, "m: density_g_cm3 is 'heavy'; allowed: a number"),
            ({"attributes": ["a"]}, "m: attributes is"),
            ({"attributes": {"a": 1}, "a": 2}, "m: the attribute 'a' is there twice"),
            ({"part": BOX}, "m: 'part' is of type Solid; allowed: text, a number"),
            ({"a": (1.5, "inch")}, "m: attribute 'a' has the unit 'inch'; allowed: 1, %"),
            ({"a": float("nan")}, "m: attribute 'a' is nan"),
            ({"a": "\x00"}, r"m: the character U\+0000"),
        ],
    )
    def test_refused(self, metadata: dict[str, Any], message: str) -> None:
        with pytest.raises(ValueError, match=f"^{message}"):
            self.told(**metadata)

    def test_bad_density(self) -> None:
        for metadata in ({"density_g_cm3": 1.0}, {"material": "PA", "density_g_cm3": -1.0}):
            with pytest.raises(ValueError, match="density"):
                step_tree(whole((BOX, metadata)))

    def test_cadquery_materials(self) -> None:
        """Its density counts where one was given: by itself it says that of steel."""
        members = cq.Assembly(name="top")
        for index, material in enumerate((cq.Material("PA", density=1.14), cq.Material("PC"))):
            members.add(BOX, name=f"m{index}", material=material)
        parts = tree_of(members).parts().values()
        assert [(p.material, p.density_g_cm3) for p in parts] == [("PA", 1.14), ("PC", None)]

    def test_a_released_part_becomes_metadata_and_a_part_again(self, tmp_path: Path) -> None:
        first = part(BOX)
        export_assembly(
            whole((BOX, metadata_of(first))), tmp_path / "a.step", time=TIME, part_number="W"
        )
        _, read = read_step(tmp_path / "a.step")
        (again,) = tree_of(whole((read.shape, metadata_of(read)))).parts().values()
        for found in (read, again):
            for name in ("part_number", "name", "revision", "description", "material"):
                assert getattr(found, name) == getattr(first, name)
            assert found.density_g_cm3 == pytest.approx(first.density_g_cm3)
            assert found.attributes == first.attributes


class TestFiles:
    def test_another_ending(self, tmp_path: Path) -> None:
        with pytest.raises(ValueError, match=r"a\.stl ends in '\.stl'; allowed: \.step, \.stp"):
            export_assembly(whole((BOX, {})), tmp_path / "a.stl")

    def test_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(InputError) as caught:
            export_assembly(whole((BOX, {})), tmp_path / "none" / "a.step")
        assert str(caught.value).count("\n") == 0
        assert "a.step: the assembly cannot be written: No such file" in str(caught.value)

    def test_what_does_not_read_back_is_not_written(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A writer that says another material than it was given."""

        def another(path: Path, tree: StepAssembly, header: StepHeader) -> None:
            write_step_assembly(path, tree, header)
            path.write_text(path.read_text().replace("'PA'", "'PC'"))

        monkeypatch.setattr(export, "write_step_assembly", another)
        with pytest.raises(RuntimeError, match="m0: material is 'PC' instead of 'PA'"):
            export_assembly(whole((BOX, {"material": "PA"})), tmp_path / "a.step")
        assert os.listdir(tmp_path) == []

    def test_what_was_there_stays_if_it_is_refused(self, tmp_path: Path) -> None:
        path = tmp_path / "a.step"
        path.write_text("before")
        with pytest.raises(ValueError, match="no volume"):
            export_assembly(whole((cq.Shape.cast(BOX.wrapped.Reversed()), {})), path)
        assert path.read_text() == "before"
        assert os.listdir(tmp_path) == ["a.step"]
