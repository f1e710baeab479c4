"""What a length comes out as: shrunk by the material, and off by the scatter besides."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.base.shop import Shop
from vent_family.evidence.printing.orientation import AXES
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class Made:
    """How the printed part departs from its drawing.

    ``shares`` are what lengths along x, y and z shrink by, shares of them; ``scatter_mm`` is what
    any length may be off besides, either way.
    """

    shares: tuple[float, float, float]
    scatter_mm: float

    def shrunk(self, drawn_mm: float, axis: int) -> float:
        """Return what a length along an axis is expected to come out as, mm.

        Examples
        --------
        >>> Made((0.005, 0.005, 0.003), 0.1).shrunk(80.0, 0)
        79.6
        """
        return drawn_mm * (1.0 - self.shares[axis])


def made_of(spec: VentSpec, shop: Shop) -> Made:
    """Return how a vent comes off the shop's printers, its meshes scaled or not."""
    return Made(_shares(spec, shop, up_axis(spec)), _scatter(spec, shop))


def up_axis(spec: VentSpec) -> int:
    """Return the axis of the part, 0 to 2 for x, y and z, that stands up from the bed."""
    axis, _ = AXES[spec.print_orientation]
    return axis


def nut_of(spec: VentSpec, shop: Shop) -> Made:
    """Return how its locknut does, which is printed on an end face."""
    return Made(_shares(spec, shop, 2), _scatter(spec, shop))


def mesh_scale(spec: VentSpec, shop: Shop, up: int) -> tuple[float, float, float] | None:
    """Return the factors (1) meshes are stretched by along x, y and z; ``None``: by none.

    ``up`` is the axis that stands up from the bed in the file's own frame.

    Examples
    --------
    >>> from vent_family.base.shop import demo_shop
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="80x60", status="draft")
    >>> shop = demo_shop()
    >>> mesh_scale(resolve(row), shop, 2) is None
    True
    >>> own = shop.model_copy(update={"compensate_meshes": True})
    >>> [round(s, 5) for s in mesh_scale(resolve(row), own, 2)]
    [1.00503, 1.00503, 1.00301]
    """
    if not shop.compensate_meshes:
        return None
    x, y, z = _drawn_shares(spec, shop, up)
    return 1.0 / (1.0 - x), 1.0 / (1.0 - y), 1.0 / (1.0 - z)


def _shares(spec: VentSpec, shop: Shop, up: int) -> tuple[float, float, float]:
    if shop.compensate_meshes:
        # The slicer gets meshes so much larger that only the scatter is left.
        return 0.0, 0.0, 0.0
    return _drawn_shares(spec, shop, up)


def _drawn_shares(spec: VentSpec, shop: Shop, up: int) -> tuple[float, float, float]:
    """Return what a part printed as drawn shrinks by along x, y and z, shares of its lengths."""
    own = shop.shrinkage.of(spec.material.name)
    shares = [own.in_plane] * 3
    shares[up] = own.in_height
    return shares[0], shares[1], shares[2]


def _scatter(spec: VentSpec, shop: Shop) -> float:
    return shop.shrinkage.of(spec.material.name).scatter_mm
