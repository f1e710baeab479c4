"""Classes by which louvres are compared: effectiveness against rain, and discharge.

Definitions and limits are those of EN 13030:2001, from memory; the standard's own text was not
read. Its test sprays 75 L/h on each square metre, driven by a wind of 13 m/s, at a louvre of one
square metre while air is drawn through at core velocities from 0 to 3.5 m/s. Effectiveness is one
less the water that passes the louvre over the water that passes the open plate of the same core
area. What stands here is a prediction for a small part, no test result.
"""

from __future__ import annotations

from typing import Final, Literal

EffectivenessClass = Literal["A", "B", "C", "D"]
DischargeClass = Literal[1, 2, 3, 4]

CORE_VELOCITIES_M_S: Final = tuple(0.5 * k for k in range(8))
"""Core velocities of the test, m/s."""
_EFFECTIVENESS: Final[tuple[tuple[EffectivenessClass, float], ...]] = (
    ("A", 0.99),
    ("B", 0.95),
    ("C", 0.80),
)
_DISCHARGE: Final[tuple[tuple[DischargeClass, float], ...]] = ((1, 0.4), (2, 0.3), (3, 0.2))


def effectiveness(passed_share: float) -> float:
    """Return the effectiveness (1) where this share of the water that arrives gets in.

    The open plate lets in all that arrives.

    Examples
    --------
    >>> effectiveness(0.004), effectiveness(1.2)
    (0.996, 0.0)
    """
    return max(1.0 - passed_share, 0.0)


def effectiveness_class(value: float) -> EffectivenessClass:
    """Return the class of an effectiveness; ``value`` is a share (1).

    Examples
    --------
    >>> [effectiveness_class(e) for e in (0.99, 0.98, 0.95, 0.8, 0.79)]
    ['A', 'B', 'B', 'C', 'D']
    """
    return next((name for name, least in _EFFECTIVENESS if value >= least), "D")


def discharge_class(coefficient: float) -> DischargeClass:
    """Return the class of a discharge coefficient (1) on the core area.

    Examples
    --------
    >>> [discharge_class(c) for c in (0.4, 0.39, 0.25, 0.1)]
    [1, 2, 3, 4]
    """
    return next((name for name, least in _DISCHARGE if coefficient >= least), 4)
