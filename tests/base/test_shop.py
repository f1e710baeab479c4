"""The shop's table: what is read, what is refused and where, what is coarser than the design."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from vent_family.base.materials import MATERIALS
from vent_family.base.problems import InputError
from vent_family.base.shop import SlicerSettings, demo_shop, design_problems, read_shop

TEXT = (Path(__file__).parents[2] / "vent_family" / "base" / "shop.toml").read_text("utf-8")


def edited(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = TEXT
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def printing(**changes: float) -> SlicerSettings:
    return demo_shop().printing.model_copy(update=changes)


def test_every_material_has_its_temperatures_below_where_it_burns() -> None:
    """Filament flows above 180 degC and is held by a bed cooler than its nozzle."""
    for name in MATERIALS:
        heat = demo_shop().temperature.of(name)
        assert 180.0 < heat.nozzle_deg_c < 320.0
        assert heat.bed_deg_c < heat.nozzle_deg_c - 100.0
        assert f"{heat.nozzle_deg_c:g} degC" in heat.text()
        assert ("chamber" in heat.text()) == (heat.chamber_deg_c is not None)


def test_walls_lie_side_by_side() -> None:
    assert printing(wall_count=4, line_width_mm=0.5).shell_mm == pytest.approx(2.0)
    assert not printing(infill_share=1.0).sparse
    assert printing(infill_share=0.99).sparse


def test_a_shop_of_its_own_is_read(tmp_path: Path) -> None:
    path = edited(tmp_path, ("line_width_mm = 0.45", "line_width_mm = 0.40"))
    assert read_shop(path).printing.line_width_mm == 0.4


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("nozzle_mm = 0.4", "nozzle_mm = 0.0", ["printing.nozzle_mm", "'0.0'", "0.1"]),
        ("nozzle_mm = 0.4", "nozzle_mm = nan", ["printing.nozzle_mm", "'nan'"]),
        ("_width_mm = 0.45", "_width_mm = 0.9", ["printing.line_width_mm", "0.3 to 0.8 mm"]),
        ("_width_mm = 0.45", "_width_mm = 0.2", ["printing.line_width_mm", "0.3 to 0.8 mm"]),
        ("\nlayer_mm = 0.2", "\nlayer_mm = 0.33", ["printing.layer_mm", "at most 0.32 mm"]),
        ("d_layer_mm = 0.12", "d_layer_mm = 0.24", ["thread_layer_mm", "at most 0.2 mm"]),
        ("infill_share = ", "infill_share = 1.1 # ", ["infill_share", "less than or equal to 1"]),
        ("infill_share = ", "infill_share = 0 # ", ["infill_share", "0.05"]),
        ("top_layers = 5", "top_layers = 0", ["printing.top_layers", "equal to 1"]),
        ("nozzle_deg_c = 250.0", "nozzle_deg_c = 25.0", ["temperature.ASA.nozzle_deg_c", "150"]),
        ("nozzle_deg_c = 250.0", "", ["entry temperature.ASA.nozzle_deg_c", "a rate is missing"]),
        ("in_plane = 0.005", "in_plane = 0.5", ["shrinkage.ASA.in_plane", "0.05"]),
        ("scatter_mm = 0.22", "", ["shrinkage.PP.scatter_mm", "a rate is missing"]),
        ("compensate_meshes = false", "compensate_meshes = 3", ["compensate_meshes", "'3'"]),
        ("margin = 0.25", "margin = 25", ["entry price.margin", "'25'", "0 to 3, a share"]),
        ("margin = 0.25", "margin = 3.01", ["entry price.margin", "0.25 for a quarter"]),
        ('currency = "USD"', 'currency = ""', ["entry currency", "a name, such as USD"]),
        ('currency = "USD"', 'currency = "  "', ["entry currency", "a name, such as USD"]),
        ("[cut_stack]", "[cut_stacks]", ["section cut_stack: a section is missing"]),
        ("[cut_stack]", "[cut_stacks]", ["section cut_stacks: there is no section of this name"]),
        ("[mould.press]", "[mould.pres]", ["section mould.press: a section is missing"]),
        ("[temperature.PP]", "[temperature.ABS]", ["temperature.PP", "temperature.ABS"]),
    ],
)
def test_a_bad_setting_is_told_by_its_place(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    with pytest.raises(InputError) as caught:
        read_shop(edited(tmp_path, (old, new)))
    for word in ["own.toml", *words]:
        assert word in str(caught.value)


def test_a_bad_nozzle_is_one_fault_not_three(tmp_path: Path) -> None:
    """Line and layer are not judged against a nozzle that is itself refused."""
    with pytest.raises(InputError) as caught:
        read_shop(edited(tmp_path, ("nozzle_mm = 0.4", "nozzle_mm = -0.4")))
    assert [p.column for p in caught.value.problems] == ["printing.nozzle_mm"]


@pytest.mark.parametrize(
    ("name", "design", "coarser"),
    [
        ("nozzle_mm", 0.4, 0.5),
        ("line_width_mm", 0.45, 0.46),
        ("layer_mm", 0.2, 0.21),
        ("thread_layer_mm", 0.12, 0.125),
    ],
)
def test_settings_coarser_than_the_design_are_told(
    name: str, design: float, coarser: float
) -> None:
    shop = demo_shop()
    just = shop.model_copy(update={"printing": printing(**{name: design})})
    assert design_problems(just, "own.toml") == []
    over = shop.model_copy(update={"printing": printing(**{name: coarser})})
    (found,) = design_problems(over, "own.toml")
    assert (found.file, found.column, found.value) == (
        "own.toml",
        f"printing.{name}",
        f"{coarser:g}",
    )
    assert found.allowed == f"at most {design:g} mm"


def test_a_shop_goes_to_other_processes_and_stays_the_same() -> None:
    """Rows are built and priced side by side: every process gets the shop's table."""
    found = demo_shop()
    assert pickle.loads(pickle.dumps(found)) == found


def test_a_section_that_is_a_number_is_told(tmp_path: Path) -> None:
    lines = [t for t in TEXT.splitlines() if not t.startswith(("[price]", "margin ="))]
    path = tmp_path / "own.toml"
    path.write_text("\n".join(["price = 3", *lines]), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_shop(path)
    assert "own.toml, section price: a section is not usable (value '3')." in str(caught.value)


def test_the_margin_may_be_three_times_the_cost(tmp_path: Path) -> None:
    assert read_shop(edited(tmp_path, ("margin = 0.25", "margin = 3"))).price.margin == 3.0
