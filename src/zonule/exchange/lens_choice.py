"""Which lens a file means: one of the catalogue, one it describes itself, or both together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from zonule.case.finding import Finding, note
from zonule.case.lens import LensModel, Material
from zonule.exchange.lens_forms import LensForm, PowersForm
from zonule.exchange.lens_records import (
    geometry_record,
    lens_record,
    notes_record,
    own_constants,
    powers_record,
)
from zonule.exchange.refusal import FORMAT, did_you_mean, problem, shown

FROM_THE_FILE = "the eye file"


def chosen_lens(
    form: LensForm | None, lenses: Mapping[str, LensModel]
) -> tuple[LensModel | None, tuple[Finding, ...]]:
    """The lens a file means, and what to know about it; absent when it cannot be told which powers it has."""
    if form is None:
        return None, ()
    listed = lenses.get(form.model or "")
    if listed is not None:
        return _changed(listed, form)
    if form.powers_dpt is None:
        return None, (_unknown(form, lenses),)
    return _described(form, form.powers_dpt)


def _described(form: LensForm, powers: PowersForm) -> tuple[LensModel, tuple[Finding, ...]]:
    lens = lens_record(form, powers, _material(form), form.constants_from or FROM_THE_FILE)
    if form.model:
        return lens, ()
    sentence = "The lens has constants but no name, so no lesson can be matched to it."
    return lens, (note("lens-unnamed", sentence, "lens.model", FORMAT),)


def _changed(listed: LensModel, form: LensForm) -> tuple[LensModel, tuple[Finding, ...]]:
    """A lens of the catalogue with what the file says instead, each difference told."""
    own = own_constants(form)
    before = {name: getattr(listed.constants, name) for name in own}
    differing = [name for name in own if own[name] != before[name]]
    changes = _other_changes(form)
    if "constants_notes" not in changes:
        of_the_old: dict[str, None] = dict.fromkeys(differing)
        changes["constants_notes"] = replace(listed.constants_notes, **of_the_old)
    lens = replace(listed, constants=replace(listed.constants, **own), **changes)
    if differing and form.constants_from is None:
        origin = f"{listed.constants_from or 'the catalogue'}; {', '.join(differing)} from {FROM_THE_FILE}"
        lens = replace(lens, constants_from=origin)
    return lens, tuple(_instead(name, own[name], before[name]) for name in differing)


def _instead(name: str, value: object, before: object) -> Finding:
    was = "the catalogue has none" if before is None else f"the catalogue has {_words(before)}"
    sentence = f"{name} {_words(value)} is taken from the file; {was}."
    return note("constant-from-file", sentence, f"lens.{name}", FORMAT)


def _words(value: object) -> str:
    return ", ".join(str(part) for part in value) if isinstance(value, tuple) else str(value)


def _other_changes(form: LensForm) -> dict[str, Any]:
    changes = {
        "powers": form.powers_dpt and powers_record(form.powers_dpt),
        "optic_mm": form.optic_mm,
        "material": _material(form),
        "constants_from": form.constants_from,
        "constants_lane_m": form.constants_lane_m,
        "constants_length": form.constants_length_convention,
        "biometer_family": form.biometer_family,
        "constants_notes": form.constants_notes and notes_record(form.constants_notes),
        "overall_mm": form.overall_mm,
        "haptic": form.haptic,
        "focus": form.focus,
        "cylinders_dpt": form.cylinders_dpt and tuple(form.cylinders_dpt),
        "geometry": geometry_record(form.geometry),
    }
    return {name: value for name, value in changes.items() if value is not None}


def _material(form: LensForm) -> Material | None:
    """The material in a known word if one is meant, else as written; the plan asks where it matters."""
    written = Material(form.material) if form.material else None
    return written and (written.known or written)


def _unknown(form: LensForm, lenses: Mapping[str, LensModel]) -> Finding:
    if not form.model:
        sentence = "The file does not say which powers the lens is made in. Add lens.powers_dpt."
        return problem("lens-powers-missing", sentence, "lens.powers_dpt")
    sentence = (
        f"The lens {shown(form.model)} is not in the catalogue, and the file does not say which powers it is "
        f"made in.{did_you_mean(form.model, lenses)} Correct lens.model, or add lens.powers_dpt."
    )
    return problem("lens-unknown", sentence, "lens.model")
