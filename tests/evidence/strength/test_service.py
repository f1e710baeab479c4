"""Impact, heat and fire: energies and temperatures by other ways, advice that is followed."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.helpers.fe_beam import fe_beam
from tests.helpers.rows import row, spec
from tests.helpers.shops import shop_with
from vent_family.base.materials import COLOURS, FLAMMABILITY, MATERIALS
from vent_family.base.sun import ABSORPTANCE
from vent_family.evidence.context import PartContext, Rates
from vent_family.evidence.strength.flame import flame, flame_with_advice
from vent_family.evidence.strength.heat import heat, judged, part_deg_c, stands_outdoors
from vent_family.evidence.strength.impact import (
    IK_J,
    NO_CODE,
    NOSE_MM,
    breaks_out_j,
    highest_code,
    impact,
)
from vent_family.evidence.strength.kind import STRENGTH
from vent_family.evidence.strength.members import members
from vent_family.evidence.strength.record import StrengthRecord
from vent_family.evidence.strength.shells import Shell
from vent_family.spec.forms import Outline
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec


def test_energy_of_a_slat_against_finite_elements() -> None:
    """Half of force times way, at the force where the clamped slat breaks less its scatter.

    Ribs as thick as they come all but clamp a thin slat; 32 MPa over 1.5 in M = F L / 8.
    """
    part = spec(
        "rectangular",
        size="80x60",
        slat_form="flat",
        slat_thickness_mm=1.0,
        rib_count=2,
        rib_thickness_mm=6.0,
        wall_mm=4.0,
    )
    span, width = part.longest_bridge_mm, part.section.stack.slat_height_mm
    breaks = 32.0 / 1.5 * (width * 1.0**2 / 6.0) * 8.0 / span

    def plate(s: np.ndarray, t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return (t * 1.0, s * width)

    model = fe_beam(plate, span, breaks, (-1.0, 0.0), 1900.0, 0.0, span / 20.0)
    found = impact(part)
    assert found.energy_j == pytest.approx(0.5 * breaks * model.deflection_mm / 1000.0, rel=0.1)
    assert found.code == NO_CODE
    member = next(m for m in members(part) if m.name == "front slat under a hammer")
    assert member.safety == pytest.approx(found.energy_j / 0.14)
    assert not member.judged


def test_only_the_front_is_struck() -> None:
    """Half as thick, a plate breaks with half the energy (F as t^2, stiffness as t^3).

    Behind the outermost bank that changes nothing.
    """
    part = spec("rectangular", size="80x60", slat_form="flat")

    def thinned(banks: range) -> float:
        slats = tuple(
            replace(slat, leaves=tuple(halved(leaf) for leaf in slat.leaves))
            if slat.bank in banks
            else slat
            for slat in part.section.slats
        )
        changed = replace(part, section=replace(part.section, slats=slats))
        return impact(changed).energy_j

    full = thinned(range(0))
    assert thinned(range(1, 9)) == pytest.approx(full, rel=0.05)
    assert thinned(range(1)) == pytest.approx(0.5 * full, rel=0.1)


def halved(leaf: Outline) -> Outline:
    """Return an upright plate half as thick."""
    middle = sum(z for z, _ in leaf) / len(leaf)
    return tuple(((z + middle) / 2.0, y) for z, y in leaf)


@pytest.mark.parametrize(
    ("form", "material", "section", "pitch", "strength"),
    [
        # A plank is a parallelogram: t root 2 wide, as deep as its height less t root 2; of 8.05 mm
        # the feet take 0.9 mm at either end, and a triangle each.
        ("inclined", "ASA", 1.5 * 2**0.5 * (6.25 + 1.8 - 1.5 * 2**0.5) - 0.9**2, 6.5, 8.0),
        ("flat", "PP", 9.0 * 1.5, 12.0, 5.0),
        # Two leaves, each a plank as high as the slat, with a foot below.
        ("folded", "PC", 2 * 1.5 * 2**0.5 * (7.0 + 0.9 - 1.5 * 2**0.5) - 0.9**2, 8.0, 10.0),
    ],
)
def test_broken_out_by_hand(
    form: str, material: str, section: float, pitch: float, strength: float
) -> None:
    """Impact strength times both ends of every slat under the striking element, 1 kJ/m2 = 1 mJ/mm2.

    18.5 mm for codes to IK06, 35 mm for IK07 (IEC 60068-2-75, public tables read).
    """
    part = spec("rectangular", size="120x120", slat_form=form, material=material)
    one = 2.0 * section * strength / 1000.0
    assert breaks_out_j(part, 0.1) == pytest.approx(one)
    assert breaks_out_j(part, 18.5) == pytest.approx(one * (18.5 // pitch))
    assert breaks_out_j(part, 35.0) == pytest.approx(one * (35.0 // pitch))
    found = impact(part)
    assert found.energy_j < found.tough_energy_j
    # The code told is met with its own element, the next one is not.
    told = [NO_CODE, *IK_J]
    place = told.index(found.tough_code)
    assert all(breaks_out_j(part, NOSE_MM[c]) >= IK_J[c] for c in told[1 : place + 1])
    missed = told[place + 1]
    assert breaks_out_j(part, NOSE_MM[missed]) < IK_J[missed]
    assert found.code == NO_CODE
    assert found.codes == (f"between {NO_CODE} and " if place else "") + found.tough_code


def test_only_slats_in_the_outer_plane_are_struck() -> None:
    """A striking element as wide as the vent: the slats that reach the outer plane, no more."""
    part = spec("rectangular", size="80x60", slat_form="flat")
    front = [
        slat
        for slat in part.section.slats
        if slat.whole and max(z for z, _ in slat.outline) > part.section.stack_z_mm[1] - 0.01
    ]
    assert 0 < len(front) < len([s for s in part.section.slats if s.whole]) / 4.0
    one = 2.0 * 9.0 * 1.5 * 8.0 / 1000.0
    assert breaks_out_j(part, 1000.0) == pytest.approx(len(front) * one)


def test_heavy_hammers_strike_more_slats() -> None:
    """Stout folded slats of polycarbonate: two of them take 1 J of IK06, four the 2 J of IK07."""
    cells = {"slat_thickness_mm": 2.0, "pitch_mm": 8.5, "slat_height_mm": 8.0}
    part = spec("rectangular", size="150x150", material="PC", slat_form="folded", **cells)
    leaves = 2.0 * 2.0 * 2**0.5 * (8.0 - 2.0 * 2**0.5)
    one = 2.0 * leaves * 10.0 / 1000.0
    assert 1.0 < 2.0 * one < 2.0 < 4.0 * one < 5.0
    assert impact(part).tough_code == "IK07"


def test_sparse_core_breaks_more_easily() -> None:
    """Walls of 0.3 mm on either side of 1 mm, printed upright: three fifths of a flat slat."""
    part = spec("rectangular", size="120x120", slat_form="flat", slat_thickness_mm=1.0)
    sparse = breaks_out_j(part, 18.5, Shell(0.3, 0.3))
    assert sparse == pytest.approx(0.6 * breaks_out_j(part, 18.5))


def test_codes_rise_with_energy() -> None:
    """IEC 62262: 0.14, 0.2, 0.35, 0.5, 0.7, 1, 2, 5, 10, 20 J, and 50 J since 2021."""
    energies = [0.14, 0.2, 0.35, 0.5, 0.7, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0]
    assert list(IK_J.values()) == energies
    for place, energy in enumerate(energies, 1):
        assert highest_code(energy) == f"IK{place:02d}"
        assert highest_code(energy * 0.999) == (f"IK{place - 1:02d}" if place > 1 else NO_CODE)


@pytest.mark.parametrize("colour", sorted(COLOURS))
def test_a_part_in_the_sun_gives_off_what_it_takes_up(colour: str) -> None:
    """1000 W/m2 on one side, 11 W/m2K on each of two, in air of 40 degC."""
    share = ABSORPTANCE[colour].value
    warm = part_deg_c(share)
    assert 2.0 * 11.0 * (warm - 40.0) == pytest.approx(share * 1000.0)


def test_verdicts_by_colour_and_material() -> None:
    """ASA deflects at 95 degC: dark grey comes to 82 degC at worst, 15 K are asked for."""
    assert judged("ASA", "light_grey", outdoors=True).verdict == "holds"
    dark = judged("ASA", "dark_grey", outdoors=True)
    assert dark.verdict == "marginal"
    assert dark.hottest_deg_c == pytest.approx(40.0 + 0.92 * 1000.0 / 22.0)
    assert dark.check().verdict == "fail"
    assert dark.check().value == pytest.approx(95.0 - dark.hottest_deg_c)
    assert judged("PETG", "dark_grey", outdoors=True).verdict == "fails"
    assert judged("PC", "black", outdoors=True).verdict == "holds"
    inside = judged("PETG", "dark_grey", outdoors=False)
    assert (inside.verdict, inside.in_sun, inside.part_deg_c) == ("holds", "fails", 40.0)


def test_rain_falls_outdoors() -> None:
    assert [stands_outdoors(e) for e in ("rain", "splashing/heavy_rain", "driving_rain")] == [
        True
    ] * 3
    assert not any(stands_outdoors(e) for e in ("dry", "dripping/splashing", "hose_down"))
    assert heat(spec("rectangular", material="PETG", colour="black")).outdoors
    assert not heat(spec("rectangular", material="PETG", exposure="dry")).outdoors


def followed(part: VentSpec, advice: str) -> VentSpec:
    """Return the vent of a row changed as told."""
    cells = dict(re.findall(r"(\w+) to (\S+)", advice.replace(",", " ")))
    assert cells
    return resolve(part.row.model_copy(update=cells))


@pytest.mark.parametrize(
    ("material", "colour"), [("ASA", "black"), ("PETG", "dark_grey"), ("PETG", "light_grey")]
)
def test_advice_on_heat_holds_when_followed(material: str, colour: str) -> None:
    part = spec("rectangular", material=material, colour=colour, exposure="heavy_rain")
    found = heat(part)
    assert found.verdict != "holds"
    assert found.advice in found.check().message
    better = followed(part, found.advice)
    assert heat(better).verdict == "holds"
    # The colour changes by no more than it must.
    old, new = ABSORPTANCE[colour].high, ABSORPTANCE[better.colour].high
    nearer = [c for c in COLOURS if new < ABSORPTANCE[c].high < old]
    assert all(judged(better.material.name, c, outdoors=True).verdict != "holds" for c in nearer)


@pytest.mark.parametrize("colour", [c for c in COLOURS if c != "white"])
def test_advice_on_heat_outdoors_keeps_to_what_the_sun_spares(colour: str) -> None:
    """ASA in some colour always holds, so nothing else is told of PETG in the sun; UV is named."""
    found = heat(spec("rectangular", material="PETG", colour=colour, exposure="rain"))
    assert found.verdict != "holds"
    assert "material to PC" not in found.advice
    assert "material to ASA" in found.advice
    assert "(UV: good: made for outdoor use)" in found.advice


def test_advice_on_fire_names_what_the_sun_does() -> None:
    found = flame_with_advice(spec("rectangular", flammability_class="V-2", exposure="rain"))
    (name,) = re.findall(r"set material to (\w+)", found.advice)
    assert f"(UV: {MATERIALS[name].print_profile.uv})" in found.advice


@pytest.mark.parametrize("material", ["PETG", "PP", "PA"])
def test_advice_on_fire_outdoors_is_a_grade_of_what_the_sun_spares(material: str) -> None:
    part = spec("rectangular", material=material, flammability_class="V-0", exposure="rain")
    found = flame_with_advice(part, outdoors=True)
    assert found.advice.startswith("set material to ASA (UV: good: made for outdoor use) and buy")
    assert "certified V-0" in found.advice
    assert MATERIALS["ASA"].print_profile.retardant_class == "V-0"
    assert followed(part, "material to ASA").material.name == "ASA"
    report = PartContext(part).of(STRENGTH)
    assert report.flame == found


def test_all_that_does_not_hold_is_told_at_the_top() -> None:
    """Snap arms of polypropylene: 50 N asked of what is drawn out at less."""
    context = PartContext(resolve(row("rectangular", size="60x60", fixing="snap", material="PP")))
    report = context.of(STRENGTH)
    short = [m for m in report.members if m.judged and m.safety < m.least]
    assert any("pull" in m.name for m in short), [m.name for m in report.members]
    told = STRENGTH.sentences(context)
    for member in short:
        assert any(t.lower().startswith(f"{member.name.lower()}: {member.verdict}") for t in told)
    others = [m for m in report.members if not m.judged or m.safety >= m.least]
    assert not any(t.lower().startswith(f"{m.name.lower()}: ") for t in told for m in others)


def test_what_holds_needs_no_advice() -> None:
    assert heat(spec("rectangular", material="ASA", colour="white")).advice == ""


@pytest.mark.parametrize("asked", FLAMMABILITY)
@pytest.mark.parametrize("name", sorted(MATERIALS))
def test_class_is_judged_by_rank(name: str, asked: str) -> None:
    part = spec("rectangular", material=name, flammability_class=asked)
    own = MATERIALS[name].print_profile.flammability_class
    found = flame(part)
    assert found.verdict == (
        "holds" if FLAMMABILITY.index(own) >= FLAMMABILITY.index(asked) else "fails"
    )
    assert len(found.checks()) == 1
    assert (found.checks()[0].verdict == "pass") == (found.verdict == "holds")


def test_advice_on_fire_says_what_to_buy_and_what_to_change() -> None:
    part = spec("rectangular", flammability_class="V-2")
    found = flame_with_advice(part)
    assert found.verdict == "fails"
    assert "flame-retardant grade of ASA, certified V-2" in found.advice
    assert flame(followed(part, found.advice)).verdict == "holds"
    # No material comes with V-0 as usually bought: there is nothing but to buy the grade.
    best = flame_with_advice(spec("rectangular", flammability_class="V-0"))
    assert "set material" not in best.advice
    assert flame(spec("rectangular")).checks() == ()


def test_advice_on_heat_burns_no_more_easily(monkeypatch: pytest.MonkeyPatch) -> None:
    """A PETG that meets V-2 as polycarbonate does and ASA does not: heat alone would advise ASA."""
    cells = {"colour": "black", "exposure": "rain", "flammability_class": "V-2"}
    part = spec("rectangular", material="PC", **cells)
    assert heat(part).verdict == "holds"
    assert flame(part).verdict == "holds"

    profile = replace(MATERIALS["PETG"].print_profile, flammability_class="V-2")
    plain = spec("rectangular", material="PETG", **cells)
    assert "set material to ASA" in heat(plain).advice
    monkeypatch.setitem(MATERIALS, "PETG", replace(MATERIALS["PETG"], printing=profile))
    spared = spec("rectangular", material="PETG", **cells)
    assert flame(spared).verdict == "holds"
    better = followed(spared, heat(spared).advice)
    assert (heat(better).verdict, flame(better).verdict) == ("holds", "holds")
    assert better.material.name == "PC"


def test_record_and_sentences_say_it() -> None:
    cells = {"material": "PETG", "colour": "blue", "flammability_class": "V-0", "exposure": "rain"}
    context = PartContext(resolve(row("round", **cells)))
    record = context.record(STRENGTH)
    assert isinstance(record, StrengthRecord)
    assert (record.heat_verdict, record.flammability_verdict) == ("fails", "fails")
    assert record.outdoors
    assert record.neck_breaks_at_n_m == pytest.approx(
        (context.of(STRENGTH).neck_breaks_at_nmm or 0.0) / 1000.0
    )
    assert record.neck_tightened_to_n_m == pytest.approx(3.2)
    assert record.slat_safety_hinged < record.slat_safety_clamped
    assert record.impact_code == NO_CODE
    assert record.impact_tough_code in IK_J
    assert record.impact_energy_j < record.impact_tough_energy_j
    told = " ".join(STRENGTH.sentences(context))
    assert f"between {NO_CODE} and {record.impact_tough_code} of IEC 62262" in told
    assert "predicted, never a rating" in told
    assert "Tighten the locknut by hand, to 3.2 N m" in told
    assert "V-0 asked, HB as usually bought" in told
    verdicts = {c.name: c.verdict for c in STRENGTH.checks(context)}
    assert verdicts["strength: heat"] == verdicts["strength: flammability"] == "fail"
    chapter = "\n".join(STRENGTH.chapter(context))
    assert "weak, not judged" in chapter
    assert "they are filled" in chapter or "sparse" in chapter


def test_shop_decides_what_of_a_part_is_solid() -> None:
    part = resolve(row("round"))
    thin = shop_with(printing={"infill_share": 0.2, "wall_count": 1})
    sparse = PartContext(part, Rates(thin, "own"))
    solid = PartContext(part, Rates(shop_with(printing={"infill_share": 1.0}), "own"))
    record = sparse.record(STRENGTH)
    assert isinstance(record, StrengthRecord)
    assert record.solid_depth_mm == pytest.approx(thin.printing.line_width_mm)
    weaker = (sparse.of(STRENGTH).neck_breaks_at_nmm, solid.of(STRENGTH).neck_breaks_at_nmm)
    assert weaker[0] is not None
    assert weaker[1] is not None
    assert weaker[0] <= weaker[1]
    assert sparse.of(STRENGTH).slat_breaks_at_n < solid.of(STRENGTH).slat_breaks_at_n
    assert "sparse" in " ".join(STRENGTH.chapter(sparse))
