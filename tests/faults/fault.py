"""One small fault: where it is planted, by which rule, and what it breaks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

ROOT: Final = Path(__file__).parents[2]
Rule = Literal["factor", "sign", "dropped", "min max", "unit", "column", "off by one"]
Area = Literal[
    "spec", "geometry", "water", "air", "printing", "strength", "cost", "records", "named"
]


class StaleFaultError(ValueError):
    """The old text does not stand exactly once in the fault's module."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault of the standing list.

    ``module`` is a path below ``vent_family``, ``breaks`` says in a line what is wrong then,
    ``old`` stands exactly once in the module and ``new`` takes its place. ``equivalent`` argues
    why no result changes; such a fault is kept but not counted.
    """

    id: str
    area: Area
    module: str
    rule: Rule
    breaks: str
    old: str
    new: str
    equivalent: str = ""

    def path(self, root: Path = ROOT) -> Path:
        """Return the file the fault is planted in, in a checkout."""
        return root / "vent_family" / self.module

    def planted(self, text: str) -> str:
        """Return a module's text with the fault.

        Raises
        ------
        StaleFaultError
            when the old text stands there more than once or not at all
        """
        if text.count(self.old) != 1:
            raise StaleFaultError(
                f"{self.id}: {self.old!r} stands {text.count(self.old)} times in {self.module}"
            )
        return text.replace(self.old, self.new)
