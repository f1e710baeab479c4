"""Functions compiled on first use and kept for later runs, where there is room to keep them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Return a decorator that has a function compiled for numbers and arrays.

    Machine code is kept beside the module or in the user's cache folder. Where neither can be
    written, as with a read-only installation and no home, each process compiles anew: slower, and
    with the same results. ``options`` are the compiler's.
    """

    def made(function: Callable[..., Any]) -> Any:
        try:
            return njit(cache=True, **options)(function)
        except RuntimeError:  # no place to keep it
            return njit(**options)(function)

    return made
