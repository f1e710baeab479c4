"""The shapes of what commands answer with ``--json``, as types from which schemas are made.

Units stand in the names, as everywhere: mm, mm2, m3_h, pa, w, c (degrees Celsius), k (kelvin), s.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any, Literal, NotRequired, get_type_hints

from typing_extensions import TypedDict

from vent_family.base.problems import Problem
from vent_family.evidence.outcomes import Outcome as WaterOutcome
from vent_family.evidence.water.report import WaterReport
from vent_family.evidence.water.sensitivity import Sensitivity
from vent_family.evidence.ways.answer import CostAnswer
from vent_family.release.bar import PublishIf
from vent_family.release.difference import PartDifference
from vent_family.release.discipline import Kind
from vent_family.release.jobs import Outcome
from vent_family.release.pinned.news import PinNews


class RefusalShape(TypedDict):
    """Why nothing was done."""

    problems: list[Problem]


class ShopShape(TypedDict):
    """Whose table of rates and settings."""

    table: str
    table_hash: str


class FileShape(TypedDict):
    """A file that was written."""

    name: str
    size_bytes: int
    sha256: str


class ReleaseShape(TypedDict):
    """What a release changes, compared with the one before."""

    revision: str
    issue: int
    change: Kind
    got_worse: list[str]
    changes: list[str]
    notes: list[str]


class SweptRowShape(TypedDict):
    """The best row by one aim: price, K warmer, depth, water that passes; and its cells."""

    price: float
    rise_k: float
    depth_mm: float
    passed_ml: float
    cells: dict[str, str]


class SweptShape(TypedDict):
    """What would do one requirement of a sweep: rows by title, how many were judged."""

    values: dict[str, str | int | float | bool]
    best: dict[str, SweptRowShape]
    judged: int
    problem: str | None


class SweepShape(TypedDict):
    """What would do a requirement with entries varied."""

    currency: str
    swept: list[SweptShape]
    interrupted: bool


class RowShape(TypedDict):
    """What became of one row."""

    part_number: str
    row: int
    status: Literal["draft", "released", "retired"]
    outcome: Outcome
    water_predicted: str
    message: str
    folder: str
    files: list[FileShape]
    seconds: float
    stages_s: dict[str, float]
    facts: dict[str, str | int | float] | None
    release: ReleaseShape | None
    problems: list[Problem]


class BuildShape(TypedDict):
    """What became of all rows."""

    time_stamp: str
    publish_if: PublishIf
    shop: ShopShape
    parts: list[RowShape]
    problems: list[Problem]


class PublishShape(TypedDict):
    """What became of all rows, and which generation of the library is published now."""

    time_stamp: str
    generation: str
    switched: bool
    publish_if: PublishIf
    shop: ShopShape
    parts: list[RowShape]
    orphans: list[str]
    notes: list[str]
    removed: list[str]
    problems: list[Problem]


class PlannedShape(TypedDict):
    """Why a row would be made again; no reason: it stays as it is."""

    part_number: str
    reasons: list[str]


class PlanShape(TypedDict):
    """What a run would make."""

    planned: list[PlannedShape]
    problems: list[Problem]


class DiscrepancyShape(TypedDict):
    """One thing that is not as it was published."""

    path: str
    fault: Literal["altered", "missing", "foreign", "unreadable"]
    text: str


class VerifyShape(TypedDict):
    """What lies in a library, held against its manifest."""

    generation: str
    files: int
    findings: list[DiscrepancyShape]
    beside: list[str]


class PinsShape(TypedDict):
    """What became of the releases that a lock file names; ``pinned`` is how many these are."""

    lock_file: str
    library: str
    generation: str
    pinned: int
    news: list[PinNews]
    problems: list[Problem]


class DifferenceShape(TypedDict):
    """What differs between two libraries, or a library and a catalogue."""

    before: str
    now: str
    differences: list[PartDifference]
    problems: list[Problem]


class ShowShape(TypedDict):
    """What a row resolves to; units stand in the names of the facts."""

    part_number: str
    description: str
    facts: dict[str, str | int | float]


class CostShape(TypedDict):
    """Prices of parts."""

    shop: ShopShape
    parts: list[CostAnswer]
    problems: list[Problem]


class PredictionShape(TypedDict):
    """What is predicted of a cabinet; flows and temperatures are left out where there is none."""

    outcome: WaterOutcome
    holds: bool
    reasons: list[str]
    failure: str | None
    flow_m3_h: NotRequired[float]
    flow_low_m3_h: NotRequired[float | None]
    flow_high_m3_h: NotRequired[float | None]
    rise_k: NotRequired[float]
    inside_c: NotRequired[float]
    inside_low_c: NotRequired[float | None]
    inside_high_c: NotRequired[float | None]
    margin_k: NotRequired[float]
    reserve: NotRequired[float]
    heat_by_air_w: NotRequired[float]
    heat_by_walls_w: NotRequired[float]
    heat_of_sun_w: NotRequired[float]
    balance_w: NotRequired[dict[str, float]]
    drops_pa: NotRequired[list[float]]
    drops_low_pa: NotRequired[list[float]]
    drops_high_pa: NotRequired[list[float]]
    draught_pa: NotRequired[float]
    warnings: NotRequired[list[str]]
    fan_flow_m3_h: NotRequired[float]
    fan_pressure_pa: NotRequired[float]
    stalled: NotRequired[bool]


class HalfCloggedShape(PredictionShape):
    """The same with half of the inlet clogged."""

    what: str
    share: float


class AirShape(PredictionShape):
    """What is predicted of a cabinet, and what was asked."""

    part_number: str
    outlet_part_number: str
    inlets: int
    outlets: int
    driven_by: Literal["fan", "draught", "closed"]
    heat_w: float
    ambient_c: float
    limit_c: float
    altitude_m: float
    walls_w_k: float
    sunlit_m2: float | None
    air_density_kg_m3: float
    k_in: float
    k_in_low: float
    k_in_high: float
    k_out: float
    k_out_low: float
    k_out_high: float
    smallest_open_area_mm2: float
    required_flow_m3_h: float
    required_flow_with_reserve_m3_h: float
    reserve_needed: float
    half_clogged: HalfCloggedShape | None
    fewest_inlets: int | None
    smallest_vent: str | None
    greatest_heat_w: float | None
    caution: str
    files: list[str]


class ColumnShape(TypedDict):
    """One column of the catalogue."""

    name: str
    unit: str
    families: list[str]
    allowed: str
    required: bool
    meaning: str


class InitShape(TypedDict):
    """The files that were written."""

    files: list[str]


class OwnColumnsShape(TypedDict):
    """Columns of the writer's own: how they are named, and what their cells may hold."""

    prefix: str
    allowed_name: str
    allowed: str
    meaning: str


class ColumnsShape(TypedDict):
    """Every column of the catalogue, and the rule for the writer's own."""

    columns: list[ColumnShape]
    own: OwnColumnsShape


class CodeShape(TypedDict):
    """The code of a problem."""

    code: str
    meaning: str


class CodesShape(TypedDict):
    """The code of every problem."""

    codes: list[CodeShape]


class ChangeShape(TypedDict):
    """A name of an old catalogue that was rewritten."""

    row: int
    old: str
    new: str


class UpdateShape(TypedDict):
    """What was rewritten and what was left as it is."""

    changes: list[ChangeShape]
    left: list[Problem]


class CellToTypeShape(TypedDict):
    """A cell of a workbook that is to hold something else; blank stands for a blank cell."""

    cell: str
    column: str
    old: str
    new: str


class WrittenShape(TypedDict):
    """What became of a row that was to be written; ``row`` is null where none was."""

    row: int | None
    cells_to_type: list[CellToTypeShape]
    words: str


class VerdictShape(TypedDict):
    """One check of one part; ``value`` and ``limit`` in ``unit``."""

    name: str
    verdict: Literal["pass", "fail", "not_run"]
    message: str
    value: float | None
    limit: float | None
    unit: str


def check_shape() -> Any:
    """Return the shape of ``check``, whose reports are those of the water check."""
    own = {
        "rows": int,
        "register": str | None,
        "undecided": list[str],
        "problems": list[Problem],
        "publish_if": NotRequired[PublishIf],
        "water": NotRequired[list[_report({})]],  # type: ignore[misc]
    }
    return TypedDict("Check", own)  # type: ignore[operator]


def water_shape() -> Any:
    """Return the shape of ``water``."""
    return _report(
        {
            "sensitivity": NotRequired[list[Sensitivity]],
            "sensitivity_left_out": NotRequired[list[str]],
        }
    )


def improve_shape() -> Any:
    """Return the shape of ``improve``: what was found, and what of it was written."""
    from vent_family.proposing.bettered import ImprovementTold

    hints = get_type_hints(ImprovementTold, include_extras=True)
    return TypedDict("Improve", hints | {"written": WrittenShape | None})  # type: ignore[operator]


def propose_shape() -> Any:
    """Return the shape of ``propose``: what is told of the proposal, and what was made of it."""
    from vent_family.proposing.added import Added
    from vent_family.proposing.told import ProposalTold

    more = {
        "added": Added | None,
        "files": list[str],
        "problems": list[Problem],
        "robust": dict[str, Any] | None,
    }
    return TypedDict("Propose", get_type_hints(ProposalTold) | more)  # type: ignore[operator]


def print_check_shape() -> Any:
    """Return the shape of ``print-check``: the record's section, and its verdicts."""
    from vent_family.evidence.printing.kind import PRINTING
    from vent_family.release.record import record_type

    section = record_type().model_fields[PRINTING.section].annotation
    own = {"part_number": str, "shop": ShopShape, "printing": section, "checks": list[VerdictShape]}
    return TypedDict("PrintCheck", own)  # type: ignore[operator]


def _report(more: dict[str, Any]) -> Any:
    """Return the shape of a water report with further fields."""
    hints = get_type_hints(WaterReport, include_extras=True)
    own = {field.name: hints[field.name] for field in fields(WaterReport)}
    told = {"outcome": Literal[WaterOutcome, "not checked"], "caution": str}
    return TypedDict("WaterReport", own | told | more)  # type: ignore[operator]
