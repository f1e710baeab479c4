"""Tables that hold one entry for each printing material."""

from __future__ import annotations

from typing import Any, Generic, TypeVar

from pydantic import create_model

from vent_family.base.frozen import Frozen
from vent_family.base.materials import MATERIALS

Entry = TypeVar("Entry")


class ByMaterial(Frozen, Generic[Entry]):
    """One entry for each printing material, by its name."""

    def of(self, material: str) -> Entry:
        """Return the entry of a material."""
        found: Entry = getattr(self, material)
        return found


def with_materials(base: Any, module: str, name: str, entry: Any) -> Any:
    """Return a table that demands an entry for every printing material.

    Parameters
    ----------
    base
        what the table has besides, a model
    module, name
        where the table stands and its name there: processes side by side find it by these
    entry
        what each entry is

    Examples
    --------
    >>> prices = with_materials(ByMaterial, __name__, "Prices", float)
    >>> prices(**dict.fromkeys(MATERIALS, 2.5)).of("ASA")
    2.5
    """
    fields: dict[str, Any] = dict.fromkeys(MATERIALS, (entry, ...))
    return create_model(name, __module__=module, __base__=base, __doc__=base.__doc__, **fields)
