"""All kinds of evidence, in the order in which a part's record and its attributes state them."""

from __future__ import annotations

from typing import Final

from vent_family.evidence.air.kind import AIR
from vent_family.evidence.as_made.kind import AS_MADE
from vent_family.evidence.cost.kind import COST
from vent_family.evidence.fan.kind import FAN
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.evidence.joint.kind import JOINT
from vent_family.evidence.kind import Kinds
from vent_family.evidence.louvre.kind import LOUVRE
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.screen.kind import SCREEN
from vent_family.evidence.solid.kind import AREAS, SLIVERS, SOLID, THREAD
from vent_family.evidence.strength.kind import STRENGTH
from vent_family.evidence.verdicts import VERDICTS
from vent_family.evidence.water.kind import WATER
from vent_family.evidence.ways.kind import BOTH_WAYS

KINDS: Final = Kinds()
KINDS.register(SOLID)
KINDS.register(SLIVERS)
KINDS.register(AREAS)
KINDS.register(AIR)
KINDS.register(THREAD)
KINDS.register(FAN)
KINDS.register(SCREEN)
KINDS.register(INSTALLED)
KINDS.register(PRINTING)
KINDS.register(AS_MADE)
KINDS.register(STRENGTH)
KINDS.register(COST)
KINDS.register(BOTH_WAYS)
KINDS.register(JOINT)
KINDS.register(VERDICTS)
KINDS.register(WATER)
KINDS.register(LOUVRE)
OWN: Final = tuple(KINDS)
"""The package's own kinds."""
