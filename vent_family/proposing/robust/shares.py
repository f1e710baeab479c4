"""Which inputs make how much of a quantity's spread: Sobol shares, by SALib.

The first share of an input is what of the variance would go if it were known exactly, its total
share what would be left if all others were (Saltelli et al. 2010, Comput. Phys. Commun. 181:259,
from memory). Totals count a play of two inputs for both.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray

BASE: Final = 1024
"""Points of the sequence that the samples are made from, a power of two."""
SURE: Final = 0.95


@dataclass(frozen=True, slots=True)
class SobolShare:
    """What an input makes of a quantity's variance.

    ``first`` and ``total`` are its shares (1), ``first_off`` and ``total_off`` (1) what either may
    be off by, in 95 of 100 samples.
    """

    name: str
    first: float
    first_off: float
    total: float
    total_off: float


def sobol_shares(
    quantity: Callable[[FloatArray], FloatArray],
    names: Sequence[str],
    *,
    seed: int,
    base: int = BASE,
) -> tuple[SobolShare, ...]:
    """Return the shares of all inputs, the largest total first.

    Parameters
    ----------
    quantity
        what a quantity comes to at places (1) in the inputs' ranges, (n, inputs) to (n,)
    names
        the inputs' names
    seed
        from which samples are drawn
    base
        points of the sequence, a power of two; the quantity is asked for (inputs + 2) times as many

    Examples
    --------
    >>> found = sobol_shares(lambda u: 3.0 * u[:, 0] + u[:, 1], ["a", "b"], seed=1)
    >>> [(share.name, round(share.first, 2)) for share in found]
    [('a', 0.9), ('b', 0.1)]
    """
    # Imported here: it takes a while to load, and only this asks for it.
    from SALib.analyze import sobol
    from SALib.sample import sobol as sampling

    problem = {"num_vars": len(names), "names": list(names), "bounds": [[0.0, 1.0]] * len(names)}
    places = sampling.sample(problem, base, calc_second_order=False, seed=seed)
    values = np.asarray(quantity(places), dtype=float)
    found = sobol.analyze(
        problem, values, calc_second_order=False, conf_level=SURE, seed=seed, print_to_console=False
    )
    columns = (found[key] for key in ("S1", "S1_conf", "ST", "ST_conf"))
    shares = (
        SobolShare(name, *(float(v) for v in row))
        for name, row in zip(names, zip(*columns, strict=True), strict=True)
    )
    return tuple(sorted(shares, key=lambda s: -s.total))
