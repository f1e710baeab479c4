"""What is shown, in a viewer that runs: in the editor, or stand-alone in a browser."""

from __future__ import annotations

import os
import socket
import warnings
from importlib.util import find_spec
from typing import Any, Final

import cadquery as cq

from vent_family.base.problems import InputError, Problem
from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.palette import NAMES
from vent_family.front.view.shown import ShownPart

HOST: Final = "127.0.0.1"
USUAL_PORT: Final = 3939
"""Where a viewer listens if nobody says otherwise."""
PORT_NAME: Final = "OCP_PORT"
"""The variable of the environment by which the viewer's library is told another port."""
INSTALL: Final = "pip install 'vent-family[view]'"
_DISTANCE: Final = 3.0
"""How far off the viewer stands, in sizes of what is shown."""
_FACES: Final = 1.6
"""Without their edges bodies are drawn less clear by so much, or nobody would see them."""
_WAIT_S: Final = 1.0


def missing_package(*names: str) -> Problem | None:
    """Return what to say where a package of the extra ``view`` is missing, ``None`` if none is.

    ``names`` are those of their modules.
    """
    name = next((name for name in names if find_spec(name) is None), None)
    if name is None:
        return None
    return Problem(
        "view.package.missing",
        f"the package {name.replace('_', '-')} is not installed",
        suggestion=f"install it with {INSTALL}, or ask for a --picture, which needs no viewer",
    )


def running_port(port: int | None) -> int:
    """Return the port of the viewer that runs: the one given, or the only one there is.

    Raises
    ------
    InputError
        if no viewer answers, or several do and none was named
    """
    told = port if port is not None else _told_port()
    if told is not None:
        if not _listens(told):
            raise InputError([_none_runs(f"no viewer answers on port {told}")])
        return told
    live = [p for p in _known_ports() if _listens(p)]
    if not live:
        raise InputError([_none_runs("no viewer runs")])
    if len(live) > 1:
        raise InputError(
            [
                Problem(
                    "view.viewer.several",
                    "several viewers run",
                    column="port",
                    allowed=", ".join(map(str, live)),
                    suggestion="say which with --port",
                    place="option",
                )
            ]
        )
    return live[0]


def send(shown: ShownPart, port: int, *, first: bool) -> None:
    """Send what is shown to the viewer at a port; the ``first`` of a kind is seen as it is meant.

    What follows keeps the view that whoever looks at it has chosen.

    Raises
    ------
    InputError
        if the viewer no longer answers
    """
    if not _listens(port):
        raise InputError([_none_runs(f"the viewer on port {port} no longer answers")])
    # Imported here: it loads a kernel's worth of libraries.
    from ocp_viewer_core.websocket import CommsWarning
    from ocp_vscode import Camera, Collapse, Render, set_port, show

    set_port(port, HOST)
    objects: list[Any] = [body.shape for body in shown.bodies]
    objects += [wires(curves) for curves in shown.curves]
    names = [body.name for body in shown.bodies]
    names += [f"{c.name} ({NAMES[c.colour]})" for c in shown.curves]
    colours = [_hex(body.colour) for body in shown.bodies]
    colours += [curves.colour for curves in shown.curves]
    alphas = [min(1.0, _FACES * body.opacity) for body in shown.bodies]
    alphas += [1.0] * len(shown.curves)
    # Edges of what is seen through would hide the curves in it.
    modes = [Render.ALL if body.opacity == 1.0 else Render.FACES for body in shown.bodies]
    modes += [Render.ALL] * len(shown.curves)
    view = _view(shown) if first else {}
    with warnings.catch_warnings():
        # What the library warns of, a viewer that has gone, is told here in one sentence.
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", CommsWarning)
        try:
            show(
                *objects,
                names=names,
                colors=colours,
                alphas=alphas,
                modes=modes,
                up="Y",
                axes0=False,
                collapse=Collapse.ROOT,
                reset_camera=Camera.RESET if first else Camera.KEEP,
                progress="",
                port=port,
                **view,
            )
        except CommsWarning as error:
            raise InputError([_none_runs(f"what listens on port {port} is no viewer")]) from error


def wires(curves: Curves) -> cq.Compound:
    """Return curves as wires of the kernel."""
    return cq.Compound.makeCompound(
        [
            cq.Wire.makePolygon([cq.Vector(*(float(v) for v in point)) for point in line])
            for line in curves.lines
        ]
    )


def _view(shown: ShownPart) -> dict[str, Any]:
    """Return from where the viewer looks."""
    boxes = [body.shape.BoundingBox() for body in shown.bodies]
    low = cq.Vector(*(min(getattr(b, n) for b in boxes) for n in ("xmin", "ymin", "zmin")))
    high = cq.Vector(*(max(getattr(b, n) for b in boxes) for n in ("xmax", "ymax", "zmax")))
    middle = (low + high) * 0.5
    away = cq.Vector(*shown.towards).normalized() * (_DISTANCE * (high - low).Length)
    return {"position": (middle + away).toTuple(), "target": middle.toTuple()}


def _hex(colour: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(255.0 * share):02x}" for share in colour)


def _known_ports() -> list[int]:
    """Return the ports at which viewers have said that they listen, and the usual one."""
    from ocp_viewer_core.state import get_ports

    return sorted({USUAL_PORT, *(int(port) for port in get_ports())})


def _told_port() -> int | None:
    """Return the port that the environment names, if it is one."""
    words = os.environ.get(PORT_NAME, "")
    return int(words) if words.isdigit() and int(words) > 0 else None


def _listens(port: int) -> bool:
    """Return whether somebody listens at a port of this machine."""
    try:
        with socket.create_connection((HOST, port), timeout=_WAIT_S):
            return True
    except OSError:
        return False


def _none_runs(message: str) -> Problem:
    return Problem(
        "view.viewer.none",
        message,
        suggestion="start one with python -m ocp_viewer and open the address it prints, or open"
        " the viewer in the editor; --picture FILE.png needs none",
    )
