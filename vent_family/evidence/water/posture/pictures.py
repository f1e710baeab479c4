"""Picture of a vent's mounting: predicted outcome over roll, all round, and over lean."""

from __future__ import annotations

import math
from typing import Any, Final

from matplotlib.figure import Figure
from matplotlib.patches import Patch

from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.palette import GREEN, INK, ORANGE, RED
from vent_family.evidence.water.posture.mountings import Mounted, MountingSweep
from vent_family.evidence.water.posture.sweep import STEP_DEG

STYLE: Final[dict[Outcome, dict[str, Any]]] = {
    # The hatching tells them apart in grey.
    "holds": {"facecolor": GREEN, "hatch": ""},
    "marginal": {"facecolor": ORANGE, "hatch": "///"},
    "fails": {"facecolor": RED, "hatch": "xxx"},
}
INNER: Final = 0.55


def mounting_picture(part_number: str, sweep: MountingSweep) -> Figure:
    """Return roll as a full circle, upright on top, and lean as a half circle, face up on top."""
    figure = Figure(figsize=(9.0, 6.2), layout="constrained")
    roll = figure.add_subplot(1, 2, 1, projection="polar")
    lean = figure.add_subplot(1, 2, 2, projection="polar")
    for axes in (roll, lean):
        axes.set_ylim(0.0, 1.0)
        axes.set_yticks([])
        axes.grid(visible=False)
        axes.spines["polar"].set_visible(False)
    _roll(roll, sweep)
    _lean(lean, sweep)
    figure.suptitle(f"{part_number}: predicted outcome by mounting\n", fontsize=11)
    handles = [Patch(label=name, edgecolor="white", **style) for name, style in STYLE.items()]
    # Left of the middle, clear of "face down".
    figure.legend(handles=handles, loc="outside lower left", ncols=3, fontsize=9, frameon=False)
    return figure


def _roll(axes: Any, sweep: MountingSweep) -> None:
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    for entry in sweep.rolls:
        # A vent is the same left and right.
        for side in {1.0, -1.0} if 0.0 < entry.roll_deg < 180.0 else {1.0}:
            _wedge(axes, side * entry.roll_deg, entry)
    axes.set_thetagrids(range(0, 360, 45), ["TOP up", "45", "90", "135", "upside down"] + [""] * 3)
    _limit(axes, sweep.largest_roll_deg, (1.0, -1.0))
    axes.set_title(f"turned in its opening\n{_told(sweep.largest_roll_deg)}", fontsize=10, pad=16)


def _lean(axes: Any, sweep: MountingSweep) -> None:
    axes.set_thetamin(-90)
    axes.set_thetamax(90)
    for entry in sweep.leans:
        _wedge(axes, entry.tilt_deg, entry)
    axes.set_thetagrids(
        range(-90, 91, 45), ["face down", "forwards 45", "upright", "back 45", "face up"]
    )
    axes.tick_params(axis="x", pad=14)
    _limit(axes, sweep.largest_lean_back_deg, (1.0,))
    _limit(axes, sweep.largest_lean_forward_deg, (-1.0,))
    back, forward = sweep.largest_lean_back_deg, sweep.largest_lean_forward_deg
    axes.set_title(f"leaning back {_told(back)},\nforwards {_told(forward)}", fontsize=10, pad=16)


def _wedge(axes: Any, angle_deg: float, entry: Mounted) -> None:
    axes.bar(
        math.radians(angle_deg),
        1.0 - INNER,
        width=math.radians(STEP_DEG),
        bottom=INNER,
        edgecolor="white",
        linewidth=1.0,
        **STYLE[entry.outcome],
    )


def _limit(axes: Any, angle_deg: float | None, sides: tuple[float, ...]) -> None:
    if angle_deg is None:
        return
    for side in sides:
        at = math.radians(side * angle_deg)
        axes.plot([at, at], [0.0, 1.0], color=INK, linewidth=1.4)


def _told(angle_deg: float | None) -> str:
    return "holds at no angle" if angle_deg is None else f"holds up to {angle_deg:g} degrees"
