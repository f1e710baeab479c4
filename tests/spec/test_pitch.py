"""A pitch that leaves no clean ceiling: found where it was left blank, told where it was given."""

from __future__ import annotations

import re
from typing import Any

import pytest

from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.spec.changes import nearest
from vent_family.spec.forms import FORMS
from vent_family.spec.resolve import PITCH_SHARE, refusals_of, resolve
from vent_family.spec.section import Section
from vent_family.spec.summary import summary

BLANK = {
    "family": "rectangular",
    "size": "44.495x111.24",
    "slat_form": "folded",
    "overlap_mm": 10.309,
}
GIVEN = {"family": "flanged", "size": "63.5x31.75", "slat_form": "folded", "pitch_mm": 6.0}


def row(**cells: Any) -> CatalogRow:
    return CatalogRow(part_number="P", status="draft", **cells)


def broken(**cells: Any) -> set[str]:
    return {refusal.rule for refusal in refusals_of(row(**cells))}


def tenths(around: float, most: float) -> list[float]:
    """Return the tenths of a millimetre within ``most`` of a pitch, nearest first."""
    found = [round(0.1 * i, 1) for i in range(50, 400) if abs(0.1 * i - around) <= most + 1e-9]
    return sorted((p for p in found if p != around), key=lambda p: (round(abs(p - around), 6), -p))


def ceiling_is_clean(section: Section) -> bool:
    """Whatever hangs from the ceiling reaches two beads down, whatever ends below leaves a gap."""
    level = section.ceiling_mm
    for slat in section.slats:
        ys = [y for _, y in slat.outline]
        hangs = max(ys) >= level and level - min(ys) >= 0.9 - 1e-9
        if not (hangs or max(ys) <= level - 2.7 + 1e-9):
            return False
    return True


def test_a_blank_pitch_is_moved_to_the_nearest_that_does() -> None:
    own = FORMS["folded"].defaults.pitch_mm
    assert broken(**BLANK, pitch_mm=own) == {"slats.ceiling.sliver"}
    vent = resolve(row(**BLANK))
    pitch = vent.section.stack.pitch_mm
    assert 0.0 < abs(pitch - own) <= PITCH_SHARE * own
    assert ceiling_is_clean(vent.section)
    for nearer in tenths(own, PITCH_SHARE * own):
        if nearer == pitch:
            break
        assert broken(**BLANK, pitch_mm=nearer), nearer
    # The row is as it was written; what was moved is told.
    assert vent.row.pitch_mm is None
    assert summary(vent)["pitch mm"] == pitch
    assert summary(vent)["pitch moved from mm"] == own
    assert "pitch moved from mm" not in summary(resolve(row(**BLANK, pitch_mm=pitch)))


def test_a_given_pitch_stays_and_the_nearest_that_does_is_told() -> None:
    with pytest.raises(InputError) as refused:
        resolve(row(**GIVEN))
    (problem,) = refused.value.problems
    assert problem.message.startswith("no clean ceiling")
    told = re.fullmatch(r"set pitch_mm to ([0-9.]+)", problem.suggestion)
    assert told is not None
    pitch = float(told[1])
    assert not broken(**{**GIVEN, "pitch_mm": pitch})
    for nearer in tenths(6.0, 1.0):
        if nearer == pitch:
            break
        assert broken(**{**GIVEN, "pitch_mm": nearer}), nearer


def test_of_two_pitches_equally_near_the_greater_comes_first() -> None:
    assert nearest("pitch_mm", 6.5, 0.2) == [6.6, 6.4, 6.7, 6.3]
    for around, most in ((7.0, 0.5), (8.04, 0.3), (9.99, 0.7)):
        assert nearest("pitch_mm", around, most) == tenths(around, most)


@pytest.mark.parametrize(
    ("cells", "message", "advice"),
    [
        (
            {"family": "rectangular", "size": "31.75x152.4", "slat_form": "flat", "bank_count": 1},
            "a single bank of flat slats shuts the vent",
            {"bank_count": None},
        ),
        (
            {"family": "flanged", "size": "164.4x44.45", "slat_form": "flat", "pitch_mm": 9.0},
            "the passage between slats is 1.50 mm wide",
            {"overlap_mm": 1.8},
        ),
        (
            {
                "family": "rectangular",
                "size": "82.55x31.75",
                "slat_form": "folded",
                "pitch_mm": 5.0,
            },
            "the passage between slats is 2.04 mm wide",
            {"pitch_mm": 6.1},
        ),
    ],
)
def test_advice_keeps_what_the_row_asks_for(
    cells: dict[str, Any], message: str, advice: dict[str, Any]
) -> None:
    """One bank gets company, not another form; a small pitch stays small."""
    with pytest.raises(InputError) as refused:
        resolve(row(**cells))
    (problem,) = refused.value.problems
    assert problem.message.startswith(message)
    words = [
        f"set {n} to {v:g}" if v is not None else f"leave {n} blank" for n, v in advice.items()
    ]
    assert problem.suggestion == words[0]
    assert not broken(**{**cells, **advice})


def test_hairline_feet_are_refused() -> None:
    """0.08 mm: edges of that length all over the part, which nobody can print or draw."""
    cells = {"family": "rectangular", "size": "40x40", "slat_foot_mm": 0.08}
    assert broken(**cells) == {"slats.feet.hairline"}
    assert not broken(**{**cells, "slat_foot_mm": 0.1})
    assert not broken(**{**cells, "slat_foot_mm": 0.0})
