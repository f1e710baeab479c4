"""The solved flow between the slats as the air in which drops fly, wakes included."""

from __future__ import annotations

from vent_family.evidence.air.field import drop_air
from vent_family.evidence.water.airfield import AirField
from vent_family.spec.section import Section


def solved_flow(section: Section, face_velocity_m_s: float) -> AirField:
    """Return the mean flow of the 2-D solver laid over the section; an ``AirSource``.

    Solved once per stack and Reynolds number and kept in the user's cache; the first time takes
    some seconds to a minute. Between banks it has the jets and wakes that potential flow has not.

    Raises
    ------
    FloatingPointError
        when the solver cannot resolve the flow
    """
    field = drop_air(section, face_velocity_m_s)
    return AirField(field.z0_mm, field.y0_mm, field.dz_mm, field.dy_mm, field.w_m_s, field.v_m_s)
