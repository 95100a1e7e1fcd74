"""The theatre sheet: one page for the wall, with everything that must not be mistaken in large type."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from zonule.case.backup import Backup
from zonule.case.case import Case
from zonule.case.caution import CAUTION
from zonule.case.eye import Eye
from zonule.case.finding import Finding, Severity
from zonule.case.lens import LensModel
from zonule.case.plan import Intent, Plan
from zonule.case.toric import ToricPlan
from zonule.drawings.axis_words import planned_axis_words
from zonule.drawings.backup_sentences import BackupRow, barred_sentence, first_rows, more_sentence
from zonule.drawings.eye_face import eye_face
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import (
    axis_text,
    day_text,
    mm_text,
    power_text,
    refraction_text,
    size_text,
    sphero_cylinder_text,
    spread_text,
    time_text,
)
from zonule.drawings.seen_eye import before_operation, with_meridian
from zonule.drawings.sentences import (
    anisometropia_sentence,
    feared_side_text,
    lesson_sentence,
    odds_sentence,
)
from zonule.drawings.toric_sentences import slips_sentence
from zonule.errors import InconsistentRecordError
from zonule.science.astigmatism.marking import MARKINGS
from zonule.sheets.glyphs import FONT_FAMILY, FONTS, MISSING, STAND_IN_FAMILY, printable
from zonule.sheets.measurements import measurement_rows, measurement_source

_TEMPLATE = Path(__file__).with_name("theatre.typ")
_NAME_LETTERS, _KEY_LETTERS, _MODEL_LETTERS, _SIGNER_LETTERS = 64, 28, 36, 34
_FINDING_LETTERS, _REASON_LETTERS, _SOURCE_LETTERS, _LESSON_LETTERS = 240, 420, 100, 220
_FELLOW_LETTERS = 330
_BACKUP_LENS_LETTERS, _BACKUP_NOTE_LETTERS = 34, 300
_BACKUP_HEADS = BackupRow("Where", "Lens", "Power", "Expected", "Wanted, by where it lies", "Step rule")
_BACKUP_CAUTION = "Distances and step rule are from memory; the planned lens is the large one above."
_LESSONS = 1
_AXIS_LETTERS = 300
_DIGEST_LETTERS = 12
_ORDER = {Severity.BLOCKING: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def theatre_sheet(case: Case, plan: Plan, *, printed_at: datetime, catalogue_lens: LensModel | None) -> bytes:
    """The theatre sheet of a case as a PDF of one page.

    Parameters
    ----------
    case
        The case. When it is signed, the sheet shows what was signed, and says when the record has moved on.
    plan
        The plan of the signed request, or of the draft.
    printed_at
        The moment of printing, with its zone; also the date of the document.
    catalogue_lens
        The lens of the plan, for its optic.

    Returns
    -------
    bytes
        PDF/A-2a and PDF/UA-1; the same input gives the same bytes.

    Raises
    ------
    InconsistentRecordError
        If the plan is not the one that was signed, or of another eye.
    """
    import typst

    _check_same_eye(case, plan)
    data = json.dumps(_sheet(case, plan, printed_at, catalogue_lens), ensure_ascii=True, sort_keys=True)
    return typst.compile(
        str(_TEMPLATE),
        root=str(_TEMPLATE.parent),
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=[str(FONTS)]),
        sys_inputs={"sheet": data},
        format="pdf",
        pdf_standards=["a-2a", "ua-1"],
        timestamp=printed_at.replace(microsecond=0),
    )


def _check_same_eye(case: Case, plan: Plan) -> None:
    if plan.request.eye.side is not case.side:
        raise InconsistentRecordError("The plan is of the other eye. No sheet is printed.")
    if case.signed is not None and plan.request != case.signed.request:
        raise InconsistentRecordError("The plan is not the one that was signed. No sheet is printed.")


def _sheet(case: Case, plan: Plan, printed_at: datetime, lens: LensModel | None) -> dict[str, Any]:
    shown = with_meridian(before_operation(case), plan)
    face = eye_face(shown, seat=shown.intent.seat, lens=lens)
    return {
        "colours": {
            name: getattr(PAPER, name) for name in ("ink", "muted", "grid", "accent", "amber", "amber_wash")
        },
        "fonts": [FONT_FAMILY, STAND_IN_FAMILY],
        "side": str(case.side),
        "is_draft": case.signed is None,
        "notices": [printable(notice) for notice in (*_notices(case), *_stops(case, plan))],
        "listed": f"List of {day_text(case.listed_on)}" if case.listed_on else "No day set",
        **_patient(case, printed_at),
        **_lens(shown.intent, plan, case),
        **_cylinder(shown, plan),
        "rows": [[printable(cell) for cell in row] for row in measurement_rows(shown.eye)],
        "measured": _clipped(measurement_source(shown.eye.biometry), _SOURCE_LETTERS),
        **_if_the_capsule_tears(plan.backup),
        "fellow": _clipped(" ".join(_fellow(plan, case)), _FELLOW_LETTERS),
        "eye_svg": face.svg,
        "eye_alt": face.description,
        **_findings(case, plan),
        "signed": [printable(line) for line in _signature(case)],
        "printed": f"Printed {time_text(printed_at)} by zonule {plan.software_version}",
        "caution": CAUTION,
    }


def _notices(case: Case) -> list[str]:
    """What makes this sheet one to stop at."""
    notices = []
    if case.operation is not None:
        notices.append(f"This eye was operated on {day_text(case.operation.operated_on)}.")
    if case.signed is None:
        return notices
    if case.eye != case.signed.request.eye:
        notices.append("The eye's record changed after signing; this sheet shows what was signed.")
    if case.intent != case.signed.intent:
        notices.append("A later draft differs from the signed plan; this sheet shows what was signed.")
    return notices


def _stops(case: Case, plan: Plan) -> list[str]:
    """What blocks the plan of a signed eye when it is computed again; a draft lists it with its findings."""
    if case.signed is None:
        return []
    blocking = [one.sentence for one in plan.findings if one.severity is Severity.BLOCKING]
    more = f" ({len(blocking) - 1} more on the screen)" if len(blocking) > 1 else ""
    return [f"STOP. {_clipped(one, _FINDING_LETTERS)}{more}" for one in blocking[:1]]


def _patient(case: Case, printed_at: datetime) -> dict[str, str]:
    patient = case.patient
    name = _clipped(patient.name, _NAME_LETTERS) or "No name on record"
    born = "birth date not on record"
    if patient.born_on is not None:
        born = f"born {day_text(patient.born_on)}, {patient.age_years(printed_at.date())} years"
    is_incomplete = name.count(MISSING) > patient.name.count(MISSING)
    warning = f"{MISSING} stands for a letter this sheet cannot print." if is_incomplete else ""
    return {"name": name, "key": _clipped(patient.key, _KEY_LETTERS), "born": born, "name_warning": warning}


def _lens(intent: Intent, plan: Plan, case: Case) -> dict[str, str]:
    power, aim = intent.lens_power_dpt, plan.request.target_refraction_dpt
    model = intent.lens_model or "No lens chosen"
    lessons = [lesson_sentence(use) for use in plan.lessons if use.used][:_LESSONS]
    return {
        "model": _clipped(model, _MODEL_LETTERS),
        "power": "" if power is None else power_text(power),
        "aim": "no aim" if aim is None else refraction_text(aim),
        "expected": _expected(power, plan, case),
        "odds": "" if power is None else odds_sentence(plan, power),
        "feared": f"Worse for this patient: a miss on the {feared_side_text(intent.feared_side)} side.",
        "lessons": _clipped(" ".join(lessons), _LESSON_LETTERS),
    }


def _cylinder(shown: Case, plan: Plan) -> dict[str, str]:
    """Cylinder and meridian of a toric lens, where they lie, and what stands behind them; else all empty."""
    intent, axis = shown.intent, planned_axis_words(shown)
    told = {"cylinder": "", "marks": "", "axis_words": axis, "axis_stands_on": ""}
    if not axis or intent.lens_cylinder_dpt is None or intent.lens_meridian_deg is None:
        lens = plan.request.lens
        has_choice = lens is not None and bool(lens.cylinders_dpt)
        return told | {"cylinder": "none" if has_choice and intent.lens_cylinder_dpt == 0.0 else ""}
    return told | {
        "cylinder": size_text(intent.lens_cylinder_dpt),
        "marks": axis_text(intent.lens_meridian_deg),
        "axis_stands_on": _clipped(" ".join(_axis_stands_on(intent, plan.toric)), _AXIS_LETTERS),
    }


def _axis_stands_on(intent: Intent, toric: ToricPlan | None) -> Iterator[str]:
    marking = "not stated" if intent.marking is None else MARKINGS[intent.marking].words
    yield f"Marking: {marking}."
    if toric is None:
        return
    yield f"Cornea by {toric.model.words}."
    option = toric.option(intent.lens_cylinder_dpt or 0.0)
    if option is not None:
        yield slips_sentence(toric, option)


def _expected(power: float | None, plan: Plan, case: Case) -> str:
    if power is None:
        return "not known"
    prediction = plan.expected_of(power)
    if case.signed is not None:
        refraction_dpt = case.signed.predicted_refraction_dpt
    elif prediction is not None:
        refraction_dpt = prediction.refraction_dpt
    else:
        return "not known"
    spread = None if prediction is None or prediction.spread is None else prediction.spread.sd_dpt
    return f"{refraction_text(refraction_dpt)} {spread_text(spread, 2, 'D')}".replace(" spread", ", spread")


def _if_the_capsule_tears(backup: Backup | None) -> dict[str, Any]:
    """The first lens for each place, and what must not lie in the sulcus; no rows without a power."""
    if backup is None or not backup.lenses:
        return {"backup_heads": [], "backup_rows": [], "backup_note": ""}
    rows = [row._replace(lens=_clipped(row.lens, _BACKUP_LENS_LETTERS)) for row in first_rows(backup)]
    notes = (barred_sentence(backup), more_sentence(backup), _BACKUP_CAUTION)
    return {
        "backup_heads": list(_BACKUP_HEADS),
        "backup_rows": [[printable(cell) for cell in row] for row in rows],
        "backup_note": _clipped(" ".join(one for one in notes if one), _BACKUP_NOTE_LETTERS),
    }


def _fellow(plan: Plan, case: Case) -> list[str]:
    fellow = plan.request.fellow or case.fellow
    side = case.side.other.capitalize()
    if fellow is None:
        return [f"{side} eye (fellow): nothing on record."]
    return [line for line in (_fellow_numbers(fellow, side), anisometropia_sentence(plan)) if line]


def _fellow_numbers(fellow: Eye, side: str) -> str:
    length, mean_k = fellow.biometry.axial_length_mm, fellow.biometry.keratometry.mean_k_dpt
    parts = [
        "axial length not measured" if length is None else f"axial length {mm_text(length.value)}",
        "cornea not measured" if mean_k is None else f"mean K {size_text(mean_k)}",
    ]
    if fellow.biometry.lens_status is not None:
        parts.append(f"lens: {fellow.biometry.lens_status.replace('_', ' ')}")
    if fellow.history.glasses is not None:
        parts.append(f"glasses {sphero_cylinder_text(fellow.history.glasses)}")
    return f"{side} eye (fellow): {', '.join(parts)}."


def _findings(case: Case, plan: Plan) -> dict[str, Any]:
    """All findings, the gravest first; the page shows as many as find room and counts the rest."""
    signed = case.signed
    standing = plan.findings if signed is None else signed.warnings
    ordered = sorted(standing, key=lambda finding: _ORDER[finding.severity])
    return {
        "findings_title": "Findings, open" if signed is None else "Findings left standing when signed",
        "findings": [
            {"word": _severity_word(one), "sentence": _clipped(one.sentence, _FINDING_LETTERS)}
            for one in ordered
        ],
        "reasons": "" if signed is None else _clipped(signed.reasons, _REASON_LETTERS),
    }


def _severity_word(finding: Finding) -> str:
    return {Severity.BLOCKING: "Resolve first", Severity.WARNING: "Look again", Severity.NOTE: "Note"}[
        finding.severity
    ]


def _signature(case: Case) -> list[str]:
    signed = case.signed
    if signed is None:
        return ["Nobody has signed this plan."]
    lines = [
        f"{_clipped(signed.signed_by, _SIGNER_LETTERS)} (name typed, not verified)",
        time_text(signed.signed_at),
        f"Plan {signed.digest[:_DIGEST_LETTERS]}, computed by zonule {signed.software_version}",
    ]
    if signed.replaces:
        lines.append(f"Takes the place of plan {signed.replaces[:_DIGEST_LETTERS]}")
    return lines


def _clipped(text: str, letters: int) -> str:
    """Printable text of at most this many letters, with dots where it was cut."""
    text = printable(text)
    return text if len(text) <= letters else f"{text[: letters - 1].rstrip()}\u2026"
