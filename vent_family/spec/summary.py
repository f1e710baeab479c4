"""A resolved vent in a few plain lines, for people and for ``--json``."""

from __future__ import annotations

from vent_family.spec.areas import drain_area_mm2, open_areas, smallest
from vent_family.spec.families import filled_row
from vent_family.spec.vent import VentSpec


def summary(spec: VentSpec) -> dict[str, str | int | float]:
    """Return the resolved dimensions and margins of a part, units in the names.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="round", size="M32x1.5", status="draft")
    >>> facts = summary(resolve(row))
    >>> facts["head diameter mm"], facts["bore diameter mm"], facts["opening to cut"]
    (65.0, 26.8, 'round hole, diameter 32.6 mm')
    """
    section, stack = spec.section, spec.section.stack
    areas, duct, screen = open_areas(spec), spec.fan_duct, spec.body.screen
    narrowest = smallest(areas)
    facts: dict[str, str | int | float] = {
        "family": spec.family,
        "size": spec.row.size,
        "status": spec.row.status,
        "revision": spec.revision,
        "material": spec.material.name,
        "print orientation": spec.print_orientation,
        "slat form": stack.form,
        "slat thickness mm": stack.thickness_mm,
        "slat foot mm": stack.foot_mm,
        "pitch mm": stack.pitch_mm,
        "slat height mm": stack.slat_height_mm,
        "overlap mm": stack.overlap_mm,
        "banks": stack.bank_count,
        "gaps between banks mm": " / ".join(f"{g:g}" for g in stack.gaps_mm) or "none",
        "stack depth mm": stack.depth_mm,
        "passage between slats mm": stack.passage_mm,
        "slats in section": len(section.slats),
        "ribs": spec.rib_count,
        "longest bridge mm": spec.longest_bridge_mm,
        "sight margin mm": section.sight.margin_mm,
        "nearest line at deg": section.sight.elevation_deg,
        "sill height mm": section.sill_top_mm - section.floor_inner_mm,
        "drain area mm2": drain_area_mm2(spec),
        "smallest open area mm2": narrowest.area_mm2,
        "smallest open area at": narrowest.name,
        "depth in front of panel mm": spec.in_front_mm,
        "depth behind panel mm": spec.behind_mm,
        "opening to cut": spec.opening.text(),
    }
    own = filled_row(spec.row).pitch_mm
    if stack.pitch_mm != own:
        facts["pitch moved from mm"] = own
    if stack.shape.slopes_chosen:
        facts["slopes from outside in"] = "-".join("out" if s > 0 else "in" for s in stack.slopes)
    if duct is not None:
        facts["fan frame mm"] = duct.frame.side_mm
        facts["fan behind slats mm"] = duct.guard_mm
    if screen is not None:
        mesh = screen.mesh
        facts["screen mm"], facts["screen wire mm"] = mesh.opening_mm, mesh.wire_mm
    return facts | spec.body.facts
