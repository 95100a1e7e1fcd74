"""Both eyes as one plan: for each way to aim them, where they end, how far apart, and how surely."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from zonule.case.finding import Finding, note
from zonule.case.pair import (
    EyeOutlook,
    PairOutlook,
    PairWishes,
    Strategy,
    StrategyOutlook,
    Targets,
    Tried,
)
from zonule.case.patient import Side
from zonule.case.plan import Prediction
from zonule.science.optics.working_distance import clear_distance_m
from zonule.science.statistics.shrinkage import FELLOW_EYE_CORRELATION
from zonule.science.uncertainty.pair import (
    PairLaw,
    achieved_law,
    difference_sd_dpt,
    fraction_apart,
    fraction_both_within,
)
from zonule.science.uncertainty.spread import ErrorLaw, fraction_within

HALF_DPT = 0.5


@dataclass(frozen=True, slots=True)
class EyeOfPair:
    """What is known of one eye's refraction after its operation."""

    side: Side
    predictions: tuple[Prediction, ...] = ()
    """With their spread, for every power made; of an eye still to be operated."""
    achieved_dpt: float | None = None
    """Spherical equivalent at 12 mm and 6 m; of an eye that has been operated."""
    why_not: str = ""
    """Why neither is known."""

    @property
    def is_known(self) -> bool:
        """Whether anything can be said about where this eye ends."""
        return self.achieved_dpt is not None or any(one.spread is not None for one in self.predictions)


def pair_outlook(wishes: PairWishes, this: EyeOfPair, fellow: EyeOfPair) -> PairOutlook:
    """What each way to aim both eyes offers, with what was not asked left open.

    Parameters
    ----------
    wishes
        What was asked of the patient, and the targets of each strategy.
    this, fellow
        Both eyes. An eye that has been operated keeps what it achieved, whatever a strategy would aim at.
    """
    eyes = {one.side: one for one in (this, fellow)}
    is_open = this.achieved_dpt is None and fellow.achieved_dpt is None
    correlation = FELLOW_EYE_CORRELATION if is_open else 0.0
    if len(eyes) < len(Side) or not (this.is_known and fellow.is_known):
        return PairOutlook(wishes, (), correlation, (_incomplete(this, fellow),))
    shown = [one for one in wishes.targets if _can_be_aimed(one, wishes)]
    return PairOutlook(
        wishes=wishes,
        strategies=tuple(_strategy(one, wishes, eyes, correlation) for one in shown),
        correlation=correlation,
        findings=tuple(_not_asked(wishes)),
        not_shown=tuple(
            (one.strategy, "Which eye leads is not recorded.") for one in wishes.targets if one not in shown
        ),
    )


def _can_be_aimed(targets: Targets, wishes: PairWishes) -> bool:
    return wishes.dominant_eye is not None or targets.dominant_dpt == targets.other_dpt


def _strategy(
    targets: Targets, wishes: PairWishes, eyes: dict[Side, EyeOfPair], correlation: float
) -> StrategyOutlook:
    aims = {side: targets.dominant_dpt if side is wishes.dominant_eye else targets.other_dpt for side in Side}
    right, left = (_eye(eyes[side], aims[side]) for side in (Side.RIGHT, Side.LEFT))
    pair = PairLaw(right.law, left.law, correlation)
    difference = right.refraction_dpt - left.refraction_dpt
    tolerated = wishes.tolerated_anisometropia_dpt
    return StrategyOutlook(
        strategy=targets.strategy,
        right=right,
        left=left,
        difference_dpt=difference,
        difference_sd_dpt=difference_sd_dpt(pair),
        both_within_half=_both_within_half(right, left, pair),
        beyond_tolerated=None if tolerated is None else float(fraction_apart(tolerated, difference, pair)),
    )


def _both_within_half(right: EyeOutlook, left: EyeOutlook, pair: PairLaw) -> float:
    """Of the eyes still to be operated; one that has been is not promised anything any more."""
    if right.target_dpt is not None and left.target_dpt is not None:
        misses = right.refraction_dpt - right.target_dpt, left.refraction_dpt - left.target_dpt
        return float(fraction_both_within(HALF_DPT, *misses, pair))
    chances = [one.within_half for one in (right, left) if one.within_half is not None]
    return min(chances, default=1.0)


def _eye(eye: EyeOfPair, target_dpt: float) -> EyeOutlook:
    if eye.achieved_dpt is not None:
        return _outlook(eye.side, eye.achieved_dpt, achieved_law())
    spreads = [(one, one.spread) for one in eye.predictions if one.spread is not None]
    centres = np.array([one.refraction_dpt for one, _ in spreads])
    chances = np.array(
        [
            float(fraction_within(HALF_DPT, target_dpt, one.refraction_dpt, spread.law))
            for one, spread in spreads
        ]
    )
    best = int(np.argmax(chances))
    prediction, spread = spreads[best]
    return _outlook(
        eye.side,
        float(centres[best]),
        spread.law,
        target_dpt=target_dpt,
        lens_power_dpt=prediction.lens_power_dpt,
        within_half=float(chances[best]),
    )


def _outlook(
    side: Side,
    refraction_dpt: float,
    law: ErrorLaw,
    *,
    target_dpt: float | None = None,
    lens_power_dpt: float | None = None,
    within_half: float | None = None,
) -> EyeOutlook:
    return EyeOutlook(
        side=side,
        refraction_dpt=refraction_dpt,
        sd_dpt=float(law.sd_dpt),
        measurement_sd_dpt=float(np.sqrt(law.measurement_variance_dpt2)),
        residual_degrees_of_freedom=law.residual_degrees_of_freedom,
        target_dpt=target_dpt,
        lens_power_dpt=lens_power_dpt,
        within_half=within_half,
        clear_distance_m=float(clear_distance_m(refraction_dpt)),
    )


def _incomplete(this: EyeOfPair, fellow: EyeOfPair) -> Finding:
    lacking = next((one for one in (this, fellow) if not one.is_known), fellow)
    why = f" {lacking.why_not}" if lacking.why_not else ""
    return note(
        "pair-incomplete",
        f"Both eyes cannot be planned together: nothing is known of where the {lacking.side} eye ends.{why}",
        "pair",
    )


def _not_asked(wishes: PairWishes) -> Iterator[Finding]:
    blended = any(one.strategy is Strategy.BLENDED for one in wishes.targets)
    if wishes.dominant_eye is None:
        yield note(
            "dominant-eye-unknown",
            "Which eye leads is not recorded, so it is open which of them should see far.",
            "pair.dominant_eye",
        )
    if wishes.tolerated_anisometropia_dpt is None:
        yield note(
            "tolerance-unknown",
            "How far apart the eyes may end is not recorded, so no chance of too much is given.",
            "pair.tolerated_anisometropia_dpt",
        )
    if blended and wishes.tried_blended is not Tried.YES:
        said = "was not tried" if wishes.tried_blended is Tried.NO else "may not have been tried"
        yield note(
            "blended-not-tried",
            f"Blended sight {said} with contact lenses or glasses. Where the cataract allows it, try first.",
            "pair.tried_blended",
        )
