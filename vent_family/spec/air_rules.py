"""Rules between the columns that say what moves the air."""

from __future__ import annotations

from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow


def air_columns(row: FilledRow, refusals: Refusals) -> None:
    """Refuse a fan beside a face velocity, and columns that say nothing without a fan."""
    if row.fan is not None:
        if row.face_velocity_m_s is not None:
            refusals.refuse(
                "air.source.twice",
                "face_velocity_m_s",
                "fan and face_velocity_m_s both say how much air passes",
                guesses=({"face_velocity_m_s": None}, {"fan": None}),
            )
        return
    for column in ("fan_position", "vents_in_parallel"):
        if row.given(column):
            refusals.refuse(
                "air.option.idle",
                column,
                "the column says nothing without a fan",
                which=column,
                guesses=({column: None},),
            )
