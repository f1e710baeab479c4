"""A part taken apart: members against closed forms and the exact solid, sums against the part."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh
from shapely.geometry import box as rectangle

from tests.helpers.octagon import Octagonal, OctagonBuilder
from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.shop import Shop, demo_shop
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.printing.masses import FlatPlate, Masses, mass_check, masses
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.report import Printed, sliced
from vent_family.evidence.printing.settings import vent_settings
from vent_family.geometry.families import registered_family
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.families.round_body import neck_volume_mm3
from vent_family.spec.members import BodyMember
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

SPARSE = demo_shop()
SOLID = shop_with(printing={"infill_share": 1.0})


@dataclass(frozen=True, eq=False)
class Taken:
    part: VentSpec
    solid: cq.Solid
    printed: Printed
    lowest_mm: float

    def apart(self, members: tuple[BodyMember, ...] | None = None) -> Masses:
        body = self.part.body
        return masses(
            body,
            body.members(self.part.section, self.part.bays) if members is None else members,
            self.printed.filled,
            self.part.print_orientation,
            self.lowest_mm,
            self.part.material.density_g_cm3,
        )

    def volumes(self) -> dict[str, float]:
        return {share.name: share.solid_mm3 for share in self.apart().shares}


def taken(part: VentSpec, shop: Shop = SPARSE) -> Taken:
    solid = build_solids(part).vent
    vertices, triangles = mesh_of(solid, 0.05, 0.3)
    standing = turned(vertices, part.print_orientation)
    settings = vent_settings(part, float(standing[:, 2].max()), shop)
    printed = sliced(standing, triangles, part.material, settings, shop)
    upright = part.print_orientation == "upright"
    lowest = float(vertices[:, 1].min() if upright else vertices[:, 2].max())
    return Taken(part, solid, printed, lowest)


@cache
def known(name: str) -> Taken:
    cells: dict[str, dict[str, Any]] = {
        "folded": {"family": "rectangular", "size": "60x50", "slat_form": "folded"},
        "flat": {
            "family": "rectangular",
            "size": "40x40",
            "slat_form": "flat",
            "locating_key": "notch",
        },
        "snap": {"family": "rectangular", "size": "50x50", "fixing": "snap"},
        # Of one fold the ceiling takes the ridge and leaves the two feet.
        "feet": {
            "family": "rectangular",
            "size": "32x57.5",
            "slat_form": "folded",
            "bank_stagger": 0.3,
        },
        "flanged": {"family": "flanged", "size": "50x50"},
        "round": {"family": "round", "size": "M20x1.5"},
    }
    found = dict(cells[name])
    return taken(spec(found.pop("family"), **found))


NAMES = ("folded", "feet", "flat", "snap", "flanged", "round")


@pytest.mark.parametrize("name", NAMES)
def test_the_members_sum_to_the_part(name: str) -> None:
    """As printed, to the printed mass; as volumes, to the exact solid's but for whole layers."""
    found = known(name)
    apart = found.apart()
    assert sum(s.mass_g for s in apart.shares) == pytest.approx(found.printed.mass_g, rel=1e-4)
    whole = found.printed.layers.volume_mm3
    assert sum(s.solid_mm3 for s in apart.shares) == pytest.approx(whole, rel=1e-4)
    assert whole == pytest.approx(found.solid.Volume(), rel=0.02)
    assert apart.missed_mm3 <= 1e-4 * whole
    assert mass_check(apart, whole).verdict == "pass"
    assert len({s.name for s in apart.shares}) == len(apart.shares)
    assert all(0.0 < s.laid_mm3 <= s.solid_mm3 * (1.0 + 1e-9) for s in apart.shares)


def clipped(solid: cq.Solid, x: tuple[float, float], y: tuple[float, float]) -> float:
    """Return the exact volume (mm3) of a solid between two x and two y, at any depth."""
    tool = cq.Solid.makeBox(x[1] - x[0], y[1] - y[0], 400.0, cq.Vector(x[0], y[0], -200.0))
    return solid.intersect(tool).Volume()


@pytest.mark.parametrize("name", ["folded", "flanged"])
def test_blocks_against_pieces_cut_from_the_exact_solid(name: str) -> None:
    """Ribs and slats lie between the front plane's floor and ceiling; the kernel cuts them out."""
    found = known(name)
    part, volumes = found.part, found.volumes()
    body, half = part.body, part.body.half_width_mm
    w, h = (side / 2 - 0.3 for side in part.opening.size_mm)
    left, right, bottom, top = body.cover.reach_mm
    assert w - half == pytest.approx(part.row.wall_mm or 2.0)
    beside = sum(clipped(found.solid, x, (-h, h)) for x in ((-w, -half), (half, w)))
    assert volumes["side walls"] == pytest.approx(beside, rel=0.01)
    cover = name if name == "flanged" else "lip"
    around = found.solid.Volume() - clipped(found.solid, (-w, w), (-h, h))
    assert volumes[cover.replace("flanged", "flange")] == pytest.approx(around, rel=0.01)
    assert left + right > 2 * w
    assert bottom + top > 2 * h
    middle = sum(
        clipped(found.solid, (a, b), (-h, h))
        for a, b in zip([b for _, b in part.bays], [a for a, _ in part.bays[1:]], strict=False)
    )
    # Of a slice through the ribs, the rest lies below the floor, behind the sill and above.
    outside = sum(b - a for a, b in part.bays)
    rest = (volumes["floor"] + volumes["sill"] + volumes["ceiling"]) * (
        1.0 - outside / (2.0 * half)
    )
    assert volumes["ribs"] + rest == pytest.approx(middle, rel=0.02)
    bays = clipped(found.solid, (-half, half), (-h, h)) - middle
    others = volumes["floor"] + volumes["sill"] + volumes["ceiling"] - rest
    assert volumes["slats"] + volumes["apron"] + others == pytest.approx(bays, rel=0.02)


def test_slats_and_apron_are_their_outlines_times_the_bays() -> None:
    found = known("folded")
    section, width = found.part.section, sum(b - a for a, b in found.part.bays)
    slats = section.slats_solid.intersection(section.room).area
    assert found.volumes()["slats"] == pytest.approx(slats * width, rel=0.01)
    z, y = [p[0] for p in section.apron], [p[1] for p in section.apron]
    apron = (max(z) - min(z)) * (max(y) - min(y))
    assert found.volumes()["apron"] == pytest.approx(apron * width, rel=0.02)


def test_a_round_vent_by_pappus_and_a_slab_of_the_exact_solid() -> None:
    """Neck by Pappus and on the mesh; back plate and shoulder are all that lies between planes."""
    found = known("round")
    volumes = found.volumes()
    body: Any = found.part.body
    assert volumes["neck"] == pytest.approx(neck_volume_mm3(body.neck), rel=0.005)
    bodily = trimesh.Trimesh(*mesh_of(found.solid, 0.05, 0.3), process=True)
    behind = bodily.slice_plane([0.0, 0.0, -1e-4], [0.0, 0.0, -1.0])
    # Cones from a point of the cut to every triangle: those to the cut itself are flat.
    cones = np.linalg.det(behind.triangles + np.array([0.0, 0.0, 1e-4])) / 6.0
    assert volumes["neck"] == pytest.approx(cones.sum(), rel=0.005)
    # A shoulder of 1.2 mm and a plate of 2; their front is cut within a layer, which falls to one
    # of the members.
    slab = cq.Solid.makeBox(400.0, 400.0, 3.2, cq.Vector(-200.0, -200.0, 0.0))
    assert volumes["back plate"] == pytest.approx(found.solid.intersect(slab).Volume(), rel=0.02)


def test_cores_are_counted_where_they_are() -> None:
    """Slats of 1.5 mm are all wall; a round head's back plate and its ceiling's bar are not."""
    found = known("round")
    laid = {s.name: s.laid_mm3 / s.solid_mm3 for s in found.apart().shares}
    assert laid["slats"] == pytest.approx(1.0)
    assert laid["neck"] == pytest.approx(1.0)
    assert laid["back plate"] < 0.9
    assert laid["ceiling"] < 0.99
    full = taken(found.part, SOLID).apart()
    assert all(s.laid_mm3 == s.solid_mm3 for s in full.shares)
    assert {s.name: s.solid_mm3 for s in full.shares} == found.volumes()


@pytest.mark.parametrize("name", NAMES)
def test_a_member_left_out_or_named_twice_is_missed(name: str) -> None:
    found = known(name)
    whole = found.printed.layers.volume_mm3
    members = found.part.body.members(found.part.section, found.part.bays)
    floor = found.volumes()["floor"]
    short = found.apart(tuple(m for m in members if m.name != "floor"))
    twice = found.apart((*members, next(m for m in members if m.name == "floor")))
    for wrong in (short, twice):
        assert wrong.missed_mm3 == pytest.approx(floor, rel=0.01)
        assert mass_check(wrong, whole).verdict == "fail"


def plates(found: Taken) -> dict[str, FlatPlate]:
    return {plate.name: plate for plate in found.apart().plates}


def test_flat_plates_come_out_as_whole_layers() -> None:
    """1.5 mm lie between 7 and 8 layers of 0.2 mm; 3 mm of lip and 2 mm of apron are whole."""
    told = plates(known("flat"))
    slats = [p for n, p in told.items() if n.startswith("slats")]
    assert len(slats) == known("flat").part.section.stack.bank_count
    for plate in slats:
        assert plate.designed_mm == pytest.approx(1.5)
        assert plate.layers in (7, 8)
        assert plate.printed_mm == pytest.approx(0.2 * plate.layers, rel=0.01)
    for name, layers in (("lip", 15), ("apron", 10), ("sill", 8)):
        assert told[name].layers == layers
        assert told[name].printed_mm == pytest.approx(told[name].designed_mm, rel=0.01)
    even = plates(taken(spec("rectangular", size="40x40", slat_form="flat", slat_thickness_mm=1.6)))
    assert {p.layers for n, p in even.items() if n.startswith("slats")} == {8}


def test_slanted_slats_and_upright_walls_are_no_plates_that_lie_flat() -> None:
    told = plates(known("folded"))
    assert set(told) == {"lip", "apron", "sill"}
    assert set(plates(known("snap"))) == {"ceiling"}


def test_a_family_of_ones_own_says_what_it_is_made_of() -> None:
    with registered_family(Octagonal(), OctagonBuilder()):
        row = CatalogRow(part_number="A", family="octagonal", size="90x80", status="draft")
        found = taken(resolve(row))
        apart = found.apart()
    assert apart.missed_mm3 <= 1e-3 * found.printed.layers.volume_mm3
    body: Any = found.part.body
    depth = -body.inner_z_mm
    walls = (body.block.area - body.cavity.area) * depth
    assert found.volumes()["walls"] == pytest.approx(walls, rel=0.03)


def test_a_cavity_of_changing_width_prints_on_its_face_only() -> None:
    found = known("round")
    standing = replace(found, part=replace(found.part, print_orientation="upright"))
    with pytest.raises(ValueError, match="on its face only"):
        standing.apart()


def test_stretches_know_their_layers() -> None:
    """A slab of 2 mm in the layers of a block 10 mm high, seen from below and from above."""
    part = known("folded").part
    members = part.body.members(part.section, part.bays)
    sill = next(m for m in members if m.name == "sill")
    z0, y0, z1, y1 = sill.stretches[0].outline.bounds
    assert (z0, z1) == pytest.approx((part.section.inner_z_mm, part.section.foot[0]))
    assert y1 == pytest.approx(part.section.sill_top_mm)
    assert rectangle(z0, y0, z1, y1).area == pytest.approx(sill.stretches[0].outline.area)
