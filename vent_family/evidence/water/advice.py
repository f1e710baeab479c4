"""Advice on a vent that does not hold: changes of its row that were judged, cheapest first.

A change is judged under every exposure of the row and in every state of fan and wind. It is advice
for an exposure if that one is then predicted better and none of the others worse. Changes of the
pool are looked through in closed form first; those of the drops are flown. Where one change leads
only part of the way, the changes that the next mechanism calls for are tried on top.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from vent_family.base.limits import LEVEL_MARGIN_MIN
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.outcomes import RANK, VERBS
from vent_family.evidence.water.airfield import AirSource
from vent_family.evidence.water.answer import answered
from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.changes import closer, drops, less_suction, slower
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import Trough
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.jets.verdict import THROUGH_SLATS
from vent_family.evidence.water.joint_report import JOINT
from vent_family.evidence.water.judge import DROP_MECHANISMS
from vent_family.evidence.water.passing import FLIGHTS_MAX
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.report import ExposureReport, Reported, severity
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.evidence.water.verdict import plain
from vent_family.spec import defaults
from vent_family.spec.changes import Change, applied, change_words, possible
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec

WORTHWHILE: Final = 0.7
"""A change that leaves more than this share of the water passing brings nothing nearer."""
_JUDGED: Final = 4
"""Changed vents that are judged for one mechanism, at most."""
_IN_ALL: Final = 5
"""Changed vents that are judged for all exposures of a part together, but for `_LEAST`."""
_LEAST: Final = 2
"""Changed vents that are judged for an exposure, whatever those before it took."""
_FIRST: Final = 2
"""Changes of sill and drain that are judged before those of one column alone."""
_DEEPEST: Final = 3
"""Columns that are changed together, and mechanisms answered one after the other, at most."""
_SILLS_MM: Final = (8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0)
_DRAINS_MM: Final = (4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)


class Trials:
    """A vent and its changed rows: each row is resolved once, each setup made once."""

    def __init__(self, vent: VentSpec, air: VentAir | None, source: AirSource) -> None:
        self._source = source
        self._attached = vent.attached
        self._vents: dict[CatalogRow, VentSpec | None] = {vent.row: vent}
        self._airs = {} if air is None else {vent.row: air}
        self._setups: dict[tuple[CatalogRow, float, Posture], Setup] = {}
        self._worst: dict[
            tuple[CatalogRow, int], list[tuple[list[Conditions], tuple[Reported, ...]]]
        ] = {}

    def vent(self, row: CatalogRow) -> VentSpec | None:
        """Return the vent of a row, ``None`` if the row breaks a rule."""
        if row not in self._vents:
            self._vents[row] = resolved_or_none(row, self._attached)
        return self._vents[row]

    def air(self, vent: VentSpec) -> VentAir:
        """Return the air side of a vent."""
        if vent.row not in self._airs:
            self._airs[vent.row] = vent_air(vent)
        return self._airs[vent.row]

    def setup(self, vent: VentSpec, conditions: Conditions) -> Setup:
        """Return the setup of a vent under the conditions of one exposure."""
        ((point,),) = conditions.states
        velocity = point.face_velocity_m_s
        key = (vent.row, velocity, conditions.posture)
        if key not in self._setups:
            self._setups[key] = setup_of(vent, velocity, conditions.posture, self._source)
        return self._setups[key]

    def worst(
        self, vent: VentSpec, states: Sequence[Conditions], flights: int = FLIGHTS_MAX
    ) -> tuple[Reported, ...]:
        """Return the reports of one exposure, in each state of fan and wind.

        No further batch of drops is begun after so many ``flights``.
        """
        # Conditions have no hash: those of one row and water are few, and compared.
        judged = self._worst.setdefault((vent.row, flights), [])
        for same, reports in judged:
            if same == list(states):
                return reports
        found = tuple(answered(self.setup(vent, s), s.table[0], s, flights) for s in states)
        judged.append((list(states), found))
        return found


@dataclass(frozen=True, eq=False)
class _Tried:
    """A changed vent and its conditions; ``reports`` holds the worst by exposure, once judged.

    The search judges by the first batches of drops; what it finds is then judged ``in_full``.
    """

    change: Change
    vent: VentSpec
    conditions: Conditions
    trials: Trials
    reports: dict[str, Reported]
    flights: int = 0

    def report(self, name: str) -> Reported:
        """Return the worst report of an exposure over the states of fan and wind."""
        if name not in self.reports:
            states = next(s for s in self.conditions.singles() if s[0].exposures == (name,))
            self.reports[name] = max(
                self.trials.worst(self.vent, states, self.flights), key=severity
            )
        return self.reports[name]

    def in_full(self) -> _Tried:
        """Return the same change, to be judged with as many drops as the verdict takes.

        A full jet is not sampled: what is known of it stays.
        """
        jets: dict[str, Reported] = {
            name: r for name, r in self.reports.items() if isinstance(r, JetReport)
        }
        return replace(self, reports=jets, flights=FLIGHTS_MAX)

    def score(self, name: str) -> tuple[int, float]:
        """Return how bad an exposure is: outcome, then what passes at most, L or jet's share."""
        rank, passed, _ = severity(self.report(name))
        return rank, passed


def advised_reports(
    trials: Trials, vent: VentSpec, conditions: Conditions, reports: Sequence[Reported]
) -> list[Reported]:
    """Return the reports of a vent's exposures, those that do not hold with advice.

    ``reports`` are the worst of each exposure over the states of fan and wind.
    """
    now = _Tried({}, vent, conditions, trials, {r.name: r for r in reports})
    advice = _Advice(trials, now)
    return [
        report
        if report.verdict.outcome == "holds"
        else replace(report, verdict=replace(report.verdict, change=advice.words(report.name)))
        for report in reports
    ]


class _Advice:
    """The search for changes that help a vent under one exposure after the other."""

    def __init__(self, trials: Trials, now: _Tried) -> None:
        self._trials, self._now = trials, now
        self._judged: dict[tuple[tuple[str, Any], ...], _Tried | None] = {}
        self._left = _IN_ALL

    def words(self, name: str) -> str:
        """Return advice for the exposure of a name.

        What one exposure has had judged costs the next nothing.
        """
        self._left = max(self._left, _LEAST)
        best = self._best(name)
        now = self._now.score(name)
        if best is not None:
            best = self._confirmed(best.in_full(), name)
        if best is None:
            return "no change of one, two or three columns that was tried helps"
        rank, passed = best.score(name)
        if rank < now[0]:
            verb = VERBS[best.report(name).verdict.outcome]
            return f"{change_words(best.change)} (then predicted to {verb})"
        much = f"{plain(1000.0 * passed)} mL pass"
        if isinstance(best.report(name), JetReport):
            much = f"{plain(100.0 * passed)} % of the jet gets inside"
        return (
            "no change of one, two or three columns that was tried is enough; what comes nearest:"
            f" {change_words(best.change)} (at most {much})"
        )

    def _confirmed(self, best: _Tried, name: str) -> _Tried | None:
        """Return a change if it helps an exposure and leaves the others, all drops sent."""
        score, now = best.score(name), self._now.score(name)
        better = score[1] < WORTHWHILE * now[1] if score[0] == now[0] else score < now
        return best if better and self._no_worse(best, name) else None

    def _best(self, name: str) -> _Tried | None:
        """Return the best change found: the first that holds, else the one that comes nearest."""
        start, best = self._now, None
        for _ in range(_DEEPEST):
            better = self._step(start, name)
            if better is None:
                break
            best = start = better
            if better.score(name)[0] == 0:
                break
        return None if best is None else self._pruned(best, name)

    def _pruned(self, best: _Tried, name: str) -> _Tried:
        """Return a change without the columns that it does as well without."""
        for column in best.change:
            rest = {n: value for n, value in best.change.items() if n != column}
            tried = self._judge(rest) if _turned(rest) else None
            if tried is None or not self._no_worse(tried, name):
                continue
            (rank, passed_l), (was, was_l) = tried.score(name), best.score(name)
            if rank < was or (rank == was and passed_l <= was_l / WORTHWHILE):
                return self._pruned(tried, name)
        return best

    def _step(self, start: _Tried, name: str) -> _Tried | None:
        """Return the best further change against what limits an exposure now."""
        best: _Tried | None = None
        count = 0
        for change in self._candidates(start, name):
            whole = {**start.change, **change}
            turned = _turned(whole)
            if turned > _DEEPEST or not possible(start.vent.row, change):
                continue
            if self._left == 0:
                break
            known = len(self._judged)
            tried = self._judge(whole)
            # A vent judged before, or one that breaks a rule, costs nothing.
            new = tried is not None and len(self._judged) > known
            self._left -= new
            count += 1
            if tried is not None:
                now = best or start
                score, was = tried.score(name), now.score(name)
                nearer = score[1] < WORTHWHILE * was[1]
                better = nearer if score[0] == was[0] else score < was
                if better and self._no_worse(tried, name):
                    best = tried
                    if score[0] == 0:
                        break
            if count == _JUDGED:
                break
        return best

    def _judge(self, change: Change) -> _Tried | None:
        """Return a change judged under every exposure; ``None`` if the row breaks a rule."""
        key = tuple(sorted(change.items(), key=lambda item: item[0]))
        if key not in self._judged:
            self._judged[key] = self._made(change)
        return self._judged[key]

    def _made(self, change: Change) -> _Tried | None:
        trial = self._trials.vent(applied(self._now.vent.row, change))
        if trial is None:
            return None
        air = self._trials.air(trial)
        own = self._now.conditions
        if "mounting_tilt_deg" in change:
            own = replace(own, tilt_deg=change["mounting_tilt_deg"])
        if "mounting_roll_deg" in change:
            own = replace(own, roll_deg=change["mounting_roll_deg"])
        if "extra_depression_pa" in change and own.drive is not None:
            own = replace(own, drive=replace(own.drive, extra_pa=change["extra_depression_pa"]))
        velocity = change.get("face_velocity_m_s")
        asked = own.on(air) if velocity is None else own.at_velocity(air, velocity)
        return _Tried(change, trial, asked, self._trials, {})

    def _no_worse(self, tried: _Tried, name: str) -> bool:
        """Return whether no other exposure is predicted worse than it is now."""
        return all(
            tried.score(other)[0] <= self._now.score(other)[0]
            for other in self._now.reports
            if other != name
        )

    def _candidates(self, start: _Tried, name: str) -> Iterator[Change]:
        """Yield changes against what limits an exposure, cheapest first."""
        if start.conditions.tilt_deg:
            yield {"mounting_tilt_deg": 0.0}
        if start.conditions.roll_deg:
            yield {"mounting_roll_deg": 0.0}
        report = start.report(name)
        if report.verdict.mechanism == JOINT:
            yield from closer(start.vent.row)
            yield from less_suction(start.conditions)
        elif isinstance(report, JetReport):
            through = report.verdict.mechanism == THROUGH_SLATS
            yield from drops(start.vent.row) if through else _deep(start)
        elif report.verdict.mechanism in DROP_MECHANISMS:
            yield from drops(start.vent.row)
        else:
            yield from self._pool(start, report)
            yield from less_suction(start.conditions)
        yield from slower(start.conditions)

    def _pool(self, start: _Tried, report: ExposureReport) -> Iterator[Change]:
        """Yield sills and drains that carry today's inflow in closed form, cheapest first.

        What comes to hold comes before what comes to be marginal; the change judged afterwards
        has its own air and its own drops.
        """
        own = start.conditions
        asked = replace(own, exposures=(report.name,), states=((report.air,),))
        setup = self._trials.setup(start.vent, asked)
        point = replace(report.air, depression_pa=report.air.depression_high_pa)
        came = arrival(
            asked.table[0], setup.front, point.face_velocity_m_s, own.posture, own.cabinet_m2
        )
        inflow = report.drainage.inflow_l_min

        def rank(change: Change) -> int:
            trough = _changed(setup.trough, start.vent.row, change)
            pool = Pool(trough, setup.basin, point, own.posture, came)
            if not pool.upright:
                return 0  # no closed form: the cheapest are judged
            if pool.suction_pa >= pool.overflow_depression_pa:
                return 2
            still, leaning = pool.drained(inflow), pool.out_of_true(inflow)
            if still.overflow_s is not None:
                return 2
            holds = still.margin_mm >= LEVEL_MARGIN_MIN.value and leaning.margin_mm >= 0.0
            return 0 if holds else 1

        ranked = [(rank(change), cost, i, change) for i, (cost, change) in enumerate(_pools(start))]
        now = RANK[report.verdict.outcome]
        better = [item for item in ranked if item[0] < now]
        ordered = [change for *_, change in sorted(better, key=lambda item: item[:3])]
        # Few are judged: the cheapest that hold in closed form, then the cheapest of one column.
        yield from ordered[:_FIRST]
        yield from (change for change in ordered[_FIRST:] if len(change) == 1)
        yield from (change for change in ordered[_FIRST:] if len(change) > 1)


def _turned(change: Change) -> int:
    """Return how many columns a change sets; cells cleared with them do not count."""
    return sum(value is not None for value in change.values())


def _heights(row: CatalogRow) -> tuple[float, float]:
    """Return drain and sill height of a row, mm; a blank sill as it is before it is raised."""
    filled = filled_row(row)
    drain = filled.drain_height_mm
    return drain, filled.sill_height_mm or drain + defaults.SILL_OVER_DRAIN_MM


def _changed(trough: Trough, row: CatalogRow, change: Change) -> Trough:
    """Return a trough with drain and sill changed; a blank sill rises with its drain."""
    drain, sill = _heights(row)
    higher = change.get("drain_height_mm", drain) - drain
    rise = higher if row.sill_height_mm is None else 0.0
    rise = change["sill_height_mm"] - sill if "sill_height_mm" in change else rise
    relief = tuple(replace(r, crest_mm=r.crest_mm + higher) for r in trough.relief)
    return replace(
        trough,
        slot_mm=trough.slot_mm + higher,
        sill_mm=trough.sill_mm + rise,
        relief=relief,
    )


def _pools(start: _Tried) -> Iterator[tuple[float, Change]]:
    """Yield higher sills and drains, and the two together, with what they cost in mm."""
    row = start.vent.row
    drain, sill = _heights(row)
    drains = [d for d in _DRAINS_MM if d > drain]
    yield from ((2.0 * (d - drain), {"drain_height_mm": d}) for d in drains)
    if row.family not in COLUMNS["sill_height_mm"].families:
        return
    for high in (s for s in _SILLS_MM if s > sill):
        yield high - sill, {"sill_height_mm": high}
        for d in drains:
            if high >= d + defaults.SILL_OVER_DRAIN_MM:
                cost = high - sill + 2.0 * (d - drain)
                yield cost, {"sill_height_mm": high, "drain_height_mm": d}


def _deep(start: _Tried) -> Iterator[Change]:
    """Yield a few sills and drains, from low to the highest, against a jet that floods."""
    changes = [change for _, change in sorted(_pools(start), key=lambda item: item[0])]
    yield from changes[:: max(1, len(changes) // (_JUDGED - 1))]
    yield from changes[-1:]
