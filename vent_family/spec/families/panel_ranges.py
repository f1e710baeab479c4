"""Which thicknesses of cabinet wall the very same vent fits."""

from __future__ import annotations

from vent_family.base.limits import FIT_CLEARANCE, PANEL_MAX, PANEL_MIN, PANEL_PLAY
from vent_family.spec.body import Neck, PanelRange
from vent_family.spec.fan_mount import FanDuct
from vent_family.spec.neck_key import KEY_PANEL_LEFT_MM, NeckKey
from vent_family.spec.screen import ScrewScreen
from vent_family.spec.thread.parts import locknut_size


def gripped(panel_mm: float, grip: str) -> PanelRange:
    """Return the range of a vent that grips a wall of ``panel_mm`` (mm) from both sides.

    ``grip`` says what does so.

    Examples
    --------
    >>> gripped(2.0, "its snap arms")
    PanelRange(least_mm=1.8, most_mm=2.2, why='its snap arms grip a wall of 2 mm')
    """
    play = PANEL_PLAY.value
    return PanelRange(
        round(max(panel_mm - play, PANEL_MIN.value), 6),
        round(min(panel_mm + play, PANEL_MAX.value), 6),
        f"{grip} grip a wall of {panel_mm:g} mm",
    )


def before(
    panel_mm: float, inner_z_mm: float, duct: FanDuct | None, *, screened: bool
) -> PanelRange:
    """Return the range of a block that is screwed on from outside.

    ``panel_mm`` is the wall it was laid out for and ``inner_z_mm`` where the block ends inside,
    z; mm. What is fitted from inside, a fan's frame or a screen's, stands behind the wall.
    """
    if duct is not None:
        most, why = -duct.end_z_mm - FIT_CLEARANCE.value, "the fan's frame stands behind the wall"
    elif screened:
        most, why = -inner_z_mm - FIT_CLEARANCE.value, "the screen slides down behind the wall"
    else:
        most, why = -inner_z_mm, "the block reaches through the wall"
    most = min(max(most, panel_mm), PANEL_MAX.value)
    return PanelRange(PANEL_MIN.value, round(most, 6), why)


def clamped(neck: Neck, screen: ScrewScreen | None, key: NeckKey | None) -> PanelRange:
    """Return the range of a vent whose neck reaches through the wall and its locknut."""
    thread = neck.thread
    behind = 2.0 * thread.pitch_mm
    if screen is not None:
        behind = screen.size.thickness_mm
    most = neck.length_mm - locknut_size(thread).thickness_mm - behind
    least = PANEL_MIN.value if key is None else key.depth_mm + KEY_PANEL_LEFT_MM
    return PanelRange(
        round(max(least, PANEL_MIN.value), 6),
        round(min(most, PANEL_MAX.value), 6),
        f"its neck of {neck.length_mm:g} mm reaches through the wall and the locknut",
    )
