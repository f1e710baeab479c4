"""How finished plates are cleared: by hand while somebody is there, or by the machine itself.

Parts printed upright stand on a narrow foot and can be pushed off a cooled bed by the machine, at
any hour; parts printed face down hold on with their whole face and are taken off by hand (common
practice, no source).
"""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.shop import Shop

_DAY_H: Final = 24.0


def plate_minutes(pushed_off: bool, shop: Shop) -> float:
    """Return the minutes of work on one plate: to clear it and start the next.

    m = s m_unattended + (1 - s) m_hand, s being the share of plates that go without a hand.

    Examples
    --------
    >>> from vent_family.base.shop import demo_shop
    >>> plate_minutes(False, demo_shop())
    3.0
    >>> round(plate_minutes(True, demo_shop()), 6)
    0.75
    """
    labour = shop.labour
    if not pushed_off:
        return labour.plate_min
    s = labour.unattended_share
    return s * labour.plate_min_unattended + (1.0 - s) * labour.plate_min


def hours_for(rounds: int, plate_h: float, pushed_off: bool, shop: Shop) -> float:
    """Return the hours until a machine has done so many plates, one after the other.

    Plates taken off by hand wait until somebody is there; of plates pushed off by the machine a
    share does: t = n t_plate + (1 - s) (t_hand - n t_plate).

    Parameters
    ----------
    rounds
        number of plates, n
    plate_h
        time of one plate, h
    pushed_off
        whether the machine can clear the plate
    shop
        its hours and shares

    Examples
    --------
    Plates of 9 h, somebody being there for 10 h a day: by hand they start at 0, 9 and, since 18 is
    past the tenth hour, at 24, so that three are done at 33; pushed off, nine tenths go on at 9
    and 18, 27 + 0.1 x 6 h:

    >>> from vent_family.base.shop import demo_shop
    >>> hours_for(3, 9.0, False, demo_shop()), round(hours_for(3, 9.0, True, demo_shop()), 6)
    (33.0, 27.6)
    """
    by_hand = hours_by_hand(rounds, plate_h, shop.machine.attended_h_per_day)
    if not pushed_off:
        return by_hand
    at_once = rounds * plate_h
    return at_once + (1.0 - shop.labour.unattended_share) * (by_hand - at_once)


def hours_by_hand(rounds: int, plate_h: float, attended_h: float) -> float:
    """Return the hours until so many plates are done, each started while somebody is there.

    The first starts when the day's work begins; so does every plate that had to wait for it.

    Parameters
    ----------
    rounds
        number of plates
    plate_h
        time of one plate, h
    attended_h
        hours a day in which somebody is there, h

    Examples
    --------
    Plates of 6 h in a day of 10 h: started at 0 and 6, the third on the next morning:

    >>> [hours_by_hand(n, 6.0, 10.0) for n in (1, 2, 3, 4, 5)]
    [6.0, 12.0, 30.0, 36.0, 54.0]
    """
    clock = 0.0
    for n in range(1, rounds):
        clock = n * plate_h
        morning = math.ceil(clock / _DAY_H) * _DAY_H
        if clock % _DAY_H > attended_h:
            # From here on every n plates take as long as the first n did.
            cycles, left = divmod(rounds - 1, n)
            return cycles * morning + (left + 1) * plate_h
    return clock + plate_h if rounds else 0.0
