"""What a search asks of a vent's strength, against the whole report."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.strength.members import strength_report
from vent_family.evidence.strength.screened import strength_holds
from vent_family.evidence.strength.shells import SOLID, Shell

THIN = {"slat_form": "flat", "slat_thickness_mm": 0.8}
PARTS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("rectangular", {"size": "80x60"}),
    ("rectangular", {"size": "80x60", "rib_count": 2, **THIN}),
    ("rectangular", {"size": "160x120", "fixing": "snap", "material": "PC", "colour": "black"}),
    ("rectangular", {"size": "80x60", "flammability_class": "V-0", "material": "PETG"}),
    ("round", {"size": "M32x1.5", "exposure": "dry"}),
    ("flanged", {"size": "120x92", "material": "PETG", "colour": "black"}),
)


@pytest.mark.parametrize(("family", "cells"), PARTS)
@pytest.mark.parametrize("shell", [SOLID, Shell(0.9, 0.6)])
def test_the_same_checks_fail_as_in_the_report(
    family: str, cells: dict[str, Any], shell: Shell
) -> None:
    part = spec(family, **cells)
    whole, quick = strength_report(part, shell), strength_holds(part, shell)
    failing = [check.name for check in whole.checks if check.verdict != "pass"]
    assert [check.name for check in quick.failing] == failing
    assert quick.holds == (not failing)
    assert quick.holds == (quick.reserve >= 1.0)


def test_a_reserve_says_how_far_off_the_worst_check_is() -> None:
    """Safety over the safety needed, of the member that comes out worst; of a slat, by its load."""
    part = spec("rectangular", size="80x60", rib_count=2, **THIN)
    report, found = strength_report(part), strength_holds(part)
    by_hand = {
        check.name: check.value / check.limit
        for check in report.checks
        if check.unit == "1" and check.value is not None and check.limit is not None
    }
    assert found.limited_by == min(by_hand, key=lambda name: by_hand[name])
    assert found.limited_by == "strength: slat under a thumb"
    assert found.reserve == pytest.approx(min(by_hand.values()))
    least = part.material.print_profile.safety_min
    assert found.reserve == pytest.approx(report.slat_breaks_at_n / (20.0 * least))


def test_heat_and_flame_count_by_what_they_lack() -> None:
    """A margin of 15 K is asked for over the warmest a part gets."""
    black = spec("rectangular", size="80x60", material="PETG", colour="black")
    found, heat = strength_holds(black), strength_report(black).heat
    assert found.limited_by == "strength: heat"
    assert found.reserve == pytest.approx(heat.deflects_deg_c / (heat.hottest_deg_c + 15.0))
    burns = spec("rectangular", size="80x60", material="PETG", flammability_class="V-0")
    names = [check.name for check in strength_holds(burns).failing]
    assert "strength: flammability" in names
    assert math.isfinite(strength_holds(burns).reserve)
