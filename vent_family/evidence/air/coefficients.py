"""The quick loss model of a slat stack: published coefficients, vectorised over many stacks.

Each term is a textbook coefficient from ``fluids`` on the velocity it belongs to, turned into
face velocity heads (face velocity: flow over the stack's whole height and clear width):

- contraction into each bank: ``contraction_sharp`` (Rennels & Hudson 2012) on the free height;
- friction in the passages: laminar plates, 96/Re, or Blasius where that is higher;
- turns: ``bend_miter`` (Rennels & Hudson 2012), by the slant into a slanted bank, by twice the
  slant between banks of alternating slope and at a fold, two of 90 degrees on the gap velocity
  where jets strike the slats of the next bank and split up and down;
- expansion behind each bank: Borda-Carnot's momentum balance, with the jet's slant.

Between slanted banks the jet has no room to spread when the gap is small against the passage:
there contraction and expansion count with the share ``g / (g + w)`` and the turn with the rest.
A jet that strikes the next slat square on loses its whole head. Which slant a slat form has, where
it turns the air and whether its jets strike, the form says (:mod:`vent_family.spec.forms`).

The coefficients were published for pipes at high Reynolds numbers; here they are stretched to
short slits at 50 to 2000. The ratio found with the flow solver corrects their sum (see
:mod:`vent_family.evidence.air.losses`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from fluids.fittings import bend_miter, contraction_sharp

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.spec.forms import SlatForm
from vent_family.spec.stack import Stack

SQUARE_TURN_DEG: Final = 90.0
"""Turn of a jet that strikes a slat square on, and of the air into the drain channel."""
TERMS: Final = ("contraction", "friction", "turns", "expansion")


@dataclass(frozen=True)
class StackBatch:
    """Many stacks as arrays of one length n (``gaps_mm``: n x banks - 1, padded with NaN).

    ``forms`` holds each stack's slat form, ``foot_mm`` the width of the flats in which acute
    corners end, of which the coefficients know nothing; ``changes`` counts the changes of slope
    from bank to bank; ``shift`` is the height shift from bank to bank in pitches (1), ``bay_mm``
    the clear width between ribs, infinity for the plane problem.
    """

    forms: tuple[SlatForm, ...]
    thickness_mm: FloatArray
    pitch_mm: FloatArray
    slat_height_mm: FloatArray
    gaps_mm: FloatArray
    banks: IntArray
    changes: IntArray
    shift: FloatArray
    bay_mm: FloatArray
    foot_mm: FloatArray

    @classmethod
    def of(cls, stacks: Sequence[Stack], bay_mm: float = math.inf) -> StackBatch:
        """Return the arrays of a list of stacks.

        Parameters
        ----------
        stacks
            stacks of any forms and numbers of banks, one at the least
        bay_mm
            clear width between ribs, mm

        Examples
        --------
        >>> inclined = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, -1, 1))
        >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (1, 1))
        >>> batch = StackBatch.of([inclined, flat])
        >>> batch.passage_mm.round(3).tolist(), batch.changes.tolist()
        ([3.096, 3.0], [2, 0])
        >>> batch.gaps_mm.tolist(), batch.mean_gap_mm.tolist()
        ([[3.0, 3.0], [4.0, nan]], [3.0, 4.0])
        """
        most = max(1, *(len(s.gaps_mm) for s in stacks))
        gaps = np.full((len(stacks), most), np.nan)
        for row, s in zip(gaps, stacks, strict=True):
            row[: len(s.gaps_mm)] = s.gaps_mm
        return cls(
            forms=tuple(s.shape for s in stacks),
            thickness_mm=np.array([s.thickness_mm for s in stacks]),
            pitch_mm=np.array([s.pitch_mm for s in stacks]),
            slat_height_mm=np.array([s.slat_height_mm for s in stacks]),
            gaps_mm=gaps,
            banks=np.array([s.bank_count for s in stacks]),
            changes=np.array(
                [sum(a != b for a, b in zip(s.slopes, s.slopes[1:], strict=False)) for s in stacks]
            ),
            shift=np.array([s.shift for s in stacks]),
            bay_mm=np.full(len(stacks), bay_mm),
            foot_mm=np.array([s.foot_mm for s in stacks]),
        )

    def rows(self) -> Iterator[tuple[SlatForm, IntArray]]:
        """Yield each slat form that occurs, with the places of its stacks."""
        for form in dict.fromkeys(self.forms):
            yield form, np.array([i for i, f in enumerate(self.forms) if f is form])

    def by_form(self, value: Callable[[SlatForm, IntArray], FloatArray | float]) -> FloatArray:
        """Return one number per stack, asked of its form with the places of its stacks.

        The numbers are in the unit of ``value``.
        """
        found = np.empty(len(self.forms))
        for form, rows in self.rows():
            found[rows] = value(form, rows)
        return found

    @property
    def passage_mm(self) -> FloatArray:
        """Clear width between two slats of one bank, normal to the flow."""
        p, h, t = self.pitch_mm, self.slat_height_mm, self.thickness_mm
        return self.by_form(lambda form, i: form.passage_mm(p[i], h[i], t[i]))

    @property
    def free_fraction(self) -> FloatArray:
        """Least share of a bank's height left open."""
        p, h, t = self.pitch_mm, self.slat_height_mm, self.thickness_mm
        return self.by_form(lambda form, i: form.free_fraction(p[i], h[i], t[i]))

    @property
    def path_mm(self) -> FloatArray:
        """Length of the passage through one bank, along the flow."""
        h, t = self.slat_height_mm, self.thickness_mm
        return self.by_form(lambda form, i: form.path_mm(h[i], t[i]))

    @property
    def mean_gap_mm(self) -> FloatArray:
        """Mean clear distance between banks; NaN for a single bank."""
        count = np.maximum(self.banks - 1, 1)
        total = np.where(self.banks > 1, np.nansum(self.gaps_mm, axis=1), np.nan)
        return np.asarray(total / count)


@dataclass(frozen=True)
class StackLoss:
    """Loss of each stack in face velocity heads; every array is (n, m) for m Reynolds numbers.

    ``terms`` are named as :data:`TERMS` and sum to ``k``; ``plane_k`` is their sum, in the same
    unit, as if the stack had no ribs; ``correction`` is the ratio by which table and
    three-dimensional solutions corrected it. ``in_range`` tells where the stack lies within the
    calibration table and the Reynolds number within its limits.
    """

    terms: dict[str, FloatArray]
    plane_k: FloatArray
    correction: FloatArray
    in_range: BoolArray

    @property
    def k(self) -> FloatArray:
        """Total loss in face velocity heads, corrected where the caller asked for it."""
        return np.asarray(sum(self.terms.values()))

    def shares(self) -> dict[str, FloatArray]:
        """Return each term's share of the total."""
        total = self.k
        return {name: term / total for name, term in self.terms.items()}


def mitre(angle_deg: float) -> float:
    """Return the loss of a sharp bend by an angle (degrees), in heads of the flow in it.

    ``bend_miter`` (Rennels & Hudson 2012, Pipe Flow, through fluids) at high Reynolds numbers.

    Examples
    --------
    >>> round(mitre(90.0), 3), round(mitre(45.0), 3), mitre(0.0)
    (1.202, 0.304, 0.0)
    """
    return float(bend_miter(angle_deg, Di=1.0, Re=1e5, method="Rennels"))


def smooth_friction(re: FloatArray) -> FloatArray:
    """Return the turbulent friction factor (Darcy) of a smooth passage, 0.3164 over Re^(1/4).

    Blasius 1913. ``re`` is the Reynolds number on the hydraulic diameter. ``fluids.friction`` has
    the same for one number at a time; here thousands are asked for at once.

    Examples
    --------
    >>> smooth_friction(np.array([1e4])).round(5)
    array([0.03164])
    """
    return np.asarray(0.3164 / np.sqrt(np.sqrt(re)))


def plates_friction(aspect: FloatArray) -> FloatArray:
    """Return the laminar friction constant f Re (Darcy, hydraulic diameter) of a rectangular slit.

    ``aspect`` is the ratio of short to long side, 0 for plates; the constant is dimensionless.
    Shah & London 1978, Laminar Flow Forced Convection in Ducts, polynomial from memory; checked in
    the tests against the exact series.

    Examples
    --------
    96 between plates; 56.91 in a square duct (Shah & London 1978), which the polynomial meets to
    0.02:

    >>> plates_friction(np.array([0.0, 1.0])).round(2).tolist()
    [96.0, 56.92]
    """
    a = aspect
    poly = 1 - a * (1.3553 - a * (1.9467 - a * (1.7012 - a * (0.9564 - 0.2537 * a))))
    return np.asarray(96.0 * poly)


def quick_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss by published coefficients alone.

    Parameters
    ----------
    batch
        n stacks
    re
        passage Reynolds number, one number, (m,), or (n, m)

    Returns
    -------
    StackLoss
        terms of the loss, uncorrected; ``in_range`` judges the Reynolds number alone

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> found = quick_loss(StackBatch.of([stack]), 400.0)
    >>> {name: round(float(term[0, 0]), 1) for name, term in found.terms.items()}
    {'contraction': 0.9, 'friction': 1.5, 'turns': 6.7, 'expansion': 4.8}
    """
    re = np.atleast_1d(np.asarray(re, dtype=float))
    if re.ndim == 1:
        re = re[None, :]
    w, p = batch.passage_mm, batch.pitch_mm
    n = batch.banks
    ratio = p / w
    sigma = batch.free_fraction
    gaps = batch.gaps_mm
    strikes = np.array([form.jets_strike for form in batch.forms])
    # Share of a jet's speed that stands square to the face: the sine of its angle to the face.
    square = batch.by_form(lambda form, _: math.sin(math.radians(90.0 - form.slant_deg)))
    # Share of a gap's loss that comes from spreading and gathering rather than from turning.
    spread = np.where(strikes, n - 1.0, np.nansum(gaps / (gaps + w[:, None]), axis=1))
    kc = contraction_sharp(np.ones_like(sigma), np.sqrt(sigma)) / sigma**2
    contraction = kc * (1.0 + spread)

    # Momentum balance of a slanted jet spreading over the face: r^2 - 2 r sin + 1.
    ke = ratio**2 - 2 * ratio * square + 1
    # A jet that strikes the next slat square on keeps none of its head.
    expansion = ke + np.where(strikes, ratio**2, ke) * spread

    turned = np.where(n > 1, 1.0 - spread / np.maximum(n - 1, 1), 0.0)
    into = batch.by_form(lambda form, _: mitre(form.slant_deg))
    about = batch.by_form(lambda form, _: mitre(2 * form.slant_deg))
    between = batch.by_form(
        lambda form, i: form.turns_between(n[i], batch.changes[i]).astype(np.float64)
    )
    folds = batch.by_form(lambda form, _: form.folds)
    with np.errstate(divide="ignore"):
        split = np.nansum((p[:, None] / (2 * gaps)) ** 2, axis=1)
    slanted = into * ratio**2 + about * ratio**2 * (between * turned)
    turns = (
        slanted
        + n * folds * about * ratio**2
        + np.where(strikes, 2 * mitre(SQUARE_TURN_DEG) * split, 0.0)
    )

    length = batch.path_mm
    diameter = np.where(np.isinf(batch.bay_mm), 2 * w, 2 * w / (1 + w / batch.bay_mm))
    re_h = re * (diameter / w)[:, None]
    laminar = plates_friction(w / batch.bay_mm)[:, None] / re_h
    # The diameter between ribs is the smaller, so this holds every turbulent passage.
    re_p = np.broadcast_to(2.0 * re, re_h.shape)
    turbulent = re_p > 2300.0
    smooth = np.zeros(re_h.shape)
    smooth[turbulent] = smooth_friction(re_h[turbulent])
    f = np.where(re_h > 2300.0, np.maximum(laminar, smooth), laminar)
    friction = f * (n * length / diameter * ratio**2)[:, None]
    # Between plates: 96 over Re, and Blasius' power of it.
    between_plates = 96.0 / re_p
    smooth = smooth * (diameter / (2.0 * w))[:, None] ** 0.25
    f = np.where(turbulent, np.maximum(between_plates, smooth), between_plates)
    plane = f * (n * length / (2.0 * w) * ratio**2)[:, None]

    shape = np.broadcast_shapes(friction.shape, re.shape)
    terms = {
        "contraction": np.broadcast_to(contraction[:, None], shape),
        "friction": np.broadcast_to(friction, shape),
        "turns": np.broadcast_to(turns[:, None], shape),
        "expansion": np.broadcast_to(expansion[:, None], shape),
    }
    in_range = np.broadcast_to((re >= AIR_RE_MIN.value) & (re <= AIR_RE_MAX.value), shape)
    plane_k = sum(terms.values()) + (plane - friction)
    return StackLoss(terms, np.asarray(plane_k), np.ones(shape), in_range)
