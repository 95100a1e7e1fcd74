"""The catalogue of lenses: what can be ordered, and with which constants plans are computed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.biometry import LengthConvention
from zonule.case.lens import Focus, Haptic, Material
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
def save(request: Request, typed: Write) -> Response:
    """Add a lens or change it."""
    held = parts(request)
    return write_or_explain(
        lambda: save_lens(held.record, typed_lens(typed.values), who=typed.signer, now=held.now()),
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
        haptics=list(Haptic),
        materials=list(Material),
        focuses=list(Focus),
        noted=NOTED,
    )
