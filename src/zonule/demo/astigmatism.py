"""Astigmatism of the invented year: backs of corneas, what incisions do, and toric lenses that turn.

The sizes are our choice, near what the sources of docs/explanation/cylinder-and-axis.md print. No cornea
model, and no published effect of an incision, is right here by construction.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from zonule.case.axis_visit import AxisVisit
from zonule.case.biometry import Keratometry
from zonule.case.patient import Side
from zonule.demo.measured_eye import keratometry_of
from zonule.demo.population import TrueEye
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

INCISION_WIDTH_MM = 2.2
FLATTENING_DPT, TORQUE_DPT, _INCISION_SD_DPT = 0.32, 0.06, 0.2
"""What this surgeon's temporal incisions really do: more than is published."""
_BACK_DPT, _BACK_SD_DPT, _BACK_MERIDIAN_SD_DEG = 0.3, 0.12, 15.0
_READING_SD_DPT = 0.14
_LEAST_FOR_TORIC_DPT, _TORIC_SHARE = 1.25, 0.85
_MARKING_SD_DEG, _TURN_SD_DEG, _LATER_SD_DEG, _LOOK_SD_DEG = 4.0, 3.0, 1.5, 1.2
_FAR_TURN_SHARE, _FAR_TURN_DEG = 0.03, 17.0
_SECOND_LOOK_DAYS = (90, 98)
_MEASURED_AGAIN_SHARE = 0.75
_LOOKED_SHARE = 0.9


@dataclass(frozen=True, slots=True)
class DemoAstigmatism:
    """What decides the cylinder of one operated eye, which no planner is told."""

    before: Astigmatism
    """Of the whole cornea."""
    induced: Astigmatism
    wants_toric: bool
    marked_off_deg: float
    """From the meridian planned to the marks at the end of the operation."""
    turned_deg: float
    """By the lens in its first day."""
    turned_later_deg: float
    look_errors_deg: tuple[float, float, float]
    """On day 1, at the refraction, about three months later."""
    second_look_days: int
    looked_at_refraction: bool
    keratometry_after: Keratometry | None
    """As measured at the refraction; absent where nobody did."""

    @property
    def after(self) -> Astigmatism:
        """Of the whole cornea with its incision."""
        return self.before.plus(self.induced)

    def left_at_deg(self, planned_deg: float) -> float:
        """Where the marks lay at the end of the operation, in whole degrees."""
        return _whole_deg(planned_deg + self.marked_off_deg)

    def lies_at_deg(self, planned_deg: float) -> float:
        """Where the lens lies at the refraction."""
        return planned_deg + self.marked_off_deg + self.turned_deg

    def seen_at_refraction_deg(self, planned_deg: float) -> float | None:
        """The same as somebody read it, if anybody did."""
        if not self.looked_at_refraction:
            return None
        return _whole_deg(self.lies_at_deg(planned_deg) + self.look_errors_deg[1])

    def visits(self, planned_deg: float, operated_on: date, today: date) -> tuple[AxisVisit, ...]:
        """Looks at the marks that have been by `today`: the day after, and about three months later."""
        lies_deg = self.lies_at_deg(planned_deg)
        looks = (
            (1, lies_deg + self.look_errors_deg[0]),
            (self.second_look_days, lies_deg + self.turned_later_deg + self.look_errors_deg[2]),
        )
        return tuple(
            AxisVisit(day, _whole_deg(seen_deg))
            for days, seen_deg in looks
            if (day := operated_on + timedelta(days=days)) < today
        )


def drawn_astigmatism(
    rng: np.random.Generator, eye: TrueEye, side: Side, incision_deg: float, refracted_on: date
) -> DemoAstigmatism:
    """What chance makes of the cylinder of one operation.

    Parameters
    ----------
    rng
        Source of chance.
    eye
        What the eye really is.
    side
        Which eye: torque of a left eye is the mirror of a right eye's.
    incision_deg
        Meridian of the incision, degrees.
    refracted_on
        The day on which the cornea may be measured again.
    """
    front = steep(eye.cylinder_dpt, eye.steep_meridian_deg, Plane.CORNEA)
    size_dpt = max(0.0, rng.normal(_BACK_DPT, _BACK_SD_DPT))
    before = front.plus(steep(size_dpt, rng.normal(0.0, _BACK_MERIDIAN_SD_DEG), Plane.CORNEA))
    induced = _drawn_incision(rng, side, incision_deg)
    noise_x_dpt, noise_y_dpt = rng.normal(0.0, _READING_SD_DPT, 2).tolist()
    measured = front.plus(induced).plus(Astigmatism(noise_x_dpt, noise_y_dpt, Plane.CORNEA))
    after = keratometry_of(rng, eye.mean_k_dpt, measured, refracted_on)
    wants = float(before.magnitude_dpt) >= _LEAST_FOR_TORIC_DPT and bool(rng.random() < _TORIC_SHARE)
    first, second, third = rng.normal(0.0, _LOOK_SD_DEG, 3).tolist()
    return DemoAstigmatism(
        before=before.plain,
        induced=induced.plain,
        wants_toric=wants,
        marked_off_deg=float(rng.normal(0.0, _MARKING_SD_DEG)),
        turned_deg=_drawn_turn_deg(rng),
        turned_later_deg=float(rng.normal(0.0, _LATER_SD_DEG)),
        look_errors_deg=(first, second, third),
        second_look_days=int(rng.integers(*_SECOND_LOOK_DAYS)),
        looked_at_refraction=bool(rng.random() < _LOOKED_SHARE),
        keratometry_after=after if rng.random() < _MEASURED_AGAIN_SHARE else None,
    )


def _drawn_incision(rng: np.random.Generator, side: Side, incision_deg: float) -> Astigmatism:
    along_dpt = rng.normal(FLATTENING_DPT, _INCISION_SD_DPT)
    aside_dpt = rng.normal(TORQUE_DPT, _INCISION_SD_DPT) * (1.0 if side is Side.RIGHT else -1.0)
    seen = Astigmatism(along_dpt, aside_dpt, Plane.CORNEA)
    return seen.turned(incision_deg + 90.0)


def _drawn_turn_deg(rng: np.random.Generator) -> float:
    """Most lenses turn a little, a few far."""
    far_deg = _FAR_TURN_DEG if rng.random() < _FAR_TURN_SHARE else 0.0
    return float(rng.normal(far_deg, _TURN_SD_DEG))


def _whole_deg(meridian_deg: float) -> float:
    return float(round(meridian_deg) % 180 or 180)
