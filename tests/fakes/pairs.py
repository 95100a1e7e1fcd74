"""Both eyes of one ordinary patient, planned together by hand; nothing here asks a formula."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from zonule.case.pair import (
    Distance,
    EyeOutlook,
    Importance,
    PairOutlook,
    PairWishes,
    Strategy,
    StrategyOutlook,
    Task,
    Tried,
)
from zonule.case.patient import Side
from zonule.case.second_eye import SecondEye

SD_DPT, MEASUREMENT_SD_DPT, FREEDOM = 0.6, 0.14, 3.2


def outlook_of(side: Side, refraction_dpt: float = 0.05, **changes: Any) -> EyeOutlook:
    """An eye still to be operated that aims at the far distance."""
    eye = EyeOutlook(
        side=side,
        refraction_dpt=refraction_dpt,
        sd_dpt=SD_DPT,
        measurement_sd_dpt=MEASUREMENT_SD_DPT,
        residual_degrees_of_freedom=FREEDOM,
        target_dpt=0.0,
        lens_power_dpt=20.5,
        within_half=0.72,
        clear_distance_m=6.0,
    )
    return replace(eye, **changes)


def blended_outlook(**changes: Any) -> StrategyOutlook:
    """The right eye for far, the left for arm's length."""
    left = outlook_of(
        Side.LEFT, -1.37, target_dpt=-1.25, lens_power_dpt=22.5, within_half=0.7, clear_distance_m=0.65
    )
    one = StrategyOutlook(
        strategy=Strategy.BLENDED,
        right=outlook_of(Side.RIGHT),
        left=left,
        difference_dpt=1.42,
        difference_sd_dpt=0.62,
        both_within_half=0.55,
        beyond_tolerated=0.44,
    )
    return replace(one, **changes)


def operated_outlook(side: Side = Side.LEFT, refraction_dpt: float = -0.5) -> EyeOutlook:
    """An eye that has its lens."""
    return outlook_of(
        side,
        refraction_dpt,
        sd_dpt=0.31,
        measurement_sd_dpt=0.31,
        target_dpt=None,
        lens_power_dpt=None,
        within_half=None,
        clear_distance_m=1.5,
    )


def ordinary_pair(**changes: Any) -> PairOutlook:
    """One patient who was asked everything."""
    wishes = PairWishes(
        dominant_eye=Side.RIGHT,
        tasks=(Task(Distance.ARMS_LENGTH, Importance.MOST, "screen"),),
        tolerated_anisometropia_dpt=1.5,
        tried_blended=Tried.YES,
    )
    return replace(PairOutlook(wishes, (blended_outlook(),), 0.5), **changes)


def ordinary_second_eye(**changes: Any) -> SecondEye:
    """A first eye that ended 0.60 D long-sighted."""
    second = SecondEye(
        used=True,
        weight=0.5,
        errors_dpt=(("srk_t", 0.6), ("holladay_1", 0.5)),
        error_dpt=0.55,
        shifts_dpt=(("srk_t", 0.3), ("holladay_1", 0.25)),
        shift_dpt=0.275,
        best_before_dpt=20.5,
        best_after_dpt=21.0,
    )
    return replace(second, **changes)
