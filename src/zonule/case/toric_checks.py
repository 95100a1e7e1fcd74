"""Is the lens meant for the meridian where it belongs? Slips of 90 degrees, mirrors, and wrong charts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from zonule.case.biometry import CorneaKind
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE
from zonule.case.plan import PlanRequest
from zonule.case.toric import CorneaModelName, ModelNotUsed, ToricOption, ToricPlan, ToricWishes
from zonule.science.astigmatism.corneal import ADJUSTMENTS, Status
from zonule.science.astigmatism.rotation_results import turned_by_deg
from zonule.science.astigmatism.vectors import Astigmatism

MATCH_DEG = 2.5
"""How far the meridian written down may lie from the one computed: rounding, twice over (our choice)."""
SLIP_DEG = 5.0
"""A wrong meridian this near to one that a known slip gives is called that slip (our choice)."""
TURNED_BY_MODEL_DEG = 5.0
"""From here a meridian that the model moved is explained (our choice)."""
SMALL_GAIN = 0.05
"""A cylinder that helps fewer than 5 in 100 more eyes to half a dioptre helps little (our choice)."""
_NO_CYLINDER_DPT = 1e-9


def wish_findings(request: PlanRequest, *, has_meridian: bool, irregular: bool) -> Iterator[Finding]:
    """Doubts about what was asked, before anything is computed."""
    wishes = request.toric or ToricWishes()
    wants_cylinder = bool(wishes.lens_cylinder_dpt)
    if irregular and _is_toric(request):
        yield warning(
            "cornea-irregular",
            "After keratoconus or a graft two meridians do not describe the cornea. Nothing is computed "
            "about its cylinder; a toric lens would be planned on topography by someone who knows such "
            "corneas.",
            "toric",
        )
    elif not has_meridian and _is_toric(request):
        where, source = "biometry.steep_meridian_deg", OWN_RANGE
        loud = blocking("toric-without-meridian", _NO_MERIDIAN, where, source)
        yield loud if wants_cylinder else warning("toric-without-meridian", _NO_MERIDIAN, where, source)
    yield from _model_refused(request, wishes.cornea_model)
    yield from _not_said(request, wishes, wants_cylinder=wants_cylinder)
    yield from _cylinder_made(request, wishes)


def choice_findings(
    chosen: CorneaModelName | None,
    by_model: Mapping[CorneaModelName, Astigmatism],
    not_used: Sequence[ModelNotUsed],
) -> Iterator[Finding]:
    """Whether the model chosen can speak of this cornea."""
    if chosen is None or chosen in by_model:
        return
    reason = next((one.because for one in not_used if one.key == chosen), "It was not measured.")
    yield blocking(
        "cornea-model-not-usable",
        f"{_words(chosen)} cannot be planned on for this cornea. {reason} Choose another model.",
        "toric.cornea_model",
        OWN_RANGE,
    )


def guard_findings(
    toric: ToricPlan, wishes: ToricWishes, fellow_meridians_deg: Sequence[float]
) -> Iterator[Finding]:
    """Whether the meridian that somebody wrote down is the one computed; if not, which slip it looks like."""
    written_deg = wishes.lens_meridian_deg
    if written_deg is None or wishes.lens_cylinder_dpt == 0.0:
        return
    belongs_deg = toric.meridian_deg
    if _apart_deg(written_deg, belongs_deg) <= MATCH_DEG:
        return
    chosen = toric.option(wishes.lens_cylinder_dpt or toric.best_cylinder_dpt) or toric.without
    slip = next(_slips(toric, chosen, written_deg, fellow_meridians_deg), None)
    yield slip or blocking(
        "lens-axis-mismatch",
        f"{_meant_for(toric, written_deg)} {_where_from(toric, written_deg)}",
        _WRITTEN,
        OWN_RANGE,
    )


def result_findings(toric: ToricPlan, wishes: ToricWishes) -> Iterator[Finding]:
    """What to know about the answer."""
    yield from _moved_by_model(toric)
    yield from _open_models(toric)
    yield from _from_memory(toric)
    chosen = None if wishes.lens_cylinder_dpt is None else toric.option(wishes.lens_cylinder_dpt)
    if chosen is None or chosen.lens_cylinder_dpt == 0.0:
        return
    gain = chosen.within_0_50 - toric.without.within_0_50
    if gain < SMALL_GAIN:
        yield warning(
            "toric-helps-little",
            f"With {chosen.lens_cylinder_dpt:g} D of cylinder {100 * chosen.within_0_50:.0f} of 100 such "
            f"eyes end with half a dioptre or less, without any {100 * toric.without.within_0_50:.0f}. A "
            "toric lens helps this eye little.",
            "toric.lens_cylinder_dpt",
            "felipe-2011",
        )
    if float(chosen.cylinder_at_cornea_dpt) > float(toric.corneal.magnitude_dpt) + _NO_CYLINDER_DPT:
        yield note(
            "toric-overcorrects",
            f"This cylinder is worth {chosen.cylinder_at_cornea_dpt:.2f} D at the cornea, which has "
            f"{float(toric.corneal.magnitude_dpt):.2f} D: what is left lies across, and turning costs more "
            "than with a weaker one.",
            "toric.lens_cylinder_dpt",
            "felipe-2011",
        )


def _is_toric(request: PlanRequest) -> bool:
    """Whether this plan is about a lens with cylinder."""
    wishes = request.toric or ToricWishes()
    has_steps = request.lens is not None and bool(request.lens.cylinders_dpt)
    return has_steps or bool(wishes.cylinders_dpt) or bool(wishes.lens_cylinder_dpt)


def _model_refused(request: PlanRequest, chosen: CorneaModelName | None) -> Iterator[Finding]:
    is_total = request.eye.biometry.keratometry.kind is CorneaKind.TOTAL
    if is_total and chosen not in {None, CorneaModelName.ANTERIOR, CorneaModelName.TOTAL}:
        yield blocking(
            "back-counted-twice",
            f"{_words(chosen)} adds the back of the cornea to a reading of its front. This reading is of the "
            "whole cornea already; the back would be counted twice. Plan on it as it is given.",
            "toric.cornea_model",
            "wang-2011-total",
        )
    if is_total and chosen is CorneaModelName.ANTERIOR:
        yield blocking(
            "total-not-anterior",
            "The reading is of the whole cornea; it cannot be taken for one of the front. Plan on it as it "
            "is given.",
            "toric.cornea_model",
            "wang-2011-total",
        )
    if not is_total and chosen is CorneaModelName.TOTAL:
        yield blocking(
            "anterior-not-total",
            "The reading is of the front of the cornea; the whole cornea was not given. Choose a model that "
            "allows for the back.",
            "toric.cornea_model",
            "koch-2012",
        )


def _not_said(request: PlanRequest, wishes: ToricWishes, *, wants_cylinder: bool) -> Iterator[Finding]:
    """What nobody chose, where a toric lens is at stake."""
    if not _is_toric(request):
        return
    if wishes.cornea_model is None and request.eye.biometry.keratometry.kind is CorneaKind.ANTERIOR:
        where, source = "toric.cornea_model", "koch-2012"
        loud = warning("cornea-model-not-chosen", _NO_MODEL, where, source)
        yield loud if wants_cylinder else note("cornea-model-not-chosen", _NO_MODEL, where, source)
    if wishes.marking is None:
        where, source = "toric.marking", "cyclotorsion-2020"
        loud = warning("marking-not-chosen", _NO_MARKING, where, source)
        yield loud if wants_cylinder else note("marking-not-chosen", _NO_MARKING, where, source)
    if request.incision is None:
        where, source = "incision", "small-incision-2021"
        loud = warning("incision-not-stated", _NO_INCISION, where, source)
        yield loud if wants_cylinder else note("incision-not-stated", _NO_INCISION, where, source)


_NO_MERIDIAN = (
    "The steep meridian of the cornea is not recorded, so no cylinder and no axis can be planned. "
    "Bring in a reading that tells it."
)
_NO_MODEL = (
    "No cornea model was chosen. Both surfaces are taken if they were measured, otherwise the "
    "regression of Abulafia and Koch; the models stand side by side, and they can differ by more than "
    "a step of cylinder."
)
_NO_MARKING = (
    "How the axis will be marked is not stated. The chances allow for no upright mark, so that the turn "
    "of the eye on lying down is not removed."
)
_NO_INCISION = (
    "The incision is not stated. Nothing is taken off the cornea for it; its scatter is in the chances."
)


def _cylinder_made(request: PlanRequest, wishes: ToricWishes) -> Iterator[Finding]:
    chosen = wishes.lens_cylinder_dpt
    made = wishes.cylinders_dpt or (() if request.lens is None else request.lens.cylinders_dpt)
    if chosen and not any(abs(chosen - one) < _SAME_STEP_DPT for one in made):
        steps = ", ".join(f"{one:g}" for one in made) or "none"
        yield blocking(
            "cylinder-not-made",
            f"The lens is not made with a cylinder of {chosen:g} D; there are: {steps}. Choose one of them.",
            "toric.lens_cylinder_dpt",
            OWN_RANGE,
        )


_SAME_STEP_DPT = 1e-6


def _slips(
    toric: ToricPlan, option: ToricOption, written_deg: float, fellow_meridians_deg: Sequence[float]
) -> Iterator[Finding]:
    """The known slips that would give the meridian written down, the gravest first."""
    meant = _meant_for(toric, written_deg)
    if _apart_deg(written_deg, toric.meridian_deg + 90.0) <= SLIP_DEG:
        yield blocking(
            "lens-axis-flipped",
            f"{meant} That is 90 degrees away: the flat meridian taken for the steep one. With "
            f"{option.lens_cylinder_dpt:g} D it would leave {option.flipped_dpt:.2f} D.",
            _WRITTEN,
            OWN_RANGE,
        )
    if _apart_deg(written_deg, -toric.meridian_deg) <= SLIP_DEG:
        yield blocking(
            "lens-axis-mirrored",
            f"{meant} That is 180 minus it: the mirror image, as from the other eye's chart or a scale read "
            f"from the wrong side. With {option.lens_cylinder_dpt:g} D it would leave "
            f"{option.mirrored_dpt:.2f} D.",
            _WRITTEN,
            OWN_RANGE,
        )
    if any(_apart_deg(written_deg, one) <= MATCH_DEG for one in fellow_meridians_deg):
        yield blocking(
            "lens-axis-of-the-fellow",
            f"{meant} It is the steep meridian of the other eye: the wrong chart.",
            _WRITTEN,
            OWN_RANGE,
        )


_WRITTEN = "toric.lens_meridian_deg"


def _meant_for(toric: ToricPlan, written_deg: float) -> str:
    return (
        f"The lens is meant for {_axis(written_deg)}, but by {toric.model.words} the cornea is steep at "
        f"{_axis(toric.meridian_deg)} after the incision."
    )


def _where_from(toric: ToricPlan, written_deg: float) -> str:
    if _apart_deg(written_deg, float(toric.reading.steep_meridian_deg)) <= MATCH_DEG:
        return (
            "It is the steep meridian as read from the front, without the back and the incision. Plan on the "
            "front reading if that is meant, or take the meridian of this plan."
        )
    return (
        "Take the meridian of this plan, or choose the model and the incision that the other one came from."
    )


def _moved_by_model(toric: ToricPlan) -> Iterator[Finding]:
    reading, model = toric.reading, toric.model
    if (
        float(reading.magnitude_dpt) < _NO_CYLINDER_DPT
        or float(toric.corneal.magnitude_dpt) < _NO_CYLINDER_DPT
    ):
        return
    if _apart_deg(float(reading.steep_meridian_deg), toric.meridian_deg) <= TURNED_BY_MODEL_DEG:
        return
    steps = f"By {model.words} the whole cornea has {_size_at(model.before)}"
    cut = "" if toric.incision is None else f", and after the incision {_size_at(model.after)}"
    yield note(
        "meridian-moved",
        f"The front reads {_size_at(reading)}. {steps}{cut}. The lens goes where the whole cornea is steep; "
        "the smaller the cylinder, the farther a little of the back or of the incision turns it.",
        "toric",
        model.source,
    )


def _open_models(toric: ToricPlan) -> Iterator[Finding]:
    counting = [one for one in toric.models if one.counts]
    away = max((one.after.minus(toric.corneal).magnitude_dpt for one in counting), default=0.0)
    if float(away) >= _MODELS_APART_DPT:
        yield note(
            "cornea-models-apart",
            f"The cornea models lie up to {float(away):.2f} D from the one planned on. The chances are taken "
            "over those that allow for the back, each as likely as any other.",
            "toric.models",
            "zonule-ranges",
        )
    if toric.model_sd_dpt and [one.key for one in counting] == [CorneaModelName.ANTERIOR]:
        yield warning(
            "back-unknown",
            "No model may speak of the back of this cornea, and it was not measured. The front is taken as "
            "it is, and the chances allow for the usual back and more.",
            "toric.models",
            "koch-2012",
        )


def _from_memory(toric: ToricPlan) -> Iterator[Finding]:
    names = [one.words for one in toric.models if one.counts and one.status == Status.FROM_MEMORY]
    if names:
        yield note(
            "cornea-models-from-memory",
            f"The coefficients of {' and of '.join(names)} were written from memory, and nobody has yet "
            "checked them against the papers.",
            "toric.models",
            "zonule-ranges",
        )


_MODELS_APART_DPT = 0.25


def _size_at(vector: Astigmatism) -> str:
    return f"{float(vector.magnitude_dpt):.2f} D at {_axis(float(vector.steep_meridian_deg))}"


def _axis(meridian_deg: float) -> str:
    """A meridian in whole degrees, above 0 and up to 180."""
    return f"{round(meridian_deg) % 180 or 180}\u00b0"


def _apart_deg(one_deg: float, other_deg: float) -> float:
    return abs(float(turned_by_deg(one_deg, other_deg)))


def _words(model: CorneaModelName | None) -> str:
    row = ADJUSTMENTS.get(model or "")
    return "The reading as total" if row is None else row.words
