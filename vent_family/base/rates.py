"""Whose rates a part was priced with: the table, where it comes from, and its fingerprint."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from vent_family.base.shop import Shop, demo_shop, read_shop

DEMO_RATES: Final = "demo rates, invented"
"""Where the rates come from that come with the package."""
_DIGITS: Final = 16


@dataclass(frozen=True, slots=True)
class Rates:
    """A shop's settings, rates and speeds, and where they come from in a few words."""

    shop: Shop
    source: str

    @property
    def fingerprint(self) -> str:
        """First 16 hex digits of the SHA-256 of the table's values, by name, as JSON.

        Comments, order and the way numbers are written leave it alone.

        Examples
        --------
        >>> rates = demo_rates()
        >>> dearer = rates.shop.price.model_copy(update={"margin": 0.3})
        >>> own = Rates(rates.shop.model_copy(update={"price": dearer}), "own.toml")
        >>> len(own.fingerprint), own.fingerprint == rates.fingerprint
        (16, False)
        """
        content = self.shop.model_dump(mode="json")
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()[:_DIGITS]

    def as_dict(self) -> dict[str, str]:
        """Return where the rates come from and their fingerprint, as records state them."""
        return {"table": self.source, "table_hash": self.fingerprint}


def demo_rates() -> Rates:
    """Return the rates that come with the package."""
    return Rates(demo_shop(), DEMO_RATES)


def rates_of(path: Path | None) -> Rates:
    """Return the rates of a file, known by its name whatever its folder; the demo's without one.

    Raises
    ------
    InputError
        if the file cannot be read or used; all faults at once
    """
    return demo_rates() if path is None else Rates(read_shop(path), path.name)
