"""A requirement made ready to be judged against: fans read, cabinet checked, rates at hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates, demo_rates
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached, fan_text
from vent_family.catalog.model import DRY, CatalogRow
from vent_family.catalog.parse.numbers import Fault
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.question import Question, question_of
from vent_family.proposing.memory import Made, Memory
from vent_family.proposing.requirement import Requirement
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    from vent_family.proposing.ladder import Candidate, Margin, Rung

TRIAL_NUMBER: Final = "TRIAL"
"""Part number of rows that are only tried."""


class Keep(Protocol):
    """One more constraint of an enquiry, judged on the rungs of the ladder where it is known."""

    @property
    def rungs(self) -> tuple[Rung, ...]:
        """The rungs after which it is judged."""
        ...

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it; the candidate holds what its last rung has found."""
        ...


@dataclass(frozen=True)
class Enquiry:
    """What candidates are judged against.

    ``fans`` holds the stock by name, text and curve; ``rates`` are the shop's. ``keeps`` are
    constraints besides those of the requirement; ``own`` is what all rows name outside themselves,
    where no fan is to be chosen. ``reserve_least`` is the ratio of the strength that the
    weakest member must have to what its check asks for; ``weak`` are names of checks of strength
    that may fail, ``None`` for all. ``memory`` keeps what does not hang on the cabinet for other
    enquiries that differ in theirs alone.
    """

    asked: Requirement
    rates: Rates
    cabinet: Cabinet | None
    fans: Mapping[str, tuple[str, FanCurve]] = field(default_factory=dict)
    keeps: tuple[Keep, ...] = ()
    own: Attached = NOTHING_ATTACHED
    reserve_least: float = 1.0
    weak: frozenset[str] | None = frozenset()
    memory: Memory | None = field(default=None, compare=False, repr=False)

    @property
    def wet(self) -> bool:
        """Whether the vent meets water."""
        return self.asked.water.exposure != DRY

    def once(self, what: str, row: CatalogRow, make: Callable[[], Made]) -> Made:
        """Return what is made of a row whatever the cabinet, with a memory only once.

        ``what`` names it; the answer is in the unit of ``make``.
        """
        return make() if self.memory is None else self.memory.once((what, row), make)

    def attached(self, row: CatalogRow) -> Attached:
        """Return what a candidate row names outside itself."""
        if row.fan is None or row.fan not in self.fans:
            return self.own
        return Attached(fan_text=self.fans[row.fan][0])

    def question(self, spec: VentSpec) -> Question | None:
        """Return the question about the cabinet with this vent on both sides; ``None`` if nothing
        is asked of the cooling.

        Raises
        ------
        InputError
            where the fan does not go into the frame that the vent holds
        """
        if self.cabinet is None:
            return None
        cabinet = self.cabinet
        made = self.once("air", spec.row, lambda: self._question_about(spec, cabinet))
        return made.with_cabinet(cabinet)

    def _question_about(self, spec: VentSpec, cabinet: Cabinet) -> Question:
        air = self.asked.air
        fan = None if spec.row.fan is None else self.fans.get(spec.row.fan)
        closed = not self.fans and air.draught_height_m is None
        return question_of(
            spec,
            cabinet,
            fan=None if fan is None else fan[1],
            place=air.fan_position if self.fans else None,
            inlets=1 if closed else air.vents,
            guard_k=0.0 if closed else air.guard_k,
            filter_pa_s_m=0.0 if closed else air.filter_pa_s_m,
            counter_pa=air.back_pressure_pa,
            draught_height_m=air.draught_height_m,
        )


def enquiry_of(
    asked: Requirement, folder: Path | None = None, rates: Rates | None = None, name: str = ""
) -> Enquiry:
    """Return a requirement made ready.

    Parameters
    ----------
    asked
        the requirement
    folder
        where the catalogue lies, beside which fan files are looked for; ``None`` for none
    rates
        the shop's rates, by default the demo's
    name
        what messages call the requirement

    Raises
    ------
    InputError
        where a fan cannot be had, or the cabinet makes no sense
    """
    fans: dict[str, tuple[str, FanCurve]] = {}
    problems: list[Problem] = []
    for fan in asked.air.fan or ():
        text = fan_text(fan, folder)
        if isinstance(text, Fault):
            problems.append(
                Problem(
                    text.code,
                    text.message,
                    file=name,
                    column="air.fan",
                    place="entry",
                    value=fan,
                    suggestion=text.suggestion,
                )
            )
            continue
        try:
            fans[fan] = (text, parse_fan(text, Path(fan).name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    cabinet = None if asked.cabinet is None else asked.cabinet.cabinet()
    return Enquiry(asked, rates or demo_rates(), cabinet, fans)
