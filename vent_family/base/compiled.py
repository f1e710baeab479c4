"""Functions compiled on first use and kept for later runs, where there is room to keep them.

The compiler is loaded with the first call, not with the module: it takes half a second, and most
commands call nothing of the kind.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import update_wrapper
from typing import Any


class Compiled:
    """A function that is compiled when it is first called.

    Compiled functions call one another by the names in their module; before the first of a module
    runs, all of those names are given what the compiler makes of them.
    """

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        self._function = function
        self._options = options
        self._made: Callable[..., Any] | None = None
        update_wrapper(self, function)

    def __call__(self, *given: Any, **named: Any) -> Any:
        """Call the function, compiled."""
        return self.made()(*given, **named)

    def made(self) -> Callable[..., Any]:
        """Return the compiled function."""
        if self._made is None:
            from numba import njit

            try:
                self._made = njit(cache=True, **self._options)(self._function)
            except RuntimeError:  # no place to keep it
                self._made = njit(**self._options)(self._function)
            seen = self._function.__globals__
            for name, value in list(seen.items()):
                if isinstance(value, Compiled):
                    seen[name] = value.made()
        return self._made


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Return a decorator that has a function compiled for numbers and arrays.

    Machine code is kept beside the module or in the user's cache folder. Where neither can be
    written, as with a read-only installation and no home, each process compiles anew: slower, and
    with the same results. ``options`` are the compiler's.
    """

    def made(function: Callable[..., Any]) -> Any:
        return Compiled(function, options)

    return made
