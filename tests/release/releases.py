"""Releases of an invented vent for the tests of register and discipline; nothing is built."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from vent_family.geometry.fingerprint import Fingerprint
from vent_family.release.entry import ReleaseEntry
from vent_family.spec.fit import Sizes

SOLID: Final = Fingerprint(
    faces=336,
    edges=943,
    volume_mm3=14249.945155,
    surface_mm2=21092.917819,
    length_mm=5660.9967245,
    low_mm=(-31.0, -26.0, -23.408831175),
    high_mm=(31.0, 26.0, 2.0),
    centroid_mm=(-0.001324706, 0.301270583, -7.868830973),
    moments_mm5=(3767595.9, 4312221.1, 6253046.4, 161.6, -3.9, -44213.8),
    squares_mm4=12227544.797,
    faces_mm3=(4352592.5593, 4884510.4074, 4283898.9882),
    edges_mm2=(1170614.4519, 1312602.6417, 1150904.056),
)
FIT: Final = Sizes(
    (
        ("opening", "rectangle 40 x 40 mm, holes x/y/diameter -25.5/0/4.5 25.5/0/4.5 mm"),
        ("datum", "outer panel face at Z = 0, +Z outwards"),
        ("envelope", "left/right/bottom/top 31/31/26/26 mm, front 2 mm, back -23.4088 mm"),
        ("panel", "1.5 mm"),
    )
)
DESIGN: Final = Sizes((("slats", "inclined 1.2 x 6.5 mm, pitch 7 mm"), ("banks", "3")))


def release(part_number: str = "HV-R040", **changes: Any) -> ReleaseEntry:
    """Return the first release of an invented part, some of it changed."""
    entry = ReleaseEntry(
        part_number=part_number,
        revision="A",
        issue=1,
        released="2026-03-04",
        change="new",
        material="ASA",
        fit=FIT,
        design=DESIGN,
        designed_volume_mm3=14289.7408,
        row="5821d771613a7041",
        geometry=(("vent", SOLID),),
        evidence="6a4286ea1005696c",
        water="holds",
        content="0123456789ab" * 5 + "0123",
    )
    return replace(entry, **changes)


def gone(part_number: str = "HV-R040", **changes: Any) -> ReleaseEntry:
    """Return the line of a part that was withdrawn."""
    entry = ReleaseEntry(part_number, "A", 1, "2026-05-06", "withdrawn")
    return replace(entry, **changes)


def resized(sizes: Sizes, name: str, words: str) -> Sizes:
    """Return sizes with other words for one of them."""
    assert name in dict(sizes.named)
    return Sizes(tuple((n, words if n == name else w) for n, w in sizes.named))
