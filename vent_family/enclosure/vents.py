"""Parts as an enclosure's designer asks for them, from a catalogue or from a published library."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Final

import cadquery as cq

from vent_family.base.materials import PANEL_COLOUR, PANEL_MATERIAL
from vent_family.enclosure.cutter import opening_cutter, piece_of_wall
from vent_family.enclosure.fasteners import fan_of, fasteners_of
from vent_family.enclosure.mates import tagged
from vent_family.enclosure.members import LOCKNUT, VENT, BodyData, Detail, FittedBody, node_name
from vent_family.enclosure.posture import Bearing
from vent_family.enclosure.thickness import checked_thickness
from vent_family.evidence.air.airway import AirPath
from vent_family.evidence.installed.record import InstallationRecord
from vent_family.geometry.locknut import seated_location
from vent_family.release.bodies import body_words

PANEL: Final = "panel"
"""Name of a piece of wall among the members of an assembly."""


class Vents(ABC):
    """The parts of one source.

    Lengths are in mm. Every part has the same datum: the wall's outer face at z = 0, +z outwards,
    +y to TOP, the origin in the opening's centre.
    """

    @property
    @abstractmethod
    def part_numbers(self) -> tuple[str, ...]:
        """The part numbers of all readable parts, in the source's order."""

    @abstractmethod
    def installation(self, part_number: str) -> InstallationRecord:
        """Return what a part asks of the wall and of the room in front and behind.

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        """

    @abstractmethod
    def panel_mm(self, part_number: str) -> float:
        """Return the thickness of wall, mm, that a part was laid out for.

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        """

    @abstractmethod
    def members(self, part_number: str, detail: Detail = "exact") -> tuple[FittedBody, ...]:
        """Return what is fitted with a part, the vent first.

        With ``detail`` ``"envelope"`` the vent is its outer form only, and threads are plain.

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        ValueError
            if there is no such detail
        """

    @abstractmethod
    def airway(self, part_number: str) -> AirPath:
        """Return the way of the air through a part: its resistance at any flow, in any air.

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        """

    def bearing(self, part_number: str, lean_deg: float, roll_deg: float) -> Bearing | None:
        """Return what is predicted of a part in another posture than its row states.

        ``lean_deg`` and ``roll_deg`` (deg) are those of a :class:`~upright.Stance`; ``None`` where
        nothing judges it.
        """
        return None

    def vent(self, part_number: str, *, detail: Detail = "exact") -> cq.Shape:
        """Return the vent's solid at its datum; mm.

        ``detail`` is ``"exact"``, or ``"envelope"`` for its outer form only: a solid of few faces,
        for assemblies of hundreds.

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        ValueError
            if there is no such detail
        """
        return self.members(part_number, detail)[0].shape

    def opening(self, part_number: str, depth_mm: float) -> cq.Compound:
        """Return the tool that cuts the vent's opening from z = 0 down to ``-depth_mm`` (mm).

        Raises
        ------
        InputError
            if there is no such part, or it cannot be had
        ValueError
            if the depth is not above zero
        """
        return opening_cutter(self.installation(part_number), depth_mm)

    def assembly(
        self,
        part_number: str,
        *,
        panel_mm: float | None = None,
        panel: bool = False,
        detail: Detail = "exact",
        name: str = "",
        fasteners: bool = True,
        any_panel: bool = False,
    ) -> cq.Assembly:
        """Return an assembly of vent and what is fitted with it, at the vent's datum.

        Its members are named ``vent``, ``gasket``, ``locknut``, ``screen_frame`` and ``mesh``, as
        far as the part has them, then screws, washers and nuts, and the fan that it holds, as the
        room it takes up, with its screws; part number, revision, material and attributes stand in
        their metadata, and the vent carries the tags of :mod:`vent_family.enclosure.mates`.

        Parameters
        ----------
        part_number
            the part
        panel_mm
            thickness of the wall, mm; by default the one the part was laid out for
        panel
            whether a piece of wall with its opening is part of it
        detail
            ``"exact"``, or ``"envelope"`` for the vent's outer form only, threads plain
        name
            name of the assembly; by default the part number, with underscores
        fasteners
            whether screws, washers, nuts and the fan are part of it
        any_panel
            whether it is put into a wall that it does not suit, too

        Raises
        ------
        InputError
            if there is no such part, it cannot be had, or it does not suit the wall
        ValueError
            if there is no such detail
        """
        room = self.installation(part_number)
        stated = self.panel_mm(part_number)
        wall = stated if panel_mm is None else panel_mm
        if not any_panel:
            checked_thickness(part_number, room, wall)
        result = cq.Assembly(name=name or node_name(part_number))
        bodies = self.members(part_number, detail)
        if fasteners:
            bodies += (*fasteners_of(part_number, room, wall), *fan_of(part_number, room))
        for body in bodies:
            place = body.location
            held = tagged(body.shape, room) if body.name == VENT else body.shape
            if body.name == LOCKNUT and room.nut is not None:
                place = seated_location(room.nut.pitch_mm, -wall)
            result.add(
                held,
                name=node_name(body.name),
                loc=place,
                color=cq.Color(*body.colour),
                metadata=body.data.metadata(),
            )
        if panel:
            result.add(
                piece_of_wall(room, wall),
                name=PANEL,
                color=cq.Color(*PANEL_COLOUR),
                metadata=_piece(part_number).metadata(),
            )
        return result


def _piece(part_number: str) -> BodyData:
    return BodyData(
        f"{part_number}-{PANEL}",
        "",
        body_words(part_number, PANEL),
        PANEL_MATERIAL.name,
        PANEL_MATERIAL.density_g_cm3,
    )
