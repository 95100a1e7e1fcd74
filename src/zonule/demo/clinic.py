"""A seeded, invented clinic: a year of operated eyes, today's list, and a day to come."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from zonule.case.eye import Eye
from zonule.case.lens import LensModel
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, Seat
from zonule.case.refraction import Refraction
from zonule.case.toric import MarkingName
from zonule.demo.astigmatism import INCISION_WIDTH_MM, DemoAstigmatism, drawn_astigmatism
from zonule.demo.lenses import CATALOGUE, HAREBELL, HAREBELL_TORIC, LENSES
from zonule.demo.measured_eye import measured_eye, with_length_read_wrong, with_unknown_history
from zonule.demo.people import SURGEON, invented_people
from zonule.demo.population import Pair, TrueEye, plausible_pairs
from zonule.demo.truth import Truth, drawn_natural_lens_dpt, drawn_surprise, glasses_before_surgery

SEED = 20
PAST_EYES = 160
_LENS_SHARES = (0.7, 0.2, 0.1)
"""The first lens is the surgeon's usual one, so that its lessons have evidence."""
_BOTH_EYES_SHARE = 0.45
_TEAR_SHARE = 0.015
_FIRST_DAY, _LAST_DAY = 364, 42
"""Days ago between which past operations lie; the last ones are already reviewed."""
_BETWEEN_EYES_DAYS = 14
_TODAY_EYES, _NEXT_EYES = 6, 5
_NEXT_DAY_IN_DAYS = 7
_UNKNOWN_HISTORY, _WRONG_LENGTH = 3, 4
"""Places of the doubtful eyes on today's list; the long one is second."""
_WRONG_LENGTH_MM = 0.75
_LONG_MM = (26.8, 28.2)
_ORDINARY_MM = (22.3, 25.0)


@dataclass(frozen=True, slots=True)
class DemoOutcome:
    """What happened to an operated eye; ask it what the implanted power gave."""

    operated_on: date
    refracted_on: date
    fixation: Fixation
    complication: Complication
    truth: Truth
    astigmatism: DemoAstigmatism

    def refraction_with(
        self, lens_power_dpt: float, lens_cylinder_dpt: float = 0.0, planned_deg: float = 180.0
    ) -> Refraction:
        """The refraction found on `refracted_on`, in a 6 m lane, after a lens of this label and plan."""
        lies_deg = self.astigmatism.lies_at_deg(planned_deg)
        return self.truth.refraction_with(lens_power_dpt, lens_cylinder_dpt, lies_deg)


@dataclass(frozen=True, slots=True)
class DemoCase:
    """One eye of the invented clinic."""

    patient: Patient
    eye: Eye
    fellow: Eye
    listed_on: date
    intent: Intent
    """Lens, aim, surgeon, seat; no power, cylinder or meridian: choosing them is the planner's work."""
    outcome: DemoOutcome | None


@dataclass(frozen=True, slots=True)
class DemoClinic:
    """The whole invented clinic."""

    surgeon: str
    lenses: tuple[LensModel, ...]
    cases: tuple[DemoCase, ...]
    """Earliest operation first; those of today and later have no outcome."""


def demo_clinic(seed: int = SEED, eyes: int = PAST_EYES, *, today: date) -> DemoClinic:
    """An invented clinic; the same seed, size and day always give the same one.

    Parameters
    ----------
    seed
        Seed of everything invented.
    eyes
        How many eyes were operated on and reviewed in the year before `today`.
    today
        The day on which today's list is operated.

    Returns
    -------
    DemoClinic
        Past cases with outcomes, some with a toric lens, six for today (one long eye, one whose surgery
        nobody asked about, one with a length that does not fit the fellow eye), and five for a day next week.

    Examples
    --------
    >>> clinic = demo_clinic(eyes=10, today=date(2026, 11, 2))
    >>> len(clinic.cases), sum(case.outcome is not None for case in clinic.cases)
    (21, 10)
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    of_cylinders = np.random.Generator(np.random.PCG64((seed, 1)))
    sides = _sides_operated(rng, eyes)
    current = _current_pairs(rng)
    pairs = [*plausible_pairs(rng, len(sides)), *current]
    people = invented_people(rng, [pair.age_years for pair in pairs], today)
    past = [
        case
        for patient, pair, both in zip(people, pairs, sides, strict=False)
        for case in _past_cases(rng, of_cylinders, patient, pair, both, today)
    ]
    waiting = _waiting_cases(rng, people[len(sides) :], current, today)
    ordered = sorted(past, key=lambda case: (case.listed_on, case.patient.key))
    return DemoClinic(surgeon=SURGEON, lenses=CATALOGUE, cases=(*ordered, *waiting))


def _sides_operated(rng: np.random.Generator, eyes: int) -> list[tuple[Side, ...]]:
    """For each patient the eyes operated on, in order, `eyes` in all."""
    operated: list[tuple[Side, ...]] = []
    left_to_do = eyes
    while left_to_do > 0:
        first = Side.RIGHT if rng.random() < 0.5 else Side.LEFT  # noqa: PLR2004 - a coin
        both = left_to_do > 1 and rng.random() < _BOTH_EYES_SHARE
        operated.append((first, first.other) if both else (first,))
        left_to_do -= len(operated[-1])
    return operated


def _past_cases(
    rng: np.random.Generator,
    of_cylinders: np.random.Generator,
    patient: Patient,
    pair: Pair,
    sides: tuple[Side, ...],
    today: date,
) -> Iterator[DemoCase]:
    weeks = (_FIRST_DAY - _LAST_DAY) // 7
    first_on = today - timedelta(days=_FIRST_DAY - 7 * int(rng.integers(0, weeks - 1)))
    lens = LENSES[int(rng.choice(len(LENSES), p=_LENS_SHARES))]
    both = _measured_pair(rng, pair, first_on - timedelta(days=int(rng.integers(14, 60))))
    for turn, side in enumerate(sides):
        operated_on = first_on + timedelta(days=_BETWEEN_EYES_DAYS * turn)
        intent = _intent(rng, lens, side)
        outcome = _outcome(rng, of_cylinders, pair, side, lens, operated_on)
        if outcome.astigmatism.wants_toric and outcome.fixation is Fixation.BAG:
            intent = replace(intent, lens_model=HAREBELL_TORIC.name, marking=MarkingName.UPRIGHT_INK)
            outcome = replace(outcome, truth=replace(outcome.truth, lens_model=HAREBELL_TORIC.name))
        yield DemoCase(
            patient=patient,
            eye=both[side],
            fellow=both[side.other],
            listed_on=operated_on,
            intent=intent,
            outcome=outcome,
        )


def _outcome(
    rng: np.random.Generator,
    of_cylinders: np.random.Generator,
    pair: Pair,
    side: Side,
    lens: LensModel,
    operated_on: date,
) -> DemoOutcome:
    torn = rng.random() < _TEAR_SHARE
    fixation = Fixation.SULCUS if torn else Fixation.BAG
    refracted_on = operated_on + timedelta(days=int(rng.integers(28, _LAST_DAY)))
    eye = _true_eye(pair, side)
    cylinder = drawn_astigmatism(of_cylinders, eye, side, _temporal_deg(side), refracted_on)
    return DemoOutcome(
        operated_on=operated_on,
        refracted_on=refracted_on,
        fixation=fixation,
        complication=Complication.CAPSULE_TEAR if torn else Complication.NONE,
        truth=Truth(eye, lens.name, fixation, drawn_surprise(rng), cylinder.after),
        astigmatism=cylinder,
    )


def _temporal_deg(side: Side) -> float:
    """Where this surgeon cuts: at 180 degrees in a right eye, at 0 in a left."""
    return 180.0 if side is Side.RIGHT else 0.0


def _true_eye(pair: Pair, side: Side) -> TrueEye:
    return pair.right if side is Side.RIGHT else pair.left


def _measured_pair(rng: np.random.Generator, pair: Pair, measured_on: date) -> dict[Side, Eye]:
    natural_lens_dpt = drawn_natural_lens_dpt(rng)
    return {
        side: measured_eye(
            rng, true_eye, side, measured_on, glasses=glasses_before_surgery(rng, true_eye, natural_lens_dpt)
        )
        for side, true_eye in ((Side.RIGHT, pair.right), (Side.LEFT, pair.left))
    }


def _intent(rng: np.random.Generator, lens: LensModel, side: Side) -> Intent:
    """A plan's choices; the incision is temporal."""
    return Intent(
        lens_model=lens.name,
        target_refraction_dpt=float(rng.choice([0.0, -0.25, -0.5, -2.5], p=[0.7, 0.15, 0.1, 0.05])),
        surgeon=SURGEON,
        incision_meridian_deg=_temporal_deg(side),
        incision_width_mm=INCISION_WIDTH_MM,
        capsulorhexis_mm=5.0,
        seat=Seat.TEMPORAL,
    )


def _current_pairs(rng: np.random.Generator) -> list[Pair]:
    """Eyes for today and next week: ordinary ones, with one long pair second on today's list."""
    pool = [pair for pair in plausible_pairs(rng, 500) if _is_alike(pair)]
    long = next(pair for pair in pool if _LONG_MM[0] < pair.right.axial_length_mm < _LONG_MM[1])
    ordinary = [pair for pair in pool if _ORDINARY_MM[0] < pair.right.axial_length_mm < _ORDINARY_MM[1]]
    chosen = ordinary[: _TODAY_EYES + _NEXT_EYES - 1]
    return [chosen[0], long, *chosen[1:]]


def _is_alike(pair: Pair) -> bool:
    """Whether two eyes are so alike that the day's doubts are only those that are put there."""
    return (
        abs(pair.right.axial_length_mm - pair.left.axial_length_mm) < 0.2  # noqa: PLR2004 - under every limit
        and abs(pair.right.mean_k_dpt - pair.left.mean_k_dpt) < 0.5  # noqa: PLR2004 - under every limit
        and max(pair.right.cylinder_dpt, pair.left.cylinder_dpt) < 2.0  # noqa: PLR2004 - under every limit
        and 41.5 < pair.right.mean_k_dpt < 46.5  # noqa: PLR2004 - under every limit
    )


def _waiting_cases(
    rng: np.random.Generator, people: list[Patient], pairs: list[Pair], today: date
) -> Iterator[DemoCase]:
    for place, (patient, pair) in enumerate(zip(people, pairs, strict=True)):
        is_today = place < _TODAY_EYES
        listed_on = today if is_today else today + timedelta(days=_NEXT_DAY_IN_DAYS)
        side = Side.RIGHT if place % 2 == 0 else Side.LEFT
        both = _measured_pair(rng, pair, today - timedelta(days=int(rng.integers(7, 40))))
        eye = both[side]
        if place == _UNKNOWN_HISTORY:
            eye = with_unknown_history(eye)
        if place == _WRONG_LENGTH:
            eye = with_length_read_wrong(eye, _WRONG_LENGTH_MM)
        lens = HAREBELL if is_today else LENSES[place % len(LENSES)]
        intent = replace(_intent(rng, lens, side), target_refraction_dpt=0.0)
        yield DemoCase(patient, eye, both[side.other], listed_on, intent, outcome=None)
