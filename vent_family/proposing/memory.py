"""What is worked out of a row, kept from one search to the next that asks the same of it.

Searches of a sweep that differ in their cabinet alone try many rows alike, and all but the cooling
of a row is the same for all of them.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, Final, TypeVar

Made = TypeVar("Made")
MOST: Final = 8000
"""Answers that are kept at once: of about 1,500 rows, some 100 MB."""


class Memory:
    """Answers by what was asked, the ``most`` that were used last (1)."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()

    def once(self, asked: Hashable, make: Callable[[], Made]) -> Made:
        """Return what was made for a question, made now where it is not known.

        The answer is in the unit of ``make``. What is raised is raised each time.

        Examples
        --------
        >>> memory = Memory()
        >>> memory.once("weight", lambda: 3.0), memory.once("weight", lambda: 4.0)
        (3.0, 3.0)
        """
        if asked in self._kept:
            self._kept.move_to_end(asked)
            found: Made = self._kept[asked]
            return found
        made = make()
        self._kept[asked] = made
        if len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return made
