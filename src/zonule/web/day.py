"""The day list, bringing files in, and the trail."""

from __future__ import annotations

from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.errors import InputError
from zonule.web.pages import WHO_COOKIE, Upload, Write, go, parts, show
from zonule.workflow.catalogue import take_in_lenses
from zonule.workflow.measure import take_in
from zonule.workflow.ports import Record

router = APIRouter()


@router.get("/")
def day_list(request: Request, day: date | None = None) -> Response:
    """The cases of a day; without one, of today or the nearest day that has any."""
    record, today = parts(request).record, parts(request).today()
    days = record.days()
    chosen = day or _nearest(record, today)
    index = [one for one, _ in days]
    earlier = max((one for one in index if one < chosen), default=None)
    later = min((one for one in index if one > chosen), default=None)
    undated = () if day else record.undated()
    return show(
        request,
        "day.html",
        day=chosen,
        earlier=earlier,
        later=later,
        listings=record.listings(chosen),
        undated=undated,
        any_case=bool(days or undated),
    )


@router.get("/import")
def import_page(request: Request) -> Response:
    """Where a file of measurements, or a catalogue of lenses, is chosen."""
    return _import_page(request)


@router.post("/import")
def import_file(request: Request, typed: Write, upload: Upload) -> Response:
    """Take a file in and show what came of each of its eyes or lenses."""
    if upload is None:
        raise InputError("Choose a file first.")
    held = parts(request)
    data, name = upload.file.read(), upload.filename or "file"
    if held.is_lens_catalogue(data):
        lenses, doubts = held.read_lens_catalogue(data, name)
        taken = take_in_lenses(held.record, lenses, file=name, who=typed.signer, now=held.now())
        return _import_page(request, lenses=taken, doubts=doubts, file=name)
    report = take_in(held.record, held.read_biometry(data, name), who=typed.signer, now=held.now())
    return _import_page(request, report=report)


@router.get("/trail")
def trail(request: Request, subject: str | None = None) -> Response:
    """Who did what, newest first, and whether the chain of hashes is whole."""
    record = parts(request).record
    return show(
        request,
        "trail.html",
        subject=subject,
        entries=record.trail(subject, 200),
        broken=record.broken_trail_entries(),
    )


@router.post("/name")
def remember_name(request: Request, typed: Write) -> Response:
    """Remember in this browser who is working, or forget it; the name is not verified."""
    response = go(request.headers.get("referer", "/"), typed)
    if not typed.who:
        response.delete_cookie(WHO_COOKIE)
    return response


def _import_page(request: Request, **came_of_it: Any) -> Response:
    nothing: dict[str, Any] = {"report": None, "lenses": None, "doubts": (), "file": ""}
    return show(request, "import.html", **(nothing | came_of_it))


def _nearest(record: Record, today: date) -> date:
    days = [one for one, _ in record.days()]
    return min(days, key=lambda one: (abs((one - today).days), one < today), default=today)
