"""What water comes at a vent: one table of exposures with their sources.

Test conditions are those of IEC 60529 as public summaries give them; the standard's own text was
not read (from memory unless said otherwise). An exposure describes water, it is not a rating:
nothing here says that a part passes a test.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import GRAVITY_M_S2
from vent_family.base.limits import COMMON_PRACTICE
from vent_family.catalog.model import EXPOSURE_NAMES
from vent_family.evidence.water.drag import terminal_velocity
from vent_family.evidence.water.frontage import Frontage
from vent_family.evidence.water.house import DRIP_FALL, DWELL_MIN, FOOTPRINT, SPREAD, WIND
from vent_family.evidence.water.properties import jet_breakup_drop_mm, pendant_drop_mm

Kind = Literal["rain", "drip", "nozzle"]

DROP_MAX_MM: Final = 6.0
"""Larger drops do not last in air: longest diameter of the terminal velocity table."""
WETTING_S_PER_M2: Final = 60.0
"""Nozzle time per surface of the cabinet, 1 min/m2 (IEC 60529, from memory)."""


@dataclass(frozen=True, slots=True)
class Exposure:
    """One kind of water.

    ``intensity_mm_h`` is the rain on level ground (rain and drip), ``face_flux_l_min_m2`` the water
    on the upright face where a test prescribes that instead; ``flow_l_min``, ``bore_mm``,
    ``footprint_mm`` (diameter of the wetted spot) and ``distance_m`` describe a nozzle.
    ``elevations_deg`` are directions the water comes from, above the horizon; rain gets its own
    from ``wind_m_s``. ``duration_s`` is the whole exposure.
    """

    name: str
    kind: Kind
    title: str
    duration_s: float
    source: str
    test: str
    intensity_mm_h: float = 0.0
    face_flux_l_min_m2: float = 0.0
    wind_m_s: float = 0.0
    flow_l_min: float = 0.0
    bore_mm: float = 0.0
    holes: int = 1
    footprint_mm: float = 0.0
    distance_m: float = 0.0
    elevations_deg: tuple[float, ...] = ()

    @property
    def exit_speed_m_s(self) -> float:
        """Nozzle speed, flow over bore area."""
        if self.kind != "nozzle":
            return 0.0
        area_m2 = self.holes * math.pi * (self.bore_mm * 1e-3) ** 2 / 4.0
        return self.flow_l_min / 60_000.0 / area_m2

    @property
    def coherent(self) -> bool:
        """True for one full jet from a nozzle; many fine holes make a spray of drops."""
        return self.kind == "nozzle" and self.holes == 1

    @property
    def drop_mm(self) -> float:
        """Typical drop: break-up of the jet, or what hangs from a drip nozzle."""
        if self.kind == "nozzle":
            return min(jet_breakup_drop_mm(self.bore_mm), DROP_MAX_MM)
        return min(pendant_drop_mm(self.bore_mm), DROP_MAX_MM)

    def as_dict(self) -> dict[str, Any]:
        """Return the fields that apply, as plain data."""
        data: dict[str, Any] = {
            "name": self.name,
            "title": self.title,
            "duration_s": self.duration_s,
            "deciding_test": self.test,
            "source": self.source,
        }
        if self.kind == "nozzle":
            data |= {
                "flow_l_min": self.flow_l_min,
                "bore_mm": self.bore_mm,
                "footprint_mm": self.footprint_mm,
                "distance_m": self.distance_m,
                "exit_speed_m_s": round(self.exit_speed_m_s, 2),
            }
        else:
            data |= {"intensity_mm_h": self.intensity_mm_h, "wind_m_s": self.wind_m_s}
        return data


_UP: Final = (75.0, 60.0, 45.0, 30.0)
_ROUND: Final = (75.0, 60.0, 45.0, 30.0, 15.0, 0.0, -15.0, -30.0, -45.0, -60.0)
_LAB: Final = "accredited laboratory test to IEC 60529"

EXPOSURES: Final[dict[str, Exposure]] = {
    e.name: e
    for e in (
        Exposure(
            "rain",
            "rain",
            "rain of 10 mm/h with a wind of 5 m/s",
            3600.0,
            "drop spectrum Marshall and Palmer 1948, from memory; intensity and wind house choice",
            "rain test to EN 13030",
            intensity_mm_h=10.0,
            wind_m_s=5.0,
        ),
        Exposure(
            "heavy_rain",
            "rain",
            "cloudburst of 50 mm/h with a wind of 8 m/s",
            1800.0,
            "drop spectrum Marshall and Palmer 1948, from memory; intensity and wind house choice",
            "rain test to EN 13030",
            intensity_mm_h=50.0,
            wind_m_s=8.0,
        ),
        Exposure(
            "driving_rain",
            "rain",
            "75 L/h on each square metre, driven by a wind of 13 m/s",
            3600.0,
            "rate and wind of the rain test of EN 13030:2001, from memory",
            "rain test to EN 13030",
            intensity_mm_h=75.0,
            face_flux_l_min_m2=1.25,
            wind_m_s=13.0,
        ),
        Exposure(
            "dripping",
            "drip",
            "water dripping straight down, 1 mm/min for 10 min",
            600.0,
            "IEC 60529, second numeral 1, from memory; duration read in public summaries",
            f"{_LAB}, second numeral 1",
            intensity_mm_h=60.0,
            bore_mm=0.4,
            elevations_deg=(90.0,),
        ),
        Exposure(
            "dripping_tilted",
            "drip",
            "water dripping at 15 degrees, 3 mm/min for 10 min",
            600.0,
            "IEC 60529, second numeral 2, from memory; duration read in public summaries",
            f"{_LAB}, second numeral 2",
            intensity_mm_h=180.0,
            bore_mm=0.4,
            elevations_deg=(75.0,),
        ),
        Exposure(
            "spraying",
            "nozzle",
            "spray up to 60 degrees from the vertical, 10 L/min",
            300.0,
            "IEC 60529, second numeral 3, hand nozzle; flow read in public summaries, hole size"
            " and distance from memory; wetted spot house assumption",
            f"{_LAB}, second numeral 3",
            flow_l_min=10.0,
            bore_mm=0.4,
            holes=143,
            footprint_mm=300.0,
            distance_m=0.4,
            elevations_deg=_UP,
        ),
        Exposure(
            "splashing",
            "nozzle",
            "splashing from every side, 10 L/min",
            300.0,
            "IEC 60529, second numeral 4, hand nozzle; flow read in public summaries, hole size"
            " and distance from memory; wetted spot house assumption",
            f"{_LAB}, second numeral 4",
            flow_l_min=10.0,
            bore_mm=0.4,
            holes=143,
            footprint_mm=300.0,
            distance_m=0.4,
            elevations_deg=_ROUND,
        ),
        Exposure(
            "jets",
            "nozzle",
            "water jets from every side, 12.5 L/min through 6.3 mm",
            180.0,
            "IEC 60529, second numeral 5; flow, bore, distance and time read in public summaries,"
            " core of the stream from memory",
            f"{_LAB}, second numeral 5",
            flow_l_min=12.5,
            bore_mm=6.3,
            footprint_mm=40.0,
            distance_m=2.5,
            elevations_deg=_ROUND,
        ),
        Exposure(
            "strong_jets",
            "nozzle",
            "strong water jets from every side, 100 L/min through 12.5 mm",
            180.0,
            "IEC 60529, second numeral 6; flow, bore, distance and time read in public summaries,"
            " core of the stream from memory",
            f"{_LAB}, second numeral 6",
            flow_l_min=100.0,
            bore_mm=12.5,
            footprint_mm=120.0,
            distance_m=2.5,
            elevations_deg=_ROUND,
        ),
        Exposure(
            "hose_down",
            "nozzle",
            "cleaning hose, 20 L/min through 6 mm, also from the floor upwards",
            120.0,
            COMMON_PRACTICE,
            f"{_LAB}, second numeral 5",
            flow_l_min=20.0,
            bore_mm=6.0,
            footprint_mm=60.0,
            distance_m=2.0,
            elevations_deg=_ROUND,
        ),
    )
}

assert tuple(EXPOSURES) == EXPOSURE_NAMES


@dataclass(frozen=True, eq=False)
class Beam:
    """Water arriving at the outer plane from one direction, split by drop diameter.

    ``elevation_deg`` is the direction it comes from (for rain that of the median drop),
    ``diameter_mm``, ``w_m_s``, ``v_m_s`` (earth coordinates, w towards +z) and
    ``flux_l_min_m2`` (through the upright plane) have one entry per drop class.
    """

    elevation_deg: float
    diameter_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    flux_l_min_m2: FloatArray


def marshall_palmer_flux(
    intensity_mm_h: float, classes: int = 14, low_mm: float = 0.1, high_mm: float = DROP_MAX_MM
) -> tuple[FloatArray, FloatArray]:
    """Return drop diameters (mm) and their shares of the rain, which add up to the intensity.

    N(D) = 8000 exp(-4.1 R^-0.21 D) per m3 and mm (Marshall and Palmer 1948, J. Meteorol. 5:165,
    from memory), weighted with volume and fall velocity and scaled to the intensity.

    Raises
    ------
    ValueError
        for an intensity of zero or less
    """
    if not intensity_mm_h > 0.0:
        raise ValueError(f"rain intensity must be positive, not {intensity_mm_h:g} mm/h")
    edges = np.geomspace(low_mm, high_mm, classes + 1)
    middle = np.sqrt(edges[:-1] * edges[1:])
    slope = 4.1 * intensity_mm_h**-0.21
    weight = np.exp(-slope * middle) * middle**3 * terminal_velocity(middle) * np.diff(edges)
    return middle, intensity_mm_h * weight / weight.sum()


def nozzle_spectrum(typical_mm: float, classes: int = 5) -> tuple[FloatArray, FloatArray]:
    """Return drop diameters (mm) and mass shares of a Rosin-Rammler spray.

    ``typical_mm`` is the diameter that 63.2 % of the mass stays below; classes hold equal mass.
    """
    middle = (np.arange(classes) + 0.5) / classes
    d = typical_mm * (-np.log(1.0 - middle)) ** (1.0 / SPREAD.now)
    return np.minimum(d, DROP_MAX_MM), np.full(classes, 1.0 / classes)


def beams(exposure: Exposure, face_velocity_m_s: float) -> list[Beam]:
    """Return the water of an exposure arriving at the outer plane.

    Rain and drips get the face velocity on top of their wind, because the fan draws them in (air
    let out holds them off, at most altogether); for nozzles the exit speed is kept all the way (no
    loss on the way counted).
    """
    if exposure.kind == "nozzle":
        d, share = nozzle_spectrum(exposure.drop_mm)
        spot_m2 = math.pi * (exposure.footprint_mm * 1e-3) ** 2 / 4.0
        flux = exposure.flow_l_min / spot_m2
        speed = np.full(d.size, exposure.exit_speed_m_s)
        result = []
        for elevation in exposure.elevations_deg:
            c, s = math.cos(math.radians(elevation)), math.sin(math.radians(elevation))
            result.append(Beam(elevation, d, -speed * c, -speed * s, flux * share * c))
        return result
    if exposure.kind == "drip":
        d = np.array([exposure.drop_mm])
        fall = np.array([math.sqrt(2.0 * GRAVITY_M_S2 * DRIP_FALL.now)])
        rate = np.array([exposure.intensity_mm_h])
        # A tilted box sends its drops in at that angle against the vent.
        level = face_velocity_m_s + fall / math.tan(math.radians(exposure.elevations_deg[0]))
    else:
        d, rate = marshall_palmer_flux(exposure.intensity_mm_h)
        fall = terminal_velocity(d)
        level = np.full(d.size, exposure.wind_m_s + face_velocity_m_s)
    level = np.maximum(level, 0.0)
    flux = rate / 60.0 * level / fall
    if exposure.face_flux_l_min_m2 > 0.0 and flux.sum() > 0.0:
        flux = flux * exposure.face_flux_l_min_m2 / flux.sum()
    mean = float((flux * np.degrees(np.arctan2(fall, level))).sum() / max(flux.sum(), 1e-300))
    return [Beam(mean, d, -np.asarray(level, dtype=float), -fall, flux)]


def time_on_vent_s(exposure: Exposure, front: Frontage, cabinet_m2: float) -> float:
    """Return how long the water comes at the vent itself.

    A nozzle wets the whole cabinet in turn, for the test's least time or 1 min/m2, whichever is
    longer. The vent gets the share of its own area grown by the spot: as long as any of the spot
    meets it, the water is on the vent. It gets ten seconds at least, for whoever holds the nozzle
    lingers at openings.

    Parameters
    ----------
    exposure
        the water
    front
        open face of the vent
    cabinet_m2
        outer surface of the cabinet, m2
    """
    if exposure.kind != "nozzle":
        return exposure.duration_s
    whole_s = max(exposure.duration_s, WETTING_S_PER_M2 * cabinet_m2)
    spot_m = exposure.footprint_mm * 1e-3
    around_m = 2e-3 * (front.floor_width_mm + front.height_mm)
    # Area of all places of the spot's middle at which it meets the vent.
    grown_m2 = front.face_m2 + around_m * spot_m / 2.0 + math.pi * spot_m**2 / 4.0
    return min(whole_s, max(DWELL_MIN.now, whole_s * grown_m2 / cabinet_m2))


def exposure_named(name: str) -> Exposure:
    """Return an exposure of the table, its house numbers as the check reads them now."""
    exposure = EXPOSURES[name]
    if exposure.kind == "nozzle":
        return replace(exposure, footprint_mm=exposure.footprint_mm * FOOTPRINT.now)
    if exposure.face_flux_l_min_m2 > 0.0:
        return exposure
    return replace(exposure, wind_m_s=exposure.wind_m_s * WIND.now)
