"""The joint with the panel as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.base.said import three
from vent_family.evidence.facts import facts_table
from vent_family.evidence.joint.record import JointRecord
from vent_family.evidence.joint.report import joint_of
from vent_family.evidence.kind import Kind
from vent_family.evidence.result import CheckResult

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Joint(Kind[JointRecord]):
    """Does water get in between the fitted vent and its panel."""

    name = "joint"
    section = "joint"
    record_type = JointRecord
    binding = False
    heading = "Joint with the panel"

    def compute(self, context: PartContext) -> JointRecord:
        """Return gasket, clamping and what is open."""
        return joint_of(context.spec)

    def record(self, context: PartContext) -> JointRecord:
        """Return the joint."""
        return context.of(self)

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return whether the fitted vent can be looked past; it is told, and binds nobody."""
        found = context.of(self)
        return (
            CheckResult(
                "joint: no straight path beside the fitted body",
                "fail" if found.slit_mm2 > 0.0 else "pass",
                found.leak_path,
                found.slit_mm2,
                0.0,
                "mm2",
            ),
        )

    def sentences(self, context: PartContext) -> list[str]:
        """Return how to clamp it, and what is open."""
        found = context.of(self)
        told = f"Joint with the panel: {found.leak_path}."
        if found.gasket is None:
            return [told]
        seal = found.gasket
        enough = seal.torque_by_hand_n_m >= seal.torque_n_m
        by_hand = f"{three(seal.torque_by_hand_n_m)} N m by hand {'do' if enough else 'do not do'}"
        return [
            f"{told} It is pressed from {seal.thickness_mm:g} to {seal.compressed_mm:g} mm,"
            f" {100.0 * seal.squeeze:.0f} %, by {seal.clamp_force_n:.0f} N in all: tighten to"
            f" {three(seal.torque_n_m)} N m or more, of which creep leaves enough ({by_hand})."
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the joint's facts, the gasket's below them."""
        found = context.of(self)
        gasket = [] if found.gasket is None else ["", *facts_table(found.gasket)]
        return [*facts_table(found), *gasket]


JOINT = Joint()
"""The joint with the panel."""
