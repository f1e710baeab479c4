"""Conditions with operating points stated as they are, for studies of water alone."""

from __future__ import annotations

from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.water.conditions import Conditions


def stated_point(face_velocity_m_s: float = 1.5, depression_pa: float = 20.0) -> OperatingPoint:
    """Return a point with this face velocity (m/s) and depression over the pool (Pa)."""
    return OperatingPoint(
        source="face velocity",
        direction="in" if face_velocity_m_s > 0 else "out" if face_velocity_m_s < 0 else "still",
        flow_m3_h=0.0,
        flow_low_m3_h=0.0,
        flow_high_m3_h=0.0,
        face_velocity_m_s=face_velocity_m_s,
        depression_pa=depression_pa,
        depression_low_pa=depression_pa,
        depression_high_pa=depression_pa,
        fan_pa=depression_pa,
        wind_pa=0.0,
        extra_pa=0.0,
        opening_depression_pa=depression_pa,
    )


def stated_conditions(
    exposure: str,
    face_velocity_m_s: float = 1.5,
    depression_pa: float = 20.0,
    tilt_deg: float = 0.0,
) -> Conditions:
    """Return conditions of one exposure or several with / between them; m/s, Pa, degrees."""
    names = () if exposure == "dry" else tuple(exposure.split("/"))
    point = stated_point(face_velocity_m_s, depression_pa)
    return Conditions(names, point, ((point,),) * len(names), tilt_deg)
