"""What comes off the printer, as it stands in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.base.shop import Shop
from vent_family.evidence.as_made.fits import Fit, worst_of
from vent_family.evidence.facts import Fact, Shown, TableColumn
from vent_family.spec.vent import VentSpec


def _meshes(record: AsMadeRecord) -> str:
    """Return in words what STL and 3MF files are."""
    return "stretched against shrinkage" if record.meshes_compensated else "as drawn"


class FitRecord(Frozen):
    """A fit, gap or thickness as printed; numbers in ``unit``."""

    name: Annotated[str, Fact("what fits", column=TableColumn("what"))]
    unit: Annotated[str, Fact("unit of the numbers", column=TableColumn("in"))]
    drawn: Annotated[float, Fact("as drawn", "{unit}", column=TableColumn("drawn", ".2f"))]
    expected: Annotated[
        float, Fact("after shrinkage", "{unit}", column=TableColumn("expected", ".2f"))
    ]
    least: Annotated[
        float, Fact("with the scatter, at least", "{unit}", column=TableColumn("least", ".2f"))
    ]
    most: Annotated[
        float, Fact("with the scatter, at most", "{unit}", column=TableColumn("most", ".2f"))
    ]
    outcome: Annotated[
        str, Fact("holds, marginal (as expected only) or fails", column=TableColumn("outcome"))
    ]
    needed: Annotated[bool, Fact("false: nothing hangs on it")]


class AsMadeRecord(Frozen):
    """What comes off the printer, by the shop's shrinkage and scatter."""

    shrinkage_in_plane: Annotated[float, Fact("share of lengths in the layers", "1")]
    shrinkage_in_height: Annotated[float, Fact("share of lengths across the layers", "1")]
    scatter_mm: Annotated[float, Fact("what any length may be off besides", "mm")]
    meshes_compensated: Annotated[
        bool,
        Fact(
            "STL and 3MF stretched against shrinkage",
            attribute=Shown("meshes", "", of=_meshes),
        ),
    ]
    as_printed: Annotated[list[FitRecord], Fact("fits, gaps and thicknesses as printed")]
    as_printed_outcome: Annotated[
        str,
        Fact(
            "the worst of those the part needs",
            attribute=Shown("as_printed", ""),
            index=Shown("as_printed", ""),
        ),
    ]
    as_printed_words: Annotated[str, Fact("the fit that decides")]


def as_made_record(spec: VentSpec, shop: Shop, fits: tuple[Fit, ...]) -> AsMadeRecord:
    """Return what the record says of a part as printed."""
    own, worst = shop.shrinkage.of(spec.material.name), worst_of(fits)
    return AsMadeRecord(
        shrinkage_in_plane=own.in_plane,
        shrinkage_in_height=own.in_height,
        scatter_mm=own.scatter_mm,
        meshes_compensated=shop.compensate_meshes,
        as_printed=[FitRecord.model_validate(f, from_attributes=True) for f in fits],
        as_printed_outcome=worst.outcome,
        as_printed_words=worst.words(),
    )
