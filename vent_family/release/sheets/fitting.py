"""How a part is fitted, step by step; every number from its record or the table of limits."""

from __future__ import annotations

from vent_family.base.limits import SCREW_TORQUE
from vent_family.base.said import said, three
from vent_family.release.sheets.words import Told, oversize_words
from vent_family.spec.thread.parts import locknut_size
from vent_family.spec.vent import VentSpec


def fitting_steps(record: Told, spec: VentSpec) -> list[str]:
    """Return the steps in which a part is fitted."""
    return [
        _cut(record),
        f"Right way up: the mark on the front ({record['geometry']['marked_outside']}) says where"
        " TOP is; the drain points down. Upside down the drain is a way in for water.",
        *_seal(record),
        *_ready(spec),
        *_fixed(record, spec),
        *_behind(record),
        "Keep slats and drain clean: dust, leaves, nests, snow and ice block them.",
    ]


def _cut(record: Told) -> str:
    opening = record["opening"]
    text = f"Opening: {opening['text']}, in a panel of {said(opening['panel_thickness_mm'])} mm;"
    text += f" {oversize_words(opening['oversize_max_mm'])}"
    radius = opening["corner_radius_max_mm"]
    if radius is not None:
        text += f"; corners sharp or up to R{said(radius)}"
    return text + ". Take off burrs, protect the bare edge against rust."


def _ready(spec: VentSpec) -> list[str]:
    if spec.print_orientation != "upright":
        return []
    return ["Push the vent in lifted, let it down: it hooks onto the panel's lower edge."]


def _seal(record: Told) -> list[str]:
    gasket = record["joint"]["gasket"]
    if gasket is None:
        path = record["joint"]["leak_path"]
        return [f"{path[0].upper()}{path[1:]}."]
    return [
        f"Lay the gasket, {said(gasket['thickness_mm'])} mm thick, into its recess; it is pressed"
        f" to {said(gasket['compressed_mm'])} mm, by {said(100.0 * gasket['squeeze'], 0)} %. The"
        " panel must be flat and clean there."
    ]


def _fixed(record: Told, spec: VentSpec) -> list[str]:
    gasket, holes, neck = record["joint"]["gasket"], spec.opening.holes, spec.body.neck
    if neck is not None:
        nut = locknut_size(neck.thread).across_flats_mm
        low, high = record["geometry"]["box_min_mm"][0], record["geometry"]["box_max_mm"][0]
        levelling = record["thread"]["levelling"]
        printed = record["printing"]
        return [
            f"{levelling[0].upper()}{levelling[1:]}. Spanner {said(nut)} mm on the locknut,"
            f" {said(high - low)} mm on the head's flats.",
            f"Tighten the locknut by hand, to {three(printed['neck_tightened_to_n_m'])}"
            f" N m{_torque(gasket)}; the neck is predicted to break at"
            f" {three(printed['neck_breaks_at_n_m'])} N m.",
        ]
    if holes:
        hand = SCREW_TORQUE.value * holes[0].screw_mm * 1e-3
        return [
            f"{len(holes)} screws {holes[0].screw} with washers through holes of"
            f" {said(holes[0].diameter_mm)} mm, tightened crosswise by screwdriver, to about"
            f" {three(hand)} N m{_torque(gasket)}."
        ]
    if spec.body.snap is not None:
        out = record["printing"]["pulled_out_at_n"]
        return [
            "Press both sides until the arms snap in behind the panel; a pull of"
            f" {three(out)} N is predicted to draw it out."
        ]
    return []


def _torque(gasket: Told | None) -> str:
    if gasket is None:
        return ""
    if gasket["torque_by_hand_n_m"] >= gasket["torque_n_m"]:
        return f" (the gasket needs {three(gasket['torque_n_m'])} N m or more)"
    return (
        f" (by which the gasket holds {three(gasket['holds_pa'] / 1000.0)} kPa for years; all of"
        f" its squeeze would take {three(gasket['torque_n_m'])} N m)"
    )


def _behind(record: Told) -> list[str]:
    found = []
    screen, fan = record["screen"], record["fan_mount"]
    if screen is not None:
        found.append(f"Insect screen: {screen['sheet']}; {screen['held_by']}.")
    if fan is not None:
        found.append(f"Fan of {said(fan['frame_mm'])} mm, screws {fan['screw']}: {fan['fitting']}.")
        caution = fan["caution"]
        found.append(f"{caution[0].upper()}{caution[1:]}.")
    return found
