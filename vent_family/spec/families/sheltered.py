"""Banks outside the trough: what families share whose drain may open downwards behind an apron."""

from __future__ import annotations

from vent_family.spec import defaults
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.shelter import apron_gap_mm


class ShelteredRow(FilledRow):
    """A row that may put outer banks in front of the trough."""

    banks_outside: int

    @property
    def least_gaps_mm(self) -> tuple[float, ...]:
        """Least clear distance (mm) of each two banks: an apron needs room behind outer ones."""
        least = list(super().least_gaps_mm)
        if 0 < self.banks_outside <= len(least):
            least[self.banks_outside - 1] = apron_gap_mm(defaults.APRON_THICKNESS_MM)
        return tuple(least)


def check_banks_outside(row: ShelteredRow, refusals: Refusals) -> None:
    """Refuse banks outside the trough that leave none inside, and to print them standing."""
    most = row.bank_count - 1
    if row.banks_outside > most:
        refusals.refuse(
            "shelter.banks.most",
            "banks_outside",
            f"{row.banks_outside} of {row.bank_count} banks outside the trough leave none inside",
            allowed=f"{most} or fewer of {row.bank_count} banks",
            guesses=({"banks_outside": most}, {"bank_count": row.banks_outside + 1}),
        )
    elif row.banks_outside and row.print_orientation == "upright":
        refusals.refuse(
            "shelter.print.upright",
            "banks_outside",
            "ribs with windows over the floor do not print upright without supports: their lower"
            " edges would hang in the air",
            guesses=({"print_orientation": "face_down"}, {"banks_outside": None}),
        )
