"""The quick loss model of a slat stack: published coefficients, vectorised over many stacks.

Each term is a textbook coefficient from ``fluids`` on the velocity it belongs to, turned into
face velocity heads (face velocity: flow over the stack's whole height and clear width):

- contraction into each bank: ``contraction_sharp`` (Rennels & Hudson 2012) on the free height;
- friction in the passages: laminar plates, 96/Re, or Blasius where that is higher;
- turns: ``bend_miter`` (Rennels & Hudson 2012), 45 degrees into a slanted bank, 90 degrees
  between banks of alternating slope and at a fold, two of 90 degrees on the gap velocity between
  banks of flat slats, where each jet splits up and down;
- expansion behind each bank: Borda-Carnot's momentum balance, with the jet's slant.

Between slanted banks the jet has no room to spread when the gap is small against the passage:
there contraction and expansion count with the share ``g / (g + w)`` and the turn with the rest.
Between banks of flat slats the jet strikes the next slat and loses its whole head.

The coefficients were published for pipes at high Reynolds numbers; here they are stretched to
short slits at 50 to 2000. ``corrected_loss`` therefore multiplies the sum by the ratio found with
the flow solver (see ``calibration``), and says where a stack lies outside the table.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from fluids.fittings import bend_miter, contraction_sharp

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air import calibration
from vent_family.spec.stack import Form, Stack

FORMS: Final[tuple[Form, ...]] = ("flat", "inclined", "folded")
MITRE_90: Final = float(bend_miter(90.0, Di=1.0, Re=1e5, method="Rennels"))
MITRE_45: Final = float(bend_miter(45.0, Di=1.0, Re=1e5, method="Rennels"))
_R2: Final = math.sqrt(2.0)
NO_GAP: Final = 3.0
"""Gap ratio a single bank counts with: its wake is free, as behind a wide gap."""
TERMS: Final = ("contraction", "friction", "turns", "expansion")


@dataclass(frozen=True)
class StackBatch:
    """Many stacks as arrays of one length n (``gaps_mm``: n x banks - 1, padded with NaN).

    ``changes`` counts the changes of slope from bank to bank; ``bay_mm`` is the clear width
    between ribs, infinity for the plane problem.
    """

    form: IntArray
    thickness_mm: FloatArray
    pitch_mm: FloatArray
    slat_height_mm: FloatArray
    gaps_mm: FloatArray
    banks: IntArray
    changes: IntArray
    overlap_mm: FloatArray
    bay_mm: FloatArray

    @classmethod
    def of(cls, stacks: Sequence[Stack], bay_mm: float = math.inf) -> StackBatch:
        """Return the arrays of a list of stacks."""
        most = max(1, *(len(s.gaps_mm) for s in stacks))
        gaps = np.full((len(stacks), most), np.nan)
        for row, s in zip(gaps, stacks, strict=True):
            row[: len(s.gaps_mm)] = s.gaps_mm
        return cls(
            form=np.array([FORMS.index(s.form) for s in stacks]),
            thickness_mm=np.array([s.thickness_mm for s in stacks]),
            pitch_mm=np.array([s.pitch_mm for s in stacks]),
            slat_height_mm=np.array([s.slat_height_mm for s in stacks]),
            gaps_mm=gaps,
            banks=np.array([s.bank_count for s in stacks]),
            changes=np.array(
                [sum(a != b for a, b in zip(s.slopes, s.slopes[1:], strict=False)) for s in stacks]
            ),
            overlap_mm=np.array([s.overlap_mm for s in stacks]),
            bay_mm=np.full(len(stacks), bay_mm),
        )

    @property
    def passage_mm(self) -> FloatArray:
        """Clear width between two slats of one bank, normal to the flow."""
        flat = self.pitch_mm - self.slat_height_mm
        return np.where(self.form == 0, flat, self.pitch_mm / _R2 - self.thickness_mm)

    @property
    def free_fraction(self) -> FloatArray:
        """Least share of a bank's height left open."""
        flat = 1.0 - self.slat_height_mm / self.pitch_mm
        return np.where(self.form == 0, flat, 1.0 - self.thickness_mm * _R2 / self.pitch_mm)

    @property
    def mean_gap_mm(self) -> FloatArray:
        """Mean clear distance between banks; NaN for a single bank."""
        count = np.maximum(self.banks - 1, 1)
        total = np.where(self.banks > 1, np.nansum(self.gaps_mm, axis=1), np.nan)
        return np.asarray(total / count)


@dataclass(frozen=True)
class StackLoss:
    """Loss of each stack in face velocity heads; every array is (n, m) for m Reynolds numbers.

    ``terms`` are named as :data:`TERMS` and sum to ``k``. ``in_range`` tells where the stack lies
    within the calibration table and the Reynolds number within its limits.
    """

    terms: dict[str, FloatArray]
    correction: FloatArray
    in_range: BoolArray

    @property
    def k(self) -> FloatArray:
        """Total loss, corrected where the caller asked for it."""
        return np.asarray(sum(self.terms.values()))

    def shares(self) -> dict[str, FloatArray]:
        """Return each term's share of the total."""
        total = self.k
        return {name: term / total for name, term in self.terms.items()}


def plates_friction(aspect: FloatArray) -> FloatArray:
    """Return the laminar friction constant f Re (Darcy, hydraulic diameter) of a rectangular slit.

    ``aspect`` is short over long side, 0 for plates. Shah & London 1978, Laminar Flow Forced
    Convection in Ducts, polynomial from memory; checked in the tests against the exact series.
    """
    a = aspect
    poly = 1 - a * (1.3553 - a * (1.9467 - a * (1.7012 - a * (0.9564 - 0.2537 * a))))
    return np.asarray(96.0 * poly)


def quick_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss by published coefficients alone.

    Parameters
    ----------
    re:
        passage Reynolds number, one number, (m,), or (n, m)
    """
    re = np.atleast_1d(np.asarray(re, dtype=float))
    if re.ndim == 1:
        re = re[None, :]
    flat, folded = batch.form == 0, batch.form == 2
    w, p, t, h = batch.passage_mm, batch.pitch_mm, batch.thickness_mm, batch.slat_height_mm
    n = batch.banks
    ratio = p / w
    sigma = batch.free_fraction
    gaps = batch.gaps_mm
    # Share of a gap's loss that comes from spreading and gathering rather than from turning.
    spread = np.where(flat, n - 1.0, np.nansum(gaps / (gaps + w[:, None]), axis=1))
    kc = contraction_sharp(np.ones_like(sigma), np.sqrt(sigma)) / sigma**2
    contraction = kc * (1.0 + spread)

    slant = np.where(flat, 1.0, 1.0 / _R2)
    # Momentum balance of a slanted jet spreading over the face: r^2 - 2 r cos + 1.
    ke = ratio**2 - 2 * ratio * slant + 1
    # A jet from flat slats strikes the next slat square on and keeps none of its head.
    expansion = ke + np.where(flat, ratio**2, ke) * spread

    turned = np.where(n > 1, 1.0 - spread / np.maximum(n - 1, 1), 0.0)
    entry = MITRE_45 * ratio**2
    slanted = entry + MITRE_90 * ratio**2 * (np.where(folded, n - 1, batch.changes) * turned)
    folds = np.where(folded, n * MITRE_90 * ratio**2, 0.0)
    with np.errstate(divide="ignore"):
        split = np.nansum((p[:, None] / (2 * gaps)) ** 2, axis=1)
    turns = np.where(flat, 2 * MITRE_90 * split, slanted + folds)

    length = np.where(
        flat, t, np.where(folded, 2 * _R2 * (h - t * _R2), np.maximum(h * _R2 - t, 0.0))
    )
    diameter = np.where(np.isinf(batch.bay_mm), 2 * w, 2 * w / (1 + w / batch.bay_mm))
    re_h = re * (diameter / w)[:, None]
    laminar = plates_friction(w / batch.bay_mm)[:, None] / re_h
    blasius = 0.3164 * re_h**-0.25
    f = np.where(re_h > 2300.0, np.maximum(laminar, blasius), laminar)
    friction = f * (n * length / diameter * ratio**2)[:, None]

    shape = np.broadcast_shapes(friction.shape, re.shape)
    terms = {
        "contraction": np.broadcast_to(contraction[:, None], shape),
        "friction": np.broadcast_to(friction, shape),
        "turns": np.broadcast_to(turns[:, None], shape),
        "expansion": np.broadcast_to(expansion[:, None], shape),
    }
    in_range = np.broadcast_to((re >= AIR_RE_MIN.value) & (re <= AIR_RE_MAX.value), shape)
    return StackLoss(terms, np.ones(shape), in_range)


def corrected_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss corrected by the solver's table; parameters as :func:`quick_loss`.

    Below the least Reynolds number the correction of that number is kept, above the greatest
    likewise, and ``in_range`` is False.
    """
    raw = quick_loss(batch, re)
    re = np.broadcast_to(np.atleast_1d(np.asarray(re, dtype=float)), raw.correction.shape)
    factor, inside = correction(batch, re)
    terms = {name: term * factor for name, term in raw.terms.items()}
    return StackLoss(terms, factor, raw.in_range & inside)


def correction(batch: StackBatch, re: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return solver over quick model (n, m), and where the stacks lie within the table."""
    factor = np.ones_like(re)
    inside = np.zeros(re.shape, dtype=bool)
    thickness = batch.thickness_mm / batch.pitch_mm
    overlap = batch.overlap_mm / batch.pitch_mm
    gap = batch.mean_gap_mm / batch.passage_mm
    gap = np.where(np.isnan(gap), NO_GAP, gap)
    between = np.maximum(batch.banks - 1, 1)
    usual = (batch.form != 1) | (batch.changes == between) | (batch.banks == 1)
    for code, form in enumerate(FORMS):
        rows = np.nonzero(batch.form == code)[0]
        if not len(rows):
            continue
        factor[rows], covered = calibration.ratio(
            form, thickness[rows], overlap[rows], gap[rows], re[rows]
        )
        inside[rows] = covered & usual[rows, None]
    return factor, inside


def beyond_table(stack: Stack, re: float) -> list[str]:
    """Return in words where a stack or its Reynolds number lies outside the calibrated range."""
    found = []
    if not AIR_RE_MIN.value <= re <= AIR_RE_MAX.value:
        found.append(
            f"passage Reynolds number {re:.0f} is outside {AIR_RE_MIN.value:g} to"
            f" {AIR_RE_MAX.value:g}"
        )
    pitch = calibration.SAMPLE_PITCH_MM[stack.form]
    thin, thick = (t / pitch for t in calibration.SAMPLE_THICKNESS_MM[stack.form])
    slack = calibration.THICKNESS_SLACK
    if not thin / slack <= stack.thickness_mm / stack.pitch_mm <= thick * slack:
        found.append(
            f"thickness over pitch {stack.thickness_mm / stack.pitch_mm:.2f} is outside"
            f" {thin / slack:.2f} to {thick * slack:.2f}"
        )
    overlaps = calibration.OVERLAP_GRID[stack.form]
    overlap = stack.overlap_mm / stack.pitch_mm
    if not overlaps[0] <= overlap <= overlaps[-1]:
        found.append(
            f"overlap over pitch {overlap:.2f} is outside {overlaps[0]:g} to {overlaps[-1]:g}"
        )
    if stack.gaps_mm:
        gaps = calibration.GAP_GRID[stack.form]
        gap = sum(stack.gaps_mm) / len(stack.gaps_mm) / stack.passage_mm
        if not gaps[0] <= gap <= gaps[-1]:
            found.append(f"bank gap over passage {gap:.2f} is outside {gaps[0]:g} to {gaps[-1]:g}")
    if stack.form == "inclined" and any(
        a == b for a, b in zip(stack.slopes, stack.slopes[1:], strict=False)
    ):
        found.append("neighbouring banks slope the same way")
    return found
