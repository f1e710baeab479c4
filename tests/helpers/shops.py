"""The demo's shop with some of its entries changed."""

from __future__ import annotations

from collections.abc import Mapping

from vent_family.base.shop import Shop, demo_shop


def shop_with(**tables: Mapping[str, float]) -> Shop:
    """Return the demo's shop with entries of its tables changed: ``machine={"bed_z_mm": 30.0}``."""
    demo = demo_shop()
    changed = {name: getattr(demo, name).model_copy(update=own) for name, own in tables.items()}
    return demo.model_copy(update=changed)
