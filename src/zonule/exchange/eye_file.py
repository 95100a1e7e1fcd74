"""The eye file: one eye and what is asked about it, read and written (docs/reference/eye-file.md)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from zonule.case.eye import Eye
from zonule.case.finding import Finding, note, warning
from zonule.case.lens import LensModel
from zonule.case.patient import Patient, Side
from zonule.case.plan import FearedSide, PlanRequest
from zonule.case.second_eye import FellowOutcome
from zonule.exchange.eye_file_text import eye_as_dict
from zonule.exchange.fellow_outcome import fellow_outcome_record
from zonule.exchange.forms import BiometryForm, EyeFileForm, FellowForm
from zonule.exchange.json_text import read_json_object
from zonule.exchange.lens_choice import chosen_lens
from zonule.exchange.pair_wishes import pair_wishes_record
from zonule.exchange.records import Source, eye_record, lesson_record, patient_record
from zonule.exchange.refusal import FORMAT, file_name, refused
from zonule.exchange.toric_wishes import incision_record, toric_wishes_record
from zonule.exchange.validation import filled
from zonule.workflow.backup import backup_candidates

__all__ = ["LIMIT_BYTES", "eye_as_dict", "read_eye_request"]

LIMIT_BYTES = 1_000_000

_FOR_THE_PLAN = ("target_refraction_dpt", "lens", "toric", "incision", "lessons", "feared_side", "surgeon")


def read_eye_request(
    text: str | bytes, *, file: str, lenses: Mapping[str, LensModel] | None = None
) -> tuple[Patient, PlanRequest, tuple[Finding, ...]]:
    """Patient and request that an eye file states, and findings about keys that had no effect.

    Parameters
    ----------
    text
        The file: JSON in UTF-8, at most 1 MB.
    file
        Its name, for the source of each number.
    lenses
        The catalogue, by name; constants in the file go before it.

    Returns
    -------
    tuple
        Patient, request, and findings. What the file leaves out is absent from the request.

    Raises
    ------
    RefusedFileError
        With one finding for each key that cannot be taken.
    """
    name = file_name(file)
    form = filled(EyeFileForm, read_json_object(text, file=name, limit_bytes=LIMIT_BYTES))
    fellow = _fellow(form, name)
    catalogue = lenses or {}
    lens, lens_findings = chosen_lens(form.lens, catalogue)
    outcome, outcome_findings = _outcome(form)
    eye = eye_record(form.eye, form.biometry, form.history, form.readiness, _source(name, ""))
    request = PlanRequest(
        eye=eye,
        lens=lens,
        target_refraction_dpt=form.target_refraction_dpt,
        fellow=fellow,
        feared_side=form.feared_side or FearedSide.HYPEROPIC,
        surgeon=form.surgeon or "",
        lessons=tuple(lesson_record(lesson) for lesson in form.lessons or ()),
        fellow_outcome=outcome,
        backups=() if lens is None else backup_candidates(lens, tuple(catalogue.values())),
        pair=None if form.pair is None else pair_wishes_record(form.pair),
        incision=incision_record(form.incision),
        toric=toric_wishes_record(form.toric),
    )
    findings = (*lens_findings, *outcome_findings, *_without_effect(form))
    return patient_record(form.patient), request, findings


def _outcome(form: EyeFileForm) -> tuple[FellowOutcome | None, tuple[Finding, ...]]:
    """What the fellow eye got, when the file tells."""
    if form.fellow is None or form.fellow.outcome is None:
        return None, ()
    return fellow_outcome_record(form.fellow.outcome)


def _source(file: str, prefix: str) -> Source:
    return lambda name: f"{file}: {prefix}biometry.{name}"


def _fellow(form: EyeFileForm, file: str) -> Eye | None:
    fellow = form.fellow
    if fellow is None:
        return None
    side: Side = form.eye.other
    if fellow.eye is not None and fellow.eye is not side:
        raise refused(
            "same-eye-twice",
            f"The eye and its fellow are both given as the {fellow.eye} eye. Correct one of them.",
            "fellow.eye",
        )
    return eye_record(side, fellow.biometry, fellow.history, fellow.readiness, _source(file, "fellow."))


def _without_effect(form: EyeFileForm) -> Iterator[Finding]:
    yield from _in_biometry(form.biometry, "biometry.")
    yield from _glasses_taken(form, "history.")
    if form.fellow is not None:
        yield from _of_the_fellow(form.fellow)


def _of_the_fellow(fellow: FellowForm) -> Iterator[Finding]:
    for name in _FOR_THE_PLAN:
        if getattr(fellow, name) is not None:
            yield note(
                "key-not-used",
                "This is read and checked, but a plan for the first eye takes only the fellow eye's "
                "measurements, history and readiness.",
                f"fellow.{name}",
                FORMAT,
            )
    yield from _in_biometry(fellow.biometry, "fellow.biometry.")
    yield from _glasses_taken(fellow, "fellow.history.")


def _in_biometry(biometry: BiometryForm | None, place: str) -> Iterator[Finding]:
    if biometry is None:
        return
    for name, readings in biometry.repeats or ():
        if readings is not None and getattr(biometry, name) is None:
            sentence = (
                f"Single readings of {name} are given without the value to use. None is made up from them."
            )
            yield warning("repeats-without-value", sentence, f"{place}repeats.{name}", FORMAT)
    for name, spread in biometry.spreads or ():
        if spread is not None and getattr(biometry, name) is None:
            sentence = f"A spread of {name} is given without the value. It has no effect."
            yield warning("spread-without-value", sentence, f"{place}spreads.{name}", FORMAT)


def _glasses_taken(form: EyeFileForm | FellowForm, place: str) -> Iterator[Finding]:
    """What is taken where a file that gives glasses is silent about them."""
    glasses = form.history.glasses if form.history else None
    if glasses is None or glasses.sphere_dpt is None:
        return
    if glasses.cylinder_dpt is None:
        sentence = "The glasses come without a cylinder; none is taken."
        yield note("cylinder-not-given", sentence, f"{place}glasses.cylinder_dpt", FORMAT)
    if glasses.vertex_mm is None:
        sentence = "The glasses come without a vertex distance; 12 mm is taken."
        yield note("vertex-not-given", sentence, f"{place}glasses.vertex_mm", FORMAT)
