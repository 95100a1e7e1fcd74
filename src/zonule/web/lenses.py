"""The catalogue of lenses: what can be ordered, and with which constants plans are computed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.biometry import LengthConvention
from zonule.case.lens import Focus, Haptic, Material
from zonule.errors import InputError
from zonule.web.lens_form import FIELDS, NOTED, as_typed, typed_lens
from zonule.web.pages import Write, parts, show, write_or_explain
from zonule.workflow.catalogue import save_lens

router = APIRouter(prefix="/lenses")


@router.get("")
def lenses_page(request: Request, name: str = "") -> Response:
    """Every lens of the catalogue, and the form for one of them or a new one."""
    lens = parts(request).record.lens(name) if name else None
    return _page(request, "", as_typed(lens) if lens else {})


@router.get("/catalogue.json")
def catalogue_file(request: Request) -> Response:
    """The catalogue as a file, to keep or to hand on."""
    held = parts(request)
    headers = {"content-disposition": 'attachment; filename="lenses.json"'}
    return Response(held.lens_catalogue(held.record.lenses()), media_type="application/json", headers=headers)


@router.post("")
def save(request: Request, typed: Write, name: str = "") -> Response:
    """Change the lens that the form was opened with, or add one."""
    held = parts(request)

    def act() -> None:
        lens = typed_lens(typed.values)
        if lens.name != name and held.record.lens(lens.name) is not None:
            raise InputError(
                f"{lens.name} is in the catalogue already. Open it from the list to change it; "
                "nothing was saved."
            )
        save_lens(held.record, lens, who=typed.signer, now=held.now())

    return write_or_explain(act, "/lenses", typed, partial(_page, request))


def _page(request: Request, problem: str, values: Mapping[str, str]) -> Response:
    return show(
        request,
        "lenses.html",
        status=422 if problem else 200,
        problem=problem,
        values={**dict.fromkeys(FIELDS, ""), **values},
        lenses=parts(request).record.lenses(),
        conventions=list(LengthConvention),
        haptics=list(Haptic),
        materials=list(Material),
        focuses=list(Focus),
        noted=NOTED,
    )
