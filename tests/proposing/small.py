"""A small requirement with few rows, for tests that search."""

from __future__ import annotations

from typing import Any, Final

from vent_family.proposing.enquiry import Enquiry, enquiry_of
from vent_family.proposing.requirement import Requirement, requirement_of
from vent_family.proposing.run import Depth
from vent_family.proposing.search import SearchEffort
from vent_family.proposing.space import RowSpace, space_of

LADDERS: Final[dict[str, tuple[Any, ...]]] = {
    "slat_form": ("flat", "folded"),
    "bank_count": (1, 2, 3),
    "slat_thickness_mm": (1.0, 1.5),
    "pitch_mm": (None, 6.0, 7.0),
    "wall_mm": (None, 1.2),
}
"""72 rows."""
SHALLOW: Final = Depth(
    SearchEffort(drawn=40, begun=16, rows=16, generations=3, wetted=4),
    rounds=1,
    wet=2,
    ends=4,
    lesser=0,
)


def asked(**sections: Any) -> Requirement:
    """Return a requirement for an opening of 40 x 40 mm, printed face down, with what is given."""
    whole: dict[str, Any] = {
        "opening": {"size": "40x40", "families": ["rectangular"]},
        "water": {"exposure": "dry"},
        "order": {"print_orientation": "face_down"},
    }
    for name, entries in sections.items():
        whole[name] = whole.get(name, {}) | entries
    return requirement_of(whole)


def cooled(heat_w: float = 20.0, **sections: Any) -> Requirement:
    """Return the same with a cabinet that a fan cools."""
    cabinet = {"heat_w": heat_w, "ambient_c": 30.0, "limit_c": 45.0}
    return asked(cabinet=cabinet, air={"fan": "tank-hall-92"}, **sections)


def small(requirement: Requirement) -> tuple[Enquiry, RowSpace]:
    """Return a requirement made ready, and its few rows."""
    return enquiry_of(requirement), space_of(requirement, LADDERS)
