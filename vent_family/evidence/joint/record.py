"""The joint with the panel, as it stands in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact


class GasketRecord(Frozen):
    """The gasket, pressed flush into its recess."""

    thickness_mm: Annotated[float, Fact("free thickness", "mm", attribute="gasket_thickness_mm")]
    compressed_mm: Annotated[
        float, Fact("thickness pressed flush", "mm", attribute="gasket_compressed_mm")
    ]
    squeeze: Annotated[float, Fact("share of its thickness", "1", attribute="gasket_squeeze")]
    area_mm2: Annotated[float, Fact("area pressed", "mm2")]
    pressure_mpa: Annotated[float, Fact("assumed pressure that does so", "MPa")]
    stiffness: Annotated[str, Fact("where that comes from")]
    clamp_force_n: Annotated[
        float, Fact("force of all screws, or of the locknut, that does so", "N")
    ]
    torque_n_m: Annotated[
        float,
        Fact(
            "torque on each screw or on the locknut of which creep leaves that force",
            "N m",
            attribute="gasket_torque_n_m",
        ),
    ]
    torque_by_hand_n_m: Annotated[
        float, Fact("torque of a screwdriver, or of a hand on the locknut", "N m")
    ]
    holds_pa: Annotated[
        float,
        Fact(
            "pressure of water that it holds back once its push has relaxed, fixed by hand",
            "Pa",
            attribute="gasket_holds_pa",
        ),
    ]
    holds_new_pa: Annotated[float, Fact("the same new and tightened as stated", "Pa")]


class JointRecord(Frozen):
    """Seal of the fitted vent, and what is open between body and panel."""

    gasket: Annotated[GasketRecord | None, Fact("null: the part has none")]
    overlap_mm: Annotated[
        float,
        Fact(
            "least overlap of the cover over the edge of the opening, its notch included",
            "mm",
            attribute="joint_overlap_mm",
        ),
    ]
    gap_mm: Annotated[
        float | None,
        Fact(
            "widest gap under a bare cover on its panel, flatness of class K of ISO 2768-2; null: a"
            " gasket closes it",
            "mm",
            attribute="joint_gap_mm",
        ),
    ]
    slit_mm2: Annotated[
        float,
        Fact(
            "area of the gap around the body that can be looked straight through once it is fitted",
            "mm2",
            attribute="joint_slit_mm2",
        ),
    ]
    leak_path: Annotated[str, Fact("what keeps water from creeping in", attribute="joint")]
