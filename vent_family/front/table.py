"""The parts of a catalogue as one table: dimensions, areas, air and margins, one row a part."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from vent_family.evidence.air.summary import AirSummary, summarise
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.report import WaterReport
from vent_family.spec.summary import summary
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    import pandas as pd

Cell = str | int | float | None

COLUMNS: Final[dict[str, tuple[str, str]]] = {
    "family": ("", "part family"),
    "size": ("", "opening as width x height in mm, or neck thread"),
    "status": ("", "draft, released or retired"),
    "revision": ("", "revision letter"),
    "material": ("", "printing material"),
    "print_orientation": ("", "how the part lies on the bed"),
    "slat_form": ("", "form of the slats"),
    "slat_thickness_mm": ("mm", "slat thickness"),
    "slat_foot_mm": ("mm", "width of the flats in which acute corners of slats end; 0: sharp"),
    "pitch_mm": ("mm", "height from slat to slat in one bank"),
    "slat_height_mm": ("mm", "height of one slat"),
    "overlap_mm": ("mm", "overlap with the slats of the neighbouring bank"),
    "banks": ("", "number of banks"),
    "gaps_between_banks_mm": ("mm", "clear distances between banks from outside in, in words"),
    "stack_depth_mm": ("mm", "depth of all banks with their gaps"),
    "passage_between_slats_mm": ("mm", "clear width between two slats, normal to the flow"),
    "slats_in_section": ("", "number of slats in the section"),
    "ribs": ("", "number of ribs across the banks"),
    "longest_bridge_mm": ("mm", "widest bay, the span a slat bridges when printed"),
    "sight_margin_mm": ("mm", "by how much every straight line misses; negative: a path exists"),
    "nearest_line_at_deg": ("deg", "elevation of the line that comes nearest"),
    "sill_height_mm": ("mm", "height of the sill above the floor's inner edge"),
    "drain_area_mm2": ("mm2", "open area of the drain"),
    "smallest_open_area_mm2": ("mm2", "narrowest cross-section"),
    "smallest_open_area_at": ("", "where that is"),
    "depth_in_front_of_panel_mm": ("mm", "reach in front of the panel's outer face"),
    "depth_behind_panel_mm": ("mm", "reach behind the panel's outer face"),
    "opening_to_cut": ("", "opening in the panel, in words"),
    "slopes_from_outside_in": ("", "slopes of the banks, where they are chosen bank by bank"),
    "head_diameter_mm": ("mm", "outside diameter of a round head"),
    "bore_diameter_mm": ("mm", "bore of a threaded neck"),
    "neck_length_mm": ("mm", "length of a threaded neck"),
    "fan_frame_mm": ("mm", "frame of the fan that is screwed to the vent"),
    "fan_behind_slats_mm": ("mm", "distance of the fan's frame from the slats"),
    "screen_mm": ("mm", "opening of the insect screen's mesh"),
    "screen_wire_mm": ("mm", "wire of the insect screen"),
    "pitch_moved_from_mm": ("mm", "usual pitch, where another one was needed"),
    "cover_corner_radius_mm": ("mm", "corner radius of lip or flange"),
    "largest_corner_radius_of_the_opening_mm": ("mm", "corner radius that the opening may have"),
    "opening_mm2": ("mm2", "area of the panel opening, to which K refers"),
    "k_in": ("1", "loss coefficient drawing in, at 25 Pa"),
    "k_out": ("1", "loss coefficient blowing out, at 25 Pa"),
    "discharge_in": ("1", "discharge coefficient drawing in, at 25 Pa"),
    "drain_share": ("1", "share of the flow that goes by the drain channel"),
    "flow_in_at_10_pa_m3_h": ("m3/h", "flow drawn in at 10 Pa, air of 20 degC at sea level"),
    "flow_in_at_25_pa_m3_h": ("m3/h", "the same at 25 Pa"),
    "flow_in_at_50_pa_m3_h": ("m3/h", "the same at 50 Pa"),
    "water_predicted": ("", "worst outcome of the row's exposures"),
    "water_passed_ml": ("mL", "most that passes in any of them, upper assumption on splash"),
    "jet_inside_share": ("1", "most of a full jet that gets inside, mean over its aims"),
    "pool_margin_mm": ("mm", "least height of the sill above the pool; negative: it overflows"),
}
"""Every column: unit and meaning. A column that no part fills is left out of the table."""


def part_table(specs: Iterable[VentSpec], *, water: bool = False) -> pd.DataFrame:
    """Return one row a part, indexed by part number, in the order given.

    Parameters
    ----------
    specs:
        resolved vents
    water:
        whether to predict each part's behaviour in water too, which takes seconds a part

    Returns
    -------
    pandas.DataFrame
        columns as in :data:`COLUMNS`; units and meanings also stand in ``attrs``

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> rows = parse_catalog("part_number,family,size,status\\nV-40,rectangular,40x40,released\\n")
    >>> table = part_table(ResolvedRows(rows).specs())
    >>> table.loc["V-40", ["sight_margin_mm", "k_in"]].round(2).tolist()
    [1.0, 40.82]
    >>> table.attrs["units"]["flow_in_at_25_pa_m3_h"]
    'm3/h'
    """
    # Imported here: it takes most of a second to load, and only this needs it.
    import pandas as pd

    lines: dict[str, dict[str, Cell]] = {}
    for spec in specs:
        line = _spec_cells(spec) | _air_cells(summarise(spec))
        if water:
            line |= _water_cells(assess(spec, conditions_of(spec), advise=False))
        lines[spec.part_number] = line
    names = [name for name in COLUMNS if any(line.get(name) is not None for line in lines.values())]
    table = pd.DataFrame.from_dict(lines, orient="index", columns=names)
    table.index.name = "part_number"
    table.attrs["units"] = {name: COLUMNS[name][0] for name in names}
    table.attrs["meanings"] = {name: COLUMNS[name][1] for name in names}
    return table


def _spec_cells(spec: VentSpec) -> dict[str, Cell]:
    return {name.replace(" ", "_"): value for name, value in summary(spec).items()}


def _air_cells(air: AirSummary) -> dict[str, Cell]:
    flows = {f"flow_in_at_{f.pressure_pa:g}_pa_m3_h": f.flow_in_m3_h for f in air.flows}
    return {
        "opening_mm2": air.opening_mm2,
        "k_in": air.k_in,
        "k_out": air.k_out,
        "discharge_in": air.discharge_in,
        "drain_share": air.drain_share,
        **flows,
    }


def _water_cells(water: WaterReport) -> dict[str, Cell]:
    return {
        "water_predicted": water.outcome,
        "water_passed_ml": max((1000.0 * e.passed_l.high for e in water.drops), default=None),
        "jet_inside_share": max((e.inside_share.high for e in water.jets), default=None),
        "pool_margin_mm": min((e.drainage.margin_mm for e in water.drops), default=None),
    }
