"""Whether a fan, by the frame its file states, goes where a vent holds one."""

from __future__ import annotations

from vent_family.base.limits import FAN_FRAME_PLAY
from vent_family.base.problems import Problem
from vent_family.catalog.attached import Attached
from vent_family.evidence.air.fans import FanCurve
from vent_family.spec.changes import Change, applied, change_words
from vent_family.spec.fan_mount import FRAMES, FanFrame
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec


def goes_into(fan: FanCurve, frame: FanFrame | None) -> bool:
    """Return whether a fan may be of a frame; one whose file states none may be.

    Examples
    --------
    >>> fan = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0), frame_mm=119.0)
    >>> goes_into(fan, FRAMES["120"]), goes_into(fan, FRAMES["92"]), goes_into(fan, None)
    (True, False, True)
    """
    if frame is None or fan.frame_mm is None:
        return True
    return abs(fan.frame_mm - frame.side_mm) <= FAN_FRAME_PLAY.value


def frame_words(fan: FanCurve, frame: FanFrame) -> str:
    """Return what does not go together, for people."""
    return (
        f"the vent holds a fan of {frame.side_mm:g} mm, and the file of {fan.name} states a frame"
        f" of {fan.frame_mm:g} mm"
    )


def frame_problem(vent: VentSpec, fan: FanCurve) -> Problem | None:
    """Return why the fan of a vent's row does not go behind it, ``None`` if it does.

    What is advised was tried on the row.
    """
    mount = vent.body.fan_mount
    if mount is None or goes_into(fan, mount.frame):
        return None
    changes: list[Change] = [{"fan_mount": n} for n, f in FRAMES.items() if goes_into(fan, f)]
    kept = [c for c in (*changes, {"fan_mount": None}) if _resolves(vent, c, vent.attached)]
    words = [change_words(change) for change in kept[:1]]
    words.append(f"name a fan whose file states {mount.frame.side_mm:g} mm")
    return Problem(
        "air.fan.frame",
        frame_words(fan, mount.frame),
        part_number=vent.part_number,
        column="fan_mount",
        value=mount.frame.name,
        suggestion=", or ".join(words),
    )


def _resolves(vent: VentSpec, change: Change, attached: Attached) -> bool:
    return resolved_or_none(applied(vent.row, change), attached) is not None
