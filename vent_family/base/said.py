"""Numbers as people are told them: each quantity has one text, on pages, sheets and terminals.

Lengths have two decimals at most, as drawn; what is predicted has three figures; masses have one
decimal, so that those of a part's members add up.
"""

from __future__ import annotations


def said(value: float, decimals: int = 2) -> str:
    """Return a ``value``, in any unit, with so many decimals at most, without idle zeros.

    Examples
    --------
    >>> said(23.4088), said(62.0), said(-0.001), said(1200.0, 0)
    ('23.41', '62', '0', '1200')
    """
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def three(value: float) -> str:
    """Return a predicted ``value``, in any unit, with three figures or all before the point.

    Examples
    --------
    >>> three(5.74134), three(658.9), three(1234.56), three(0.0602345), three(0.0)
    ('5.74', '659', '1235', '0.0602', '0')
    """
    return said(value, 0) if abs(value) >= 1000.0 else said(float(f"{value:.3g}"), 6)


def rounded_off(value: float) -> str:
    """Return a ``value``, in any unit, without decimals.

    Examples
    --------
    >>> rounded_off(245.6), rounded_off(-0.2)
    ('246', '0')
    """
    return said(value, 0)


def grams(mass_g: float) -> str:
    """Return a mass, g, as people are told it.

    Examples
    --------
    >>> grams(147.25), grams(47.0)
    ('147.2', '47.0')
    """
    return f"{mass_g:.1f}"


def within(value: float, low: float, high: float) -> str:
    """Return a predicted ``value`` with its ends ``low`` and ``high``, in any unit, all in one.

    Examples
    --------
    >>> within(7.452, 6.1, 9.004)
    '7.45 (6.1 to 9)'
    """
    return f"{three(value)} ({three(low)} to {three(high)})"
