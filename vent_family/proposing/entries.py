"""A requirement with some of its entries changed, made ready anew."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from vent_family.proposing.enquiry import Enquiry


def changed(enquiry: Enquiry, section: str, **entries: Any) -> Enquiry:
    """Return a enquiry of which entries of one section say something else.

    The entries are taken as they are: whoever changes them keeps to what they may say.

    Raises
    ------
    InputError
        if the cabinet makes no sense then

    Examples
    --------
    >>> from vent_family.proposing.requirement import requirement_of
    >>> from vent_family.proposing.enquiry import enquiry_of
    >>> enquiry = enquiry_of(requirement_of({"opening": {"size": "160x120"}}))
    >>> changed(enquiry, "order", price_most=9.5).asked.order.price_most
    9.5
    """
    own = getattr(enquiry.asked, section)
    asked = enquiry.asked.model_copy(update={section: own.model_copy(update=entries)})
    cabinet = None if asked.cabinet is None else asked.cabinet.cabinet()
    return replace(enquiry, asked=asked, cabinet=cabinet)
