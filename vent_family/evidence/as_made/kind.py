"""The part as printed as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.base.limits import SLAT_LEFT
from vent_family.evidence.as_made.fits import BOUGHT, OWN, Fit, fits_of
from vent_family.evidence.as_made.made import made_of, nut_of
from vent_family.evidence.as_made.record import AsMadeRecord, FitRecord, as_made_record
from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind
from vent_family.evidence.printing.kind import PRINTING

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class AsMade(Kind[tuple[Fit, ...]]):
    """Do fits, gaps and sight lines hold on what comes off the printer. Told, not refused."""

    name = "as made"
    section = "printing"
    record_type = AsMadeRecord
    binding = False
    heading = "As printed"

    def compute(self, context: PartContext) -> tuple[Fit, ...]:
        """Judge every fit at its worst."""
        spec, shop = context.spec, context.rates.shop
        gap = context.of(PRINTING).walls.gap
        return fits_of(
            spec, made_of(spec, shop), nut_of(spec, shop), None if gap is None else gap.width_mm
        )

    def record(self, context: PartContext) -> AsMadeRecord:
        """Return fits and the shop's shrinkage."""
        return as_made_record(context.spec, context.rates.shop, context.of(self))

    def sentences(self, context: PartContext) -> list[str]:
        """Return every needed fit that does not hold, and what a bought nut needs."""
        fits = context.of(self)
        short = [fit for fit in fits if fit.needed and fit.outcome != "holds"]
        return [f"As printed, {fit.words()}." for fit in short] + nut_words(fits)

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of fits and what it was made with."""
        record = as_made_record(context.spec, context.rates.shop, context.of(self))
        stretched = (
            "STL and 3MF are stretched against it, so that only the scatter is left"
            if record.meshes_compensated
            else "STL and 3MF are as drawn"
        )
        return [
            f"Lengths shrink by {100.0 * record.shrinkage_in_plane:.2g} % in the layers and"
            f" {100.0 * record.shrinkage_in_height:.2g} % across them; {stretched}. Any length may"
            f" be off by {record.scatter_mm:g} mm besides ({context.rates.source}). A fit holds if"
            " it does at its worst, and is marginal if it does only as expected. The limits of"
            " gaps, slats and sight lines are the drawing's, shrunk as the part is; of the"
            f" thinnest slat that may be drawn {100.0 * SLAT_LEFT.value:g} % must be left.",
            "",
            *table(record.as_printed, FitRecord),
            "",
            *nut_words(context.of(self)),
        ]


def nut_words(fits: tuple[Fit, ...]) -> list[str]:
    """Return which nuts go on a neck as printed: none is named to use whose fit does not hold."""
    found = {fit.name: fit for fit in fits}
    if BOUGHT not in found:
        return []
    own, bought = found[OWN].outcome == "holds", found[BOUGHT]
    flanks = (
        f"{bought.least:.2f} to {bought.most:.2f} mm between the flanks,"
        f" {bought.limits[0]:.2f} needed"
    )
    if bought.outcome == "holds":
        fitting = (
            "Its own locknut fits; a bought metal nut of class 6H does, too"
            if own
            else "A bought metal nut of class 6H fits"
        )
        return [f"{fitting} ({flanks})."]
    return [
        f"{'Use its own locknut. ' if own else ''}A bought metal nut of class 6H may bind on the"
        f" neck as printed ({flanks}): run a die over the neck first."
    ]


AS_MADE = AsMade()
