"""The catalogue of lenses: what can be ordered, and with which constants plans are computed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.biometry import LengthConvention
from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.errors import InputError
from zonule.web import forms
from zonule.web.pages import Write, parts, show, write_or_explain
from zonule.workflow.catalogue import save_lens

router = APIRouter(prefix="/lenses")

FIELDS = (
    *("name", "from_dpt", "to_dpt", "step_dpt", "a_constant", "surgeon_factor", "p_acd", "a0", "a1", "a2"),
    *("constants_from", "constants_lane_m", "constants_length", "optic_mm", "material"),
)


@router.get("")
def lenses_page(request: Request, name: str = "") -> Response:
    """Every lens of the catalogue, and the form for one of them or a new one."""
    lens = parts(request).record.lens(name) if name else None
    return _page(request, "", _as_recorded(lens) if lens else {})


@router.post("")
def save(request: Request, typed: Write) -> Response:
    """Add a lens or change it."""
    held = parts(request)
    return write_or_explain(
        lambda: save_lens(held.record, _lens(typed.values), who=typed.signer, now=held.now()),
        "/lenses",
        typed,
        partial(_page, request),
    )


def _page(request: Request, problem: str, values: Mapping[str, str]) -> Response:
    return show(
        request,
        "lenses.html",
        status=422 if problem else 200,
        problem=problem,
        values={**dict.fromkeys(FIELDS, ""), **values},
        lenses=parts(request).record.lenses(),
        conventions=list(LengthConvention),
    )


def _as_recorded(lens: LensModel) -> dict[str, str]:
    constants = lens.constants
    haigis = constants.haigis or (None, None, None)
    held: dict[str, object] = {
        "name": lens.name,
        "from_dpt": lens.powers.from_dpt,
        "to_dpt": lens.powers.to_dpt,
        "step_dpt": lens.powers.step_dpt,
        "a_constant": constants.a_constant,
        "surgeon_factor": constants.surgeon_factor,
        "p_acd": constants.p_acd,
        **dict(zip(("a0", "a1", "a2"), haigis, strict=True)),
        "constants_from": lens.constants_from,
        "constants_lane_m": lens.constants_lane_m,
        "constants_length": lens.constants_length,
        "optic_mm": lens.optic_mm,
        "material": lens.material,
    }
    return {name: "" if value is None else str(value) for name, value in held.items()}


def _lens(form: Mapping[str, str]) -> LensModel:
    return LensModel(
        name=forms.needed_text(form, "name", "the name of the lens"),
        powers=PowerRange(
            forms.needed_number(form, "from_dpt", "the lowest power"),
            forms.needed_number(form, "to_dpt", "the highest power"),
            forms.needed_number(form, "step_dpt", "the step between powers"),
        ),
        constants=_constants(form),
        optic_mm=forms.number(form, "optic_mm", "the width of the optic"),
        material=forms.text(form, "material"),
        constants_from=forms.needed_text(form, "constants_from", "where the constants come from"),
        constants_lane_m=forms.number(form, "constants_lane_m", "the lane of the constants"),
        constants_length=forms.choice(form, "constants_length", LengthConvention, "the kind of length"),
    )


def _constants(form: Mapping[str, str]) -> LensConstants:
    a0, a1, a2 = (forms.number(form, name, f"the Haigis constant {name}") for name in ("a0", "a1", "a2"))
    known = [value for value in (a0, a1, a2) if value is not None]
    if len(known) not in {0, 3}:
        raise InputError("The three Haigis constants are valid only together: enter all of them, or none.")
    return LensConstants(
        a_constant=forms.number(form, "a_constant", "the A-constant"),
        surgeon_factor=forms.number(form, "surgeon_factor", "the surgeon factor"),
        p_acd=forms.number(form, "p_acd", "the pACD"),
        haigis=(known[0], known[1], known[2]) if known else None,
    )
