"""The entries of a requirement's file as a reference, made from the model that reads them."""

from __future__ import annotations

from typing import Any, Final, Literal, get_args, get_origin

from pydantic import BaseModel

from vent_family.evidence.outcomes import RANK
from vent_family.proposing.requirement import Requirement

WORDS: Final[dict[str, str]] = {
    "name": "what messages, pictures and the description of an added row call it",
    "opening.size": "one size or several to choose from, as in the catalogue: `160x120`, `M32x1.5`",
    "opening.at_most": "instead of size: the largest opening; smaller ones are tried, too",
    "opening.families": "families that may be used; all that the opening takes if left out",
    "opening.panel_thickness_mm": "thickness of the cabinet's wall, mm",
    "opening.in_front_most_mm": "room in front of the wall's outer face, mm",
    "opening.behind_most_mm": "room behind that face, mm",
    "cabinet.heat_w": "heat that arises inside, W",
    "cabinet.ambient_c": "outside temperature, degC",
    "cabinet.limit_c": "highest air temperature inside, degC",
    "cabinet.altitude_m": "height above the sea, m",
    "cabinet.wall_w_k": "what the walls pass, W for each K",
    "cabinet.sunlit_m2": "surface that the sun shines on, m2",
    "cabinet.colour": "colour of that surface, as in `vent-family air`",
    "cabinet.absorptance": "instead of colour: the share of sunlight it takes up",
    "cabinet.irradiance_w_m2": "sunlight on it, W/m2",
    "air.fan": "one fan or the stock to choose from: packaged curves, or CSV files beside the"
    " catalogue",
    "air.fan_position": "`intake` or `outlet`",
    "air.vents": "vents side by side on either side of the cabinet",
    "air.draught_height_m": "instead of a fan: height from the lower vents to the upper ones, m",
    "air.guard_k": "resistance of a guard, in dynamic pressures",
    "air.filter_pa_s_m": "resistance of a filter mat, Pa for each m/s",
    "air.back_pressure_pa": "pressure that the fan works against besides, Pa",
    "air.other_openings": "where the cabinet's other openings lie in the wind",
    "water.exposure": "water that the vent meets, as in the catalogue: `rain`, `rain/hose_down`,"
    " `dry`",
    "water.at_least": "what must be predicted of it at least",
    "water.tilt_deg": "lean of the mounting, degrees",
    "water.roll_deg": "turn in the opening, degrees",
    "water.surface_m2": "the cabinet's surface that a nozzle wets in turn, m2",
    "order.quantity": "pieces in the order, by which prices go",
    "order.price_most": "what one may cost, in the shop's money",
    "order.material": "one material or several to choose from",
    "order.print_orientation": "one way to print or both",
    "order.colour": "colour of the plastic",
    "cells": "cells of the catalogue, by column, that every row must have as they are",
}
"""What each entry means."""


def requirement_reference() -> str:
    """Return tables of all sections and entries, in Markdown."""
    lines: list[str] = []
    for section, kind in sections().items():
        lines += [f"### `[{section}]`" if section else "### At the top", ""]
        lines += ["| Entry | Without it | Meaning |", "| --- | --- | --- |"]
        for name, field in kind.model_fields.items():
            path = f"{section}.{name}" if section else name
            if path in sections():
                continue
            words = WORDS[path] + _choices(field.annotation)
            default = "" if section or name != "cells" else "none"
            default = default or _default(field, path)
            lines.append(f"| `{name}` | {default} | {words} |")
        lines.append("")
    return "\n".join(lines).strip()


def sections() -> dict[str, type[BaseModel]]:
    """Return the sections of a requirement's file by name, "" for what stands at the top."""
    found: dict[str, type[BaseModel]] = {"": Requirement}
    for name, field in Requirement.model_fields.items():
        for kind in (field.annotation, *get_args(field.annotation)):
            if isinstance(kind, type) and issubclass(kind, BaseModel):
                found[name] = kind
    return found


def _default(field: Any, path: str) -> str:
    if field.is_required():
        return "must be there"
    value = field.default
    if value is None:
        return "`size` must be there" if path == "opening.at_most" else "left open"
    if isinstance(value, tuple):
        value = ", ".join(value)
    return f"`{value:g}`" if isinstance(value, float) else f"`{value}`" if value != "" else "blank"


def _choices(kind: Any) -> str:
    """Return the words that an entry takes, where it takes but a few."""
    if get_origin(kind) is Literal and set(get_args(kind)) == set(RANK):
        return f": {', '.join(f'`{word}`' for word in get_args(kind))}"
    return ""
