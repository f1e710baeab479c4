"""What is asked of a vent, and all of it that is not known exactly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import cast

from vent_family.base.arrays import FloatArray
from vent_family.base.shop import Shop
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.balance import NoBalanceError
from vent_family.evidence.air.operating import NoOperatingPointError
from vent_family.evidence.air.point import HOUR_S
from vent_family.evidence.air.question import Question
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.state import air_at
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.conditions import Conditions, conditions_of
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.robust.inputs import (
    Input,
    ambient_input,
    fan_input,
    loss_input,
    printing_inputs,
    sun_input,
    water_inputs,
    wind_input,
)
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True)
class Case:
    """A vent, what it is to do, and where.

    Parameters
    ----------
    vent
        the vent, as drawn
    shop
        who prints it
    question
        what is asked of the cooling, ``None`` for nothing; its vents of this one's part number are
        taken as printed, others as drawn
    conditions
        the water it meets, with air and mounting
    at_least
        what is to be predicted of every exposure at least
    """

    vent: VentSpec
    shop: Shop
    question: Question | None
    conditions: Conditions
    at_least: Outcome = "holds"

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """Everything that is not known exactly and counts here, in a fixed order."""
        return tuple(self._inputs())

    def values(self, places: FloatArray) -> dict[str, float]:
        """Return the inputs' values, each in its unit, by name; ``places`` (1) one of each."""
        return {
            own.name: float(own.spread.at(float(u)))
            for own, u in zip(self.inputs, places, strict=True)
        }

    def _inputs(self) -> Iterator[Input]:
        question, drive = self.question, self.conditions.drive
        yield from printing_inputs(self.shop.shrinkage.of(self.vent.material.name))
        factors = self._loss_factors()
        if factors is not None:
            yield loss_input(factors)
        water = self.conditions.table
        fan = question is not None and question.fan is not None
        if fan or (water and drive is not None and drive.fan is not None):
            yield fan_input()
        if question is not None:
            yield ambient_input()
            if question.cabinet.sunlit is not None:
                low, high = question.cabinet.sun_range_w
                yield sun_input(low, question.cabinet.sun_w, high)
        blown = question is not None and question.counter_pa != 0.0
        if blown or any(e.kind == "rain" and e.wind_m_s for e in water):
            yield wind_input()
        yield from water_inputs(water)

    def _loss_factors(self) -> tuple[float, float] | None:
        """Return the band's factors (1) on the slats' loss, at the flow of the vent as drawn.

        ``None`` where no air moves.
        """
        question = self.question
        if question is not None and question.mode != "closed":
            try:
                cooling = balance_of(question)
            except (NoOperatingPointError, NoBalanceError):
                pass
            else:
                outside = question.cabinet.outside
                ends = question.system.groups[0].ends_at(
                    cooling.mass_kg_s, outside, outside.at(cooling.inside_c)
                )
                own = question.inlet.stack_factor
                low, high = (cast(VentAir, end).stack_factor / own for end in ends)
                return float(low), float(high)
        calm, vent = self.conditions.calm, self.conditions.vent
        if vent is None or calm.direction == "still" or not self.conditions.exposures:
            return None
        loss = vent.drain_full().loss(calm.flow_m3_h / HOUR_S, air_at(), calm.direction)
        return vent.band(float(loss.re[0]))


def case_of(spec: VentSpec, enquiry: Enquiry) -> Case:
    """Return what a requirement asks of a vent, in the water and air that its row names.

    Raises
    ------
    InputError
        where the row's fan cannot be used, or does not go into the frame that the vent holds
    """
    return Case(
        vent=spec,
        shop=enquiry.rates.shop,
        question=enquiry.question(spec),
        conditions=conditions_of(spec),
        at_least=enquiry.asked.water.at_least,
    )
