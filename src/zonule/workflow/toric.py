"""Astigmatism of one plan: from the reading, through model and incision, to what each cylinder leaves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from zonule.case.finding import Finding, Severity
from zonule.case.plan import MethodResult, Plan, PlanRequest
from zonule.case.toric import (
    CorneaModel,
    CorneaModelName,
    IncisionEffectUsed,
    MarkingName,
    ToricOption,
    ToricPlan,
    ToricWishes,
    TurnAccount,
    by_limit,
)
from zonule.case.toric_checks import choice_findings, guard_findings, result_findings, wish_findings
from zonule.science.arrays import Numbers
from zonule.science.astigmatism import toric_lens, toric_odds
from zonule.science.astigmatism.incision import induced, induced_covariance_dpt2
from zonule.science.astigmatism.marking import MARKINGS, ROTATION_SD_DEG, TORSION_SD_DEG, WIDEST
from zonule.science.astigmatism.toric_rays import cylinder_at_cornea_by_rays
from zonule.science.astigmatism.vectors import Astigmatism, Plane
from zonule.science.lens_power.anatomical_rows import RAY_TRACED
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.workflow.cornea_models import (
    Totals,
    is_irregular,
    model_source,
    model_words,
    reading_sds_dpt,
    totals,
)
from zonule.workflow.incision_effect import Effect, expected_effect, no_incision
from zonule.workflow.methods import eye_numbers

NEAR_EQUAL = 0.01
"""Chances that differ by no more are the same: then the weaker cylinder, which forgives turning more."""


FEWER_DRAWS = 2048
"""Where there is no cylinder to choose, a chance within 1 in 100 is enough."""

MARKING_WORDS = {name: MARKINGS[name].words for name in MarkingName}
"""Every way of marking the axis that can be chosen, in words."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The astigmatism of a plan, absent where nothing can be said, and every doubt about it."""

    toric: ToricPlan | None
    findings: tuple[Finding, ...]


def toric_answer(plan: Plan, power_dpt: float | None = None) -> Answer:
    """What this plan says of astigmatism, with the lens power chosen or, without one, the likely one."""
    request = plan.request
    wishes = request.toric or ToricWishes()
    reading = request.eye.biometry.keratometry.astigmatism
    found = list(
        wish_findings(request, has_meridian=reading is not None, irregular=is_irregular(request.eye))
    )
    numbers = eye_numbers(request.eye)
    eyes = () if numbers is None else thin_eyes(plan, numbers)
    if reading is None or numbers is None or not eyes or is_irregular(request.eye):
        return Answer(None, tuple(found))
    if any(one.severity is Severity.BLOCKING for one in found):
        return Answer(None, tuple(found))
    asked_dpt = _asked_cylinder_dpt(eyes, reading, plan.request.target_refraction_dpt or 0.0)
    whole = totals(request.eye, reading, asked_dpt)
    found.extend(choice_findings(wishes.cornea_model, whole.by_model, whole.not_used))
    if any(one.severity is Severity.BLOCKING for one in found):
        return Answer(None, tuple(found))
    power = power_dpt if power_dpt is not None else _likely_power_dpt(plan)
    setting = _Setting(request, wishes, reading, whole, eyes, power, plan.seed)
    toric = _planned(setting, plan, numbers)
    found.extend(toric.findings)
    if wishes.lens_meridian_deg is not None:
        found.extend(guard_findings(toric, wishes, _of_the_fellow(request, toric, eyes)))
    found.extend(result_findings(toric, wishes))
    return Answer(replace(toric, findings=tuple(found)), tuple(found))


def thin_eyes(plan: Plan, numbers: EyeNumbers) -> tuple[ThinLensEye, ...]:
    """The eye as each method sees it whose lens position may stand for this eye.

    Those that count in the odds; where odds are withheld those that are fit, else whatever answered.
    """
    for chosen in (_counting(plan.methods), _fit(plan.methods), plan.methods):
        seen = [seen_eye(FORMULAS[one.method], numbers, one.constants) for one in chosen]
        eyes = tuple(one for one in seen if isinstance(one, ThinLensEye))
        if eyes:
            return eyes
    return ()


def cylinder_at_cornea_dpt(
    eyes: Sequence[ThinLensEye], lens_cylinder_dpt: Numbers, power_dpt: float
) -> NDArray[np.float64]:
    """What a lens's cylinder is worth at the cornea: the middle of what each method's lens position makes."""
    each = [np.asarray(toric_lens.cylinder_at_cornea_dpt(eye, lens_cylinder_dpt, power_dpt)) for eye in eyes]
    return np.asarray(np.median(np.stack(each), axis=0))


@dataclass(frozen=True, slots=True)
class _Setting:
    """Everything that the options of one plan are computed from."""

    request: PlanRequest
    wishes: ToricWishes
    reading: Astigmatism
    totals: Totals
    eyes: tuple[ThinLensEye, ...]
    power_dpt: float
    seed: int

    @property
    def planned_on(self) -> CorneaModelName:
        return self.wishes.cornea_model or self.totals.preferred

    @property
    def draws(self) -> int:
        return toric_odds.DRAWS if self.cylinders_dpt else FEWER_DRAWS

    @property
    def cylinders_dpt(self) -> tuple[float, ...]:
        lens = self.request.lens
        return self.wishes.cylinders_dpt or (() if lens is None else lens.cylinders_dpt)


def _counting(methods: Iterable[MethodResult]) -> list[MethodResult]:
    return [one for one in methods if one.counts]


def _fit(methods: Iterable[MethodResult]) -> list[MethodResult]:
    return [one for one in methods if one.fit]


def _asked_cylinder_dpt(eyes: Sequence[ThinLensEye], reading: Astigmatism, target_dpt: float) -> float:
    size_dpt = reading.magnitude_dpt
    each = [float(toric_lens.cylinder_at_lens_dpt(eye, size_dpt, target_dpt)) for eye in eyes]
    return float(np.median(each))


def _likely_power_dpt(plan: Plan) -> float:
    """The power with the best odds; where there are none, the middle of what the methods ask for."""
    if plan.odds is not None:
        return plan.odds.best_power_dpt
    fit = _fit(plan.methods) or list(plan.methods)
    return float(np.median([one.power_for_target_dpt for one in fit]))


def _planned(setting: _Setting, plan: Plan, numbers: EyeNumbers) -> ToricPlan:
    incision = setting.request.incision
    side = setting.request.eye.side
    used = None if incision is None else expected_effect(incision, setting.request.incision_lesson, side)
    cut = _incision_used(setting, used)
    models = tuple(_models(setting, cut))
    planned = next(one for one in models if one.key == setting.planned_on)
    turn = _turn(setting.wishes)
    scatter = _scatter(setting, used, turn)
    lenses_dpt = np.array((0.0, *setting.cylinders_dpt))
    worth_dpt = cylinder_at_cornea_dpt(setting.eyes, lenses_dpt, setting.power_dpt)
    options = _options(
        setting, models, planned, lenses_dpt, worth_dpt, scatter, _by_rays(plan, numbers, setting)
    )
    return ToricPlan(
        reading=setting.reading,
        models=models,
        not_used=setting.totals.not_used,
        planned_on=planned.key,
        incision=cut,
        without=options[0],
        options=tuple(options[1:]),
        best_cylinder_dpt=_best(options).lens_cylinder_dpt,
        power_dpt=setting.power_dpt,
        keratometry_sds_dpt=reading_sds_dpt(setting.request.eye.biometry),
        model_sd_dpt=setting.totals.open_sd_dpt,
        turn=turn,
        draws=setting.draws,
        findings=() if used is None or used.finding is None else (used.finding,),
    )


def _models(setting: _Setting, cut: IncisionEffectUsed | None) -> Iterable[CorneaModel]:
    """Each model before and after the incision: adjusted first, then cut."""
    counting = setting.totals.counting
    for key, before in setting.totals.by_model.items():
        after = before if cut is None else before.plus(cut.induced)
        source, status = model_source(key)
        yield CorneaModel(key, model_words(key), before.plain, after.plain, key in counting, source, status)


def _scatter(setting: _Setting, used: Effect | None, turn: TurnAccount) -> toric_odds.Scatter:
    incision = setting.request.incision
    effect = no_incision() if used is None else used.effect
    meridian_deg = 0.0 if incision is None else incision.meridian_deg
    sds = reading_sds_dpt(setting.request.eye.biometry)
    return toric_odds.planning_scatter(
        sds,
        induced_covariance_dpt2(effect, meridian_deg, sds),
        setting.totals.open_sd_dpt,
        turn.marking_sd_deg,
        turn.torsion_sd_deg,
        turn.rotation_sd_deg,
    )


def _options(
    setting: _Setting,
    models: Sequence[CorneaModel],
    planned: CorneaModel,
    lenses_dpt: NDArray[np.float64],
    worth_dpt: NDArray[np.float64],
    scatter: toric_odds.Scatter,
    by_rays_dpt: NDArray[np.float64] | None,
) -> list[ToricOption]:
    meridian_deg = float(planned.after.steep_meridian_deg)
    counting = [one.after for one in models if one.counts]
    corneas = Astigmatism(
        np.array([one.x_dpt for one in counting]), np.array([one.y_dpt for one in counting]), Plane.CORNEA
    )
    chances = toric_odds.odds(corneas, worth_dpt, meridian_deg, scatter, setting.seed, setting.draws)
    within, errors = chances.within_over_models, chances.standard_error.mean(axis=1)
    mean_dpt = chances.mean_residual_dpt.mean(axis=0)
    return [
        ToricOption(
            lens_cylinder_dpt=float(lens),
            cylinder_at_cornea_dpt=float(worth),
            ray_traced_dpt=None if by_rays_dpt is None else float(by_rays_dpt[index]),
            residual=toric_lens.residual(planned.after, float(worth), meridian_deg).plain,
            mean_residual_dpt=float(mean_dpt[index]),
            within=by_limit(within[:, index].tolist()),
            standard_error=float(errors[_HALF_A_DIOPTRE, index]),
            flipped_dpt=float(slips.flipped.residual.magnitude_dpt),
            mirrored_dpt=float(slips.mirrored.residual.magnitude_dpt),
        )
        for index, (lens, worth) in enumerate(zip(lenses_dpt, worth_dpt, strict=True))
        for slips in (toric_lens.slips(planned.after, float(worth), meridian_deg),)
    ]


_HALF_A_DIOPTRE = toric_odds.LIMITS_DPT.index(0.50)


def _best(options: Sequence[ToricOption]) -> ToricOption:
    most = max(one.within_0_50 for one in options)
    near = (one for one in options if one.within_0_50 >= most - NEAR_EQUAL)
    return min(near, key=lambda one: one.lens_cylinder_dpt)


def _turn(wishes: ToricWishes) -> TurnAccount:
    marking = MARKINGS[wishes.marking or WIDEST]
    torsion_sd_deg = 0.0 if marking.removes_torsion else TORSION_SD_DEG
    return TurnAccount(marking.words, marking.sd_deg, torsion_sd_deg, ROTATION_SD_DEG, marking.source)


def _incision_used(setting: _Setting, used: Effect | None) -> IncisionEffectUsed | None:
    incision = setting.request.incision
    if used is None or incision is None:
        return None
    sds = reading_sds_dpt(setting.request.eye.biometry)
    covariance = induced_covariance_dpt2(used.effect, incision.meridian_deg, sds)
    return IncisionEffectUsed(
        used.origin,
        used.source,
        float(used.effect.flattening_dpt),
        induced(used.effect, incision.meridian_deg).plain,
        float(np.sqrt(np.trace(covariance) / 2.0)),
    )


def _by_rays(plan: Plan, numbers: EyeNumbers, setting: _Setting) -> NDArray[np.float64] | None:
    """What rays make of each cylinder, where the eye has what they need."""
    traced = next((one for one in plan.methods if one.method == RAY_TRACED.key), None)
    if traced is None:
        return None
    eye = seen_eye(RAY_TRACED, numbers, traced.constants)
    lenses_dpt = np.array((0.0, *setting.cylinders_dpt))
    made = cylinder_at_cornea_by_rays(eye, lenses_dpt, setting.power_dpt).magnitude_dpt
    worth: NDArray[np.float64] = np.where(lenses_dpt == 0.0, 0.0, made)
    return worth if bool(np.isfinite(worth).all()) else None


def _of_the_fellow(request: PlanRequest, toric: ToricPlan, eyes: Sequence[ThinLensEye]) -> tuple[float, ...]:
    """Steep meridians that the other eye's chart shows: as read, and by the model planned on here."""
    if request.fellow is None:
        return ()
    reading = request.fellow.biometry.keratometry.astigmatism
    if reading is None or not float(reading.magnitude_dpt):
        return ()
    asked_dpt = _asked_cylinder_dpt(eyes, reading, request.target_refraction_dpt or 0.0)
    whole = totals(request.fellow, reading, asked_dpt).by_model.get(toric.planned_on)
    seen = (reading,) if whole is None else (reading, whole)
    return tuple(float(one.steep_meridian_deg) for one in seen)
