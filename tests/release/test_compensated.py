"""Meshes stretched against shrinkage: STL and 3MF by as much as the shop says, STEP never."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from tests.evidence.as_made.test_fits import shop_with
from tests.helpers.rows import spec as resolved_row
from vent_family.base.rates import Rates
from vent_family.evidence.context import PartContext
from vent_family.files.threemf import read_threemf
from vent_family.release.contents import Contents
from vent_family.release.plan import PLAN

IN_PLANE, IN_HEIGHT = 0.01, 0.004


@pytest.fixture(scope="module")
def nuts() -> dict[bool, Contents]:
    """A round vent with gasket and locknut, as drawn and stretched; its STL lies as in use."""
    spec = resolved_row("round", size="M20x1.5", stl_orientation="use")
    made = {}
    context = PartContext(spec, Rates(shop_with(IN_PLANE, IN_HEIGHT, 0.1), "test"))
    made[False] = Contents(context, (), "0" * 16, datetime(2026, 1, 1, tzinfo=UTC))
    stretched = PartContext(spec, Rates(shop_with(IN_PLANE, IN_HEIGHT, 0.1, comp=True), "test"))
    # Solids, meshes and slices are the same: what is stretched is what is written.
    stretched.__dict__ |= {k: context.__dict__[k] for k in ("_masses", "_reports")}
    stretched.__dict__ |= {"solids": context.solids, "meshes": context.meshes}
    made[True] = Contents(stretched, (), "0" * 16, datetime(2026, 1, 1, tzinfo=UTC))
    return made


@pytest.mark.parametrize("body", ["", "locknut"])
def test_stl_comes_out_of_shrinkage_as_drawn(nuts: dict[bool, Contents], body: str) -> None:
    """Stretched, then shrunk by the printer, a part has the size of its drawing."""
    drawn, stretched = (np.array(nuts[s].stl(body).facts.size_mm) for s in (False, True))
    shrunk = stretched * [1.0 - IN_PLANE, 1.0 - IN_PLANE, 1.0 - IN_HEIGHT]
    np.testing.assert_allclose(shrunk, drawn, rtol=1e-6)
    assert b"scaled=1.0101,1.0101,1.0040 part=T1" in nuts[True].stl(body).data[:80]
    assert b"scaled" not in nuts[False].stl(body).data[:80]


def test_a_gasket_is_cut_from_sheet_and_stays(nuts: dict[bool, Contents]) -> None:
    assert nuts[True].stl("gasket").data == nuts[False].stl("gasket").data


def test_threemf_says_that_it_is_stretched(nuts: dict[bool, Contents], tmp_path: Path) -> None:
    write = next(f.write for f in PLAN if f.ending == ".3mf")
    sizes = {}
    for stretched, contents in nuts.items():
        path = tmp_path / f"{stretched}.3mf"
        write(contents, path)
        found = read_threemf(path)
        sizes[stretched] = np.ptp(found.vertices, axis=0)
        assert ("Scaled" in found.metadata) == stretched
        assert found.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-6)
    np.testing.assert_allclose(
        sizes[True] * [1.0 - IN_PLANE, 1.0 - IN_PLANE, 1.0 - IN_HEIGHT], sizes[False], rtol=1e-5
    )


def test_upright_vents_stretch_along_their_height() -> None:
    """In the frame of use the height above the bed is y; in the frame of print it is z."""
    shop = shop_with(IN_PLANE, IN_HEIGHT, 0.1, comp=True)
    for frame, up in (("use", 1), ("print", 2)):
        spec = resolved_row(size="40x40", print_orientation="upright", stl_orientation=frame)
        context = PartContext(spec, Rates(shop, "test"))
        contents = Contents(context, (), "0" * 16, datetime(2026, 1, 1, tzinfo=UTC))
        words = [b"1.0101"] * 3
        words[up] = b"1.0040"
        assert b"scaled=" + b",".join(words) in contents.stl("").data[:80]
