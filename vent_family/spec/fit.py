"""What another part must fit, and how a vent is laid out, as named words that can be compared.

Both are told by the specification alone, so that a changed row is noticed before it is built.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import SAME_SIZE
from vent_family.spec.vent import DATUM, VentSpec

_DECIMALS: Final = 4
_NUMBER: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


class SizesError(ValueError):
    """A text that holds no named sizes; the message says why."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Named sizes in words, in the order in which changes of them are told.

    Examples
    --------
    >>> before = Sizes((("opening", "rectangle 40 x 40 mm"), ("panel", "1.5 mm")))
    >>> before.text()
    'opening=rectangle 40 x 40 mm; panel=1.5 mm'
    >>> before.changes(Sizes.from_text("opening=rectangle 40 x 42 mm; panel=1.5001 mm"))
    ['opening rectangle 40 x 42 mm, before rectangle 40 x 40 mm']
    """

    named: tuple[tuple[str, str], ...]

    def text(self) -> str:
        """Return the sizes in one line; :meth:`from_text` reads it."""
        return "; ".join(f"{name}={words}" for name, words in self.named)

    @classmethod
    def from_text(cls, text: str) -> Sizes:
        """Return the sizes that a text states.

        Raises
        ------
        SizesError
            if a part of it is no name with its words, or a name stands twice
        """
        named: list[tuple[str, str]] = []
        for part in text.split("; ") if text else ():
            name, equals, words = part.partition("=")
            if not (name and equals and words):
                raise SizesError(f"{part!r} is no name with its size")
            if name in dict(named):
                raise SizesError(f"{name!r} stands twice")
            named.append((name, words))
        return cls(tuple(named))

    def changes(self, now: Sizes) -> list[str]:
        """Return in words what differs in sizes that came later."""
        old, new = dict(self.named), dict(now.named)
        found = []
        for name in [*new, *(n for n in old if n not in new)]:
            before, is_now = old.get(name, "none"), new.get(name, "none")
            if not _same(before, is_now):
                found.append(f"{name} {is_now}, before {before}")
        return found


NO_SIZES: Final = Sizes(())


def _same(before: str, now: str) -> bool:
    """Tell whether two texts say the same, their numbers to within what they are written to.

    Examples
    --------
    >>> _same("4.5 mm at -25.5/0", "4.5 mm at -25.5001/0"), _same("4.5 mm", "4.501 mm")
    (True, False)
    """
    if before == now:
        return True
    if _NUMBER.sub("", before) != _NUMBER.sub("", now):
        return False
    pairs = zip(_NUMBER.findall(before), _NUMBER.findall(now), strict=True)
    return all(math.isclose(float(a), float(b), abs_tol=SAME_SIZE.value) for a, b in pairs)


def _mm(*sizes: float, between: str = "/") -> str:
    """Return lengths, mm, to a tenth of a micrometre and without zeros at their ends.

    Examples
    --------
    >>> _mm(40.0, 22.46410162, -0.00001), _mm(80.0, 60.0, between=" x ")
    ('40/22.4641/0', '80 x 60')
    """
    return between.join(f"{round(size, _DECIMALS) + 0.0:.10g}" for size in sizes)


def fit_of(spec: VentSpec) -> Sizes:
    """Return what another part must fit: what is cut, where the origin lies, what stands where.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="round", size="M32x1.5", status="draft")
    >>> for name, words in fit_of(resolve(row)).named[2:5]:
    ...     print(f"{name}: {words}")
    thread: M32x1.5, neck 12 mm, clearance 0.15 mm
    envelope: left/right/bottom/top 31.5/31.5/28.075/32.5 mm, front 32.46 mm, back -12 mm
    panel: 2 mm
    """
    opening, body, section = spec.opening, spec.body, spec.section
    cut = [f"{opening.kind} {_mm(*opening.size_mm, between=' x ')} mm"]
    if opening.corner_max_mm is not None:
        cut.append(f"corners up to {_mm(opening.corner_max_mm)} mm")
    if opening.notch_mm is not None:
        notch = _mm(*opening.notch_mm, between=" x ")
        cut.append(f"notch {notch} mm {opening.notch_words}")
    if opening.holes:
        places = " ".join(_mm(h.x_mm, h.y_mm, h.diameter_mm) for h in opening.holes)
        cut.append(f"holes x/y/diameter {places} mm")
    found = [("opening", ", ".join(cut)), ("datum", DATUM)]
    if body.neck is not None:
        thread = body.neck.thread
        found.append(
            (
                "thread",
                f"{thread.designation}, neck {_mm(body.neck.length_mm)} mm,"
                f" clearance {_mm(thread.clearance_normal_mm)} mm",
            )
        )
    behind = [section.inner_z_mm, body.rib_end_z_mm(section)]
    behind += [] if spec.fan_duct is None else [spec.fan_duct.end_z_mm]
    behind += [] if body.screen is None else [body.screen.back_z_mm]
    found += [
        (
            "envelope",
            f"left/right/bottom/top {_mm(*body.cover.reach_mm)} mm,"
            f" front {_mm(section.front_z_mm)} mm, back {_mm(min(behind))} mm",
        ),
        ("panel", f"{_mm(spec.panel_thickness_mm)} mm"),
    ]
    if body.gasket is not None:
        seal = body.gasket
        found.append(
            (
                "gasket",
                f"{'ring' if seal.is_ring else 'frame'} {_mm(*seal.inner_mm, between=' x ')} in"
                f" {_mm(*seal.outer_mm, between=' x ')} mm, {_mm(seal.thickness_mm)} mm pressed to"
                f" {_mm(seal.recess_mm)} mm",
            )
        )
    if body.snap is not None:
        found.append(("snap arms", f"proud by {_mm(body.snap.proud_mm)} mm"))
    if body.fan_mount is not None:
        frame = body.fan_mount.frame
        found.append(("fan", f"{_mm(frame.side_mm)} mm, holes {_mm(frame.spacing_mm)} mm apart"))
    if body.screen is not None:
        mesh = body.screen.mesh
        words = f"opening {_mm(mesh.opening_mm)} mm, wire {_mm(mesh.wire_mm)} mm"
        found.append(("screen", f"{words}, at {_mm(body.screen.z_mm)} mm"))
    return Sizes(tuple(found))


def design_of(spec: VentSpec) -> Sizes:
    """Return how the vent is laid out: slats, banks, ribs and the lines of its section.

    Everything is at hand once a row is resolved, so asking costs next to nothing.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="40x40", status="draft")
    >>> design_of(resolve(row)).named[0]
    ('slats', 'inclined 1.5 x 6.25 mm, pitch 6.5 mm, feet 0.9 mm')
    """
    stack, section = spec.section.stack, spec.section
    slats = _mm(stack.thickness_mm, stack.slat_height_mm, between=" x ")
    banks = f"{stack.bank_count}, gaps {_mm(*stack.gaps_mm) or 'none'} mm, shift {_mm(stack.shift)}"
    slopes = "-".join("out" if s > 0 else "in" for s in stack.slopes)
    ribs = f"{spec.rib_count} of {_mm(spec.rib_thickness_mm)} mm, bays {_joined(spec.bays)} mm"
    return Sizes(
        (
            (
                "slats",
                f"{stack.form} {slats} mm, pitch {_mm(stack.pitch_mm)} mm, feet"
                f" {_mm(stack.foot_mm)} mm",
            ),
            ("banks", f"{banks}, {slopes}" if stack.shape.slopes_chosen else banks),
            ("ribs", ribs),
            ("lower side z/y", f"{_joined(section.lower)} mm"),
            ("upper side z/y", f"{_joined(section.upper)} mm"),
            ("apron z/y", f"{_joined(section.apron)} mm"),
            ("cut through slats", f"{_mm(sum(_area_mm2(s.outline) for s in section.slats))} mm2"),
            *((name.removesuffix(" mm"), f"{_mm(v)} mm") for name, v in spec.body.facts.items()),
        )
    )


def _joined(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(_mm(*point) for point in points)


def _area_mm2(outline: Iterable[tuple[float, float]]) -> float:
    """Return the area of a closed outline, mm2, by the sum of its cross products."""
    points = list(outline)
    pairs = zip(points, [*points[1:], *points[:1]], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2.0
