"""The parts of a catalogue for scripts: shapes, dimensions and answers, made when asked for."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vent_family.base.problems import InputError
from vent_family.base.rates import Rates
from vent_family.catalog.near import no_such_row
from vent_family.catalog.reader import CatalogFile, SourcedRow, parse_catalog, read_catalog
from vent_family.enclosure.live import live_members
from vent_family.enclosure.members import Detail, FittedBody, checked_detail
from vent_family.enclosure.posture import Bearing, judged_bearing
from vent_family.enclosure.vents import Vents
from vent_family.evidence.air.answer import Answer, answer
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.drive import OtherAir
from vent_family.evidence.air.fan_files import read_fan
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.question import question_of
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.summary import AirSummary, summarise
from vent_family.evidence.air.withdrawn import with_computed
from vent_family.evidence.context import PartContext
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.evidence.installed.record import InstallationRecord
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import chosen_conditions
from vent_family.evidence.water.report import WaterReport
from vent_family.evidence.water.sensitivity import Sensitivity, sensitivity
from vent_family.evidence.water.solved_air import solved_flow
from vent_family.evidence.ways.answer import CostAnswer, cost_answer
from vent_family.front.table import part_table
from vent_family.geometry.vent import VentSolids
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    import pandas as pd

    from vent_family.proposing.improve import Improvement
    from vent_family.proposing.keeps import WantedKept
    from vent_family.proposing.told import ProposalTold


class Parts(Vents):
    """The parts of one catalogue, resolved and built on demand and kept.

    Rows with problems are left out; whoever asks for one of them is told its problems, with file,
    row and column, by an :class:`InputError`.

    Parameters
    ----------
    catalog:
        a catalogue file, or one that was read already

    Raises
    ------
    InputError
        if the catalogue cannot be read
    """

    def __init__(self, catalog: str | PathLike[str] | CatalogFile = "catalog.csv") -> None:
        self._file = with_computed(
            catalog if isinstance(catalog, CatalogFile) else read_catalog(Path(catalog))
        )
        self._folder = None if isinstance(catalog, CatalogFile) else Path(catalog).parent
        self._sources = {s.row.part_number: s for s in self._file.rows}
        self._rows = ResolvedRows(self._file)
        self._contexts = lru_cache(maxsize=32)(self._context)

    @classmethod
    def from_text(cls, text: str) -> Parts:
        """Return the parts of a catalogue given as text.

        Raises
        ------
        InputError
            if no row can be read

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> Parts.from_text(text + "V-N20,round,M20x1.5,draft\\n").part_numbers
        ('V-40', 'V-N20')
        """
        return cls(parse_catalog(text))

    @property
    def part_numbers(self) -> tuple[str, ...]:
        """The part numbers of all readable rows, in the catalogue's order."""
        return tuple(self._sources)

    def _source(self, part_number: str) -> SourcedRow:
        source = self._sources.get(part_number)
        if source is not None:
            return source
        own = [p for p in self._file.problems if p.part_number == part_number]
        raise InputError(own or [no_such_row(part_number, self._sources, self._file.path_name)])

    def _context(self, part_number: str) -> PartContext:
        return PartContext(self.spec(part_number))

    def solids(self, part_number: str) -> VentSolids:
        """Return the exact solids of a part at its datum; mm.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule
        """
        return self.evidence(part_number).solids

    def spec(self, part_number: str) -> VentSpec:
        """Return every dimension of a part, without building a solid.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> text = "part_number,family,size,status,panel_thickness_mm\\n"
        >>> parts = Parts.from_text(text + "V-N20,round,M20x1.5,draft,2\\n")
        >>> spec = parts.spec("V-N20")
        >>> spec.opening.text(), round(spec.section.sight.margin_mm, 2)
        ('round hole, diameter 20.6 mm', 1.36)
        >>> parts.spec("V-N21")
        Traceback (most recent call last):
        ...
        vent_family.base.problems.InputError: catalogue, column part_number: no row has this part
        number (value 'V-N21'). Did you mean V-N20?
        """
        return self._rows.spec(self._source(part_number))

    def installation(self, part_number: str) -> InstallationRecord:
        """Return what a part asks of the wall and of the room in front and behind.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> room = Parts.from_text(text).installation("V-40")
        >>> room.panel_least_mm, room.panel_most_mm, len(room.screws)
        (0.5, 12.0, 2)
        """
        return INSTALLED.record(self.evidence(part_number))

    def panel_mm(self, part_number: str) -> float:
        """Return the thickness of wall, mm, that a part was laid out for.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule
        """
        return self.spec(part_number).panel_thickness_mm

    def members(self, part_number: str, detail: Detail = "exact") -> tuple[FittedBody, ...]:
        """Return what is fitted with a part, the vent first.

        With ``detail`` ``"envelope"`` the vent is its outer form only, and threads are plain.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule
        ValueError
            if there is no such detail

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-N20,round,M20x1.5,released\\n"
        >>> parts = Parts.from_text(text)
        >>> [(m.name, m.data.part_number) for m in parts.members("V-N20")]
        [('vent', 'V-N20'), ('gasket', 'V-N20-gasket'), ('locknut', 'V-N20-locknut')]
        >>> len(parts.vent("V-N20", detail="envelope").Faces()) < 40
        True
        """
        return live_members(self.evidence(part_number), checked_detail(detail))

    def airway(self, part_number: str) -> VentAir:
        """Return the way of the air through a part: its resistance at any flow, in any air.

        No solid is built.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> from vent_family.evidence.air.state import air_at
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> passed = Parts.from_text(text).airway("V-40").flow(25.0, air_at(20.0))
        >>> round(3600.0 * float(passed.flow_m3_s[0]), 1)
        5.8
        """
        return vent_air(self.spec(part_number))

    def bearing(self, part_number: str, lean_deg: float, roll_deg: float) -> Bearing | None:
        """Return whether a part is predicted to do no worse in another posture than its row states.

        ``lean_deg`` and ``roll_deg`` are the mounting's tilt and roll, degrees. Takes a second or
        two, and some more for the largest angles where the answer is no.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule
        """
        spec = self.spec(part_number)
        return judged_bearing(spec, chosen_conditions(spec), lean_deg, roll_deg)

    def table(self, *, water: bool = False) -> pd.DataFrame:
        """Return a table of all parts whose rows resolve, one row a part.

        Columns with their units and meanings are those of
        :data:`vent_family.front.table.COLUMNS`: resolved dimensions, areas, margins and air, and
        with ``water`` what is predicted of water, which takes seconds a part. Units and meanings
        also stand in ``attrs``.

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> table = Parts.from_text(text + "V-N20,round,M20x1.5,draft\\n").table()
        >>> table[["family", "smallest_open_area_mm2", "k_in"]].round(1)
                          family  smallest_open_area_mm2  k_in
        part_number
        V-40         rectangular                   537.4  40.8
        V-N20              round                   172.0   7.7
        >>> table.attrs["units"]["smallest_open_area_mm2"]
        'mm2'
        """
        return part_table(self._rows.specs(), water=water)

    def air(self, part_number: str) -> AirSummary:
        """Return a part's resistance to air and its flow table, at 20 degC and sea level.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> found = Parts.from_text(text).air("V-40")
        >>> round(found.k_in, 1), [round(f.flow_in_m3_h, 1) for f in found.flows]
        (40.8, [3.7, 5.8, 8.3])
        """
        return summarise(self.spec(part_number))

    def cooling(
        self,
        part_number: str,
        cabinet: Cabinet,
        *,
        fan: FanCurve | str | PathLike[str] | None = None,
        outlet: str | None = None,
        **further: Any,
    ) -> Answer:
        """Return whether a cabinet with this vent stays cool, and which vents would do.

        Parameters
        ----------
        part_number:
            the vent the air enters by
        cabinet:
            heat load, surroundings, limit, and what the sun shines on
            (:func:`vent_family.evidence.air.cabinet.sunlit_of`)
        fan:
            a fan, or the CSV file of its curve; ``None`` for natural draught or a closed cabinet
        outlet:
            part number of the vent the air leaves by; the same part if not given
        further:
            as :func:`vent_family.evidence.air.question.question_of` takes it: ``inlets``,
            ``outlets``, ``place``, ``guard_k``, ``filter_pa_s_m``, ``counter_pa``,
            ``draught_height_m``

        Raises
        ------
        InputError
            if a row is missing or breaks a rule, the fan's file cannot be used, or values make no
            sense

        Examples
        --------
        >>> from vent_family.evidence.air.fan_files import parse_fan
        >>> fan = parse_fan("flow_m3_h,pressure_pa\\n0,52\\n20,40\\n48,33\\n80,0\\n", "hall.csv")
        >>> parts = Parts.from_text(
        ...     "part_number,family,size,status\\n"
        ...     "V-60,rectangular,60x60,released\\nV-80,rectangular,80x60,released\\n"
        ... )
        >>> found = parts.cooling("V-60", Cabinet(heat_w=60, ambient_c=25, limit_c=45), fan=fan)
        >>> found.predicted.outcome, round(found.predicted.cooling.inside_c, 1)
        ('holds', 39.4)
        >>> found.sizing.inlets, found.sizing.smallest
        (1, 'V-60')
        """
        curve = fan if fan is None or isinstance(fan, FanCurve) else read_fan(Path(fan))
        leave = None if outlet is None else self.spec(outlet)
        inlet = self.spec(part_number)
        among = self._rows.specs(family=inlet.family, status="released")
        return answer(question_of(inlet, cabinet, outlet=leave, among=among, fan=curve, **further))

    def water(
        self,
        part_number: str,
        exposure: str | None = None,
        face_velocity_m_s: float | None = None,
        extra_depression_pa: float | None = None,
        tilt_deg: float | None = None,
        roll_deg: float | None = None,
        *,
        fan: FanCurve | str | PathLike[str] | None = None,
        fan_position: str | None = None,
        air_direction: str | None = None,
        vents_in_parallel: int | None = None,
        opposite_vent: str | None = None,
        other_openings: str | None = None,
        solved_air: bool = False,
        sweep: bool = False,
    ) -> WaterReport:
        """Return what water is predicted to do to a part, under its row's conditions or others.

        Parameters
        ----------
        part_number:
            the part
        exposure:
            one name or several with / between them
        face_velocity_m_s:
            air that passes in place of a fan's, flow over the open face, m/s
        extra_depression_pa:
            what lowers the pressure over the pool besides the air drawn in, Pa
        tilt_deg:
            lean of the mounting, degrees, positive where the face looks upwards
        roll_deg:
            turn in the opening, degrees, positive clockwise as seen from outside
        fan:
            what moves the air: a fan, the CSV file of its curve, or the name of a packaged one
        fan_position:
            ``intake`` for a fan that moves outside air in, ``outlet`` for one that moves inside air
            out
        air_direction:
            ``in`` for a vent that draws air in while the fan runs, ``out`` for one that lets it out
        vents_in_parallel:
            vents like this one that share the fan; as many stand opposite
        opposite_vent:
            part number of the vents on the other side; the same part if not given
        other_openings:
            where the cabinet's other openings lie when the wind blows on this vent: ``sheltered``,
            ``same_side`` or ``lee_side``
        solved_air:
            whether drops fly in the solved flow, wakes included, instead of potential flow
        sweep:
            whether every lean and roll is judged, which takes several seconds

        Raises
        ------
        InputError
            if there is no such row, it breaks a rule, or the conditions are impossible
        FloatingPointError
            if the flow cannot be solved

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-40,rectangular,40x40,released\\n"
        >>> report = Parts.from_text(text).water("V-40", "dripping", tilt_deg=2.0)
        >>> report.outcome, round(report.exposures[0].drainage.margin_mm, 1)
        ('marginal', 1.5)
        """
        source = self._source(part_number)
        spec = self._rows.spec(source)
        far = None if opposite_vent is None else vent_air(self.spec(opposite_vent))
        other = OtherAir(
            fan=fan if fan is None or isinstance(fan, FanCurve) else read_fan(Path(fan)),
            fan_position=fan_position,
            air_direction=air_direction,
            vents_in_parallel=vents_in_parallel,
            opposite=far,
            face_velocity_m_s=face_velocity_m_s,
            extra_depression_pa=extra_depression_pa,
            other_openings=other_openings,
        )
        conditions = chosen_conditions(
            spec,
            exposure,
            tilt_deg,
            other,
            roll_deg=roll_deg,
            file=self._file.path_name,
            row_number=source.row_number,
        )
        air = solved_flow if solved_air else potential_flow
        return assess(spec, conditions, source=air, sweep=sweep)

    def water_sensitivity(
        self, part_number: str, exposure: str | None = None
    ) -> tuple[Sensitivity, ...]:
        """Return which assumptions move the verdict on water most, exposure by exposure.

        Every house number is set to both ends of its range, one at a time; takes some seconds an
        exposure.

        Parameters
        ----------
        part_number
            the part
        exposure
            one name or several with / between them; by default the row's

        Raises
        ------
        InputError
            if there is no such row, it breaks a rule, or the conditions are impossible
        """
        spec = self.spec(part_number)
        return sensitivity(spec, chosen_conditions(spec, exposure))

    def improve(
        self,
        part_number: str,
        keep: WantedKept | str | None = None,
        *,
        rates: Rates | None = None,
        **further: Any,
    ) -> Improvement:
        """Return cheaper rows around that of a part, as its next revision.

        Takes a minute or two. The catalogue is left as it is.

        Parameters
        ----------
        part_number
            the part
        keep
            what must not get worse, as ``"flow=0.95,water"``; flow, water and fit by default
        rates
            a shop's rates, by default the invented ones
        further
            as :func:`vent_family.proposing.improve.improved` takes it: ``quantity``, ``effort``,
            ``ladders``, ``seed``, ``workers``, ``told``

        Raises
        ------
        InputError
            if there is no such row, it breaks a rule, is retired or does not itself pass, or
            ``keep`` names nothing that can be kept
        """
        # Imported here: what searches takes a while to load.
        from vent_family.proposing.improve import improved
        from vent_family.proposing.keeps import wanted_of

        wanted = wanted_of([keep]) if isinstance(keep, str) else keep
        source = self._source(part_number)
        spec = self.spec(part_number)
        return improved(source.row, spec.attached, wanted, rates=rates, **further)

    def propose(
        self,
        requirement: str | PathLike[str] | Mapping[str, Any],
        *,
        rates: Rates | None = None,
        quick: bool = False,
        seed: int = 1,
        jobs: int | None = None,
    ) -> ProposalTold:
        """Return parts that do what is required, and new rows that would.

        Takes half a minute without water, minutes with a hose; ``quick`` tries fewer rows. Worker
        processes are begun, so that a script must keep to ``if __name__ == "__main__":``.

        Parameters
        ----------
        requirement:
            what a vent must do: the path of a TOML file, or its entries as plain data
        rates:
            a shop's, by default the invented ones
        quick:
            whether fewer rows are tried
        seed:
            the number from which all chance follows
        jobs:
            number of processes, that of the cores by default

        Raises
        ------
        InputError
            if the requirement cannot be used
        """
        # Imported here: the optimiser takes a while to load, and few scripts search.
        from vent_family.proposing.answer import QUICK, answer_requirement
        from vent_family.proposing.enquiry import enquiry_of
        from vent_family.proposing.requirement import read_requirement, requirement_of
        from vent_family.proposing.run import USUAL
        from vent_family.proposing.told import proposal_told

        if isinstance(requirement, Mapping):
            asked, name = requirement_of(requirement), "requirement"
        else:
            asked, name = read_requirement(Path(requirement)), str(requirement)
        rows = [source.row for source in self._file.rows]
        depth = QUICK if quick else USUAL
        enquiry = enquiry_of(asked, self._folder, rates, name)
        return proposal_told(
            answer_requirement(enquiry, rows=rows, depth=depth, seed=seed, workers=jobs)
        )

    def evidence(self, part_number: str, rates: Rates | None = None) -> PartContext:
        """Return a part as all kinds of evidence see it; what is computed is kept.

        ``rates`` are a shop's, by default the invented ones, with which parts are kept.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> from vent_family.evidence.printing.kind import PRINTING
        >>> text = "part_number,family,size,status\\nV-30,rectangular,30x30,released\\n"
        >>> part = Parts.from_text(text).evidence("V-30")
        >>> [check.verdict for check in PRINTING.checks(part)].count("fail")
        0
        >>> round(part.of(PRINTING).vent.mass_g, 1)
        14.1
        """
        if rates is None:
            return self._contexts(part_number)
        return PartContext(self.spec(part_number), rates)

    def cost(self, part_number: str, rates: Rates | None = None) -> CostAnswer:
        """Return what a part costs in every order, both ways to print it, moulded and cut.

        By default at the invented rates.

        Raises
        ------
        InputError
            if there is no such row, or it breaks a rule

        Examples
        --------
        >>> text = "part_number,family,size,status\\nV-30,rectangular,30x30,released\\n"
        >>> answer = Parts.from_text(text).cost("V-30")
        >>> answer.cost.parts_fit, [order.parts for order in answer.cost.orders]
        (30, [1, 100, 1000, 10000])
        """
        return cost_answer(self.evidence(part_number, rates))
