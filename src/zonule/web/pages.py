"""What every page shares: the parts behind it, its template, and how a write ends."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote, unquote

from fastapi import Depends, Request
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule import __version__
from zonule.case.case import Case, Stage
from zonule.case.caution import CAUTION, CAUTION_SHORT
from zonule.case.finding import Finding
from zonule.case.intake import Intake
from zonule.case.lens import LensModel
from zonule.case.plan import Plan
from zonule.drawings import (
    astigmatism_results_sentences,
    backup_sentences,
    learned_sentences,
    numbers,
    pair_sentences,
    rotation_sentences,
    sentences,
    toric_sentences,
    words,
    worth_sentences,
)
from zonule.drawings.doubts import doubts_of
from zonule.drawings.svg import Drawing
from zonule.errors import InputError, ZonuleError
from zonule.web import backup_table
from zonule.web.security import is_token
from zonule.workflow.ports import Record

STATIC = Path(__file__).parent / "static"
NOBODY = "not named"
WHO_COOKIE = "zonule_who"
SEE_OTHER = 303
PHONE_WIDTH = 340
LONGEST_NAME = 80
YEAR_SECONDS = 365 * 24 * 3600


@dataclass(frozen=True, slots=True)
class Parts:
    """What the wiring hands to the app."""

    record: Record
    now: Callable[[], datetime]
    today: Callable[[], date]
    theatre_sheet: Callable[[Case, Plan, LensModel | None], bytes]
    read_biometry: Callable[[bytes, str], Intake]
    is_lens_catalogue: Callable[[bytes], bool]
    read_lens_catalogue: Callable[[bytes, str], tuple[tuple[LensModel, ...], tuple[Finding, ...]]]
    lens_catalogue: Callable[[Iterable[LensModel]], bytes]


@dataclass(frozen=True, slots=True)
class TwoWidths:
    """One drawing for a desk and for a phone; the style sheet shows one of them."""

    wide: Drawing
    narrow: Drawing


def two_widths(draw: Callable[[int], Drawing], wide: int) -> TwoWidths:
    """The same drawing at its full width and at a phone's."""
    return TwoWidths(draw(wide), draw(PHONE_WIDTH))


@dataclass(frozen=True, slots=True)
class Typed:
    """A checked write: what was typed, and who says they typed it."""

    values: dict[str, str]
    who: str

    @property
    def signer(self) -> str:
        """Who answers for this; a write that needs a name is refused without one."""
        if not self.who:
            raise InputError("Please enter your name.")
        return self.who


def template_environment() -> Environment:
    """The templates, escaping everything, with the number words that screen and sheet share."""
    environment = Environment(
        loader=PackageLoader("zonule.web", "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        numbers=numbers,
        sentences=sentences,
        astigmatism_results_sentences=astigmatism_results_sentences,
        backup_sentences=backup_sentences,
        learned_sentences=learned_sentences,
        pair_sentences=pair_sentences,
        rotation_sentences=rotation_sentences,
        toric_sentences=toric_sentences,
        worth_sentences=worth_sentences,
        backup_table=backup_table,
        words=words,
        caution=CAUTION,
        caution_short=CAUTION_SHORT,
        version=__version__,
    )
    environment.filters["svg"] = lambda drawing: Markup(drawing.svg)  # noqa: S704 - our own drawing, escaped there
    environment.filters["segment"] = lambda text: quote(text, safe="")
    environment.filters["said_once"] = doubts_of
    environment.filters["words"] = lambda value: str(value).replace("_", " ")
    return environment


def parts(request: Request) -> Parts:
    """The parts behind this app."""
    held: Parts = request.app.state.parts
    return held


async def checked_form(request: Request) -> AsyncIterator[Typed]:
    """The fields of a write, once its token has been checked; files are left to the import page."""
    async with request.form() as form:
        values = {name: value for name, value in form.items() if isinstance(value, str)}
        if not is_token(request.app.state.token, values.pop("token", "")):
            raise InputError("This page is from an earlier run of zonule. Open it again; nothing was saved.")
        who = values["who"].strip() if "who" in values else remembered_name(request)
        if len(who) > LONGEST_NAME:
            raise InputError(f"A name of more than {LONGEST_NAME} letters is not kept; nothing was saved.")
        yield Typed(values, who)


def remembered_name(request: Request) -> str:
    """The name last typed in this browser; unverified."""
    return unquote(request.cookies.get(WHO_COOKIE, "")).strip()


async def uploaded_file(request: Request) -> UploadFile | None:
    """The file of an import, when one was chosen."""
    file = (await request.form()).get("file")
    return file if isinstance(file, UploadFile) and file.filename else None


Write = Annotated[Typed, Depends(checked_form)]
Upload = Annotated[UploadFile | None, Depends(uploaded_file)]


def show(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """A page made from a template."""
    environment: Environment = request.app.state.templates
    page = environment.get_template(template).render(
        token=request.app.state.token,
        who=remembered_name(request),
        today=parts(request).today(),
        **context,
    )
    return HTMLResponse(page, status)


def go(url: str, typed: Typed | None = None) -> RedirectResponse:
    """Send the browser on after a write, so that a reload writes nothing; remember the typed name."""
    response = RedirectResponse(url, SEE_OTHER)
    if typed is not None and typed.who:
        response.set_cookie(
            WHO_COOKIE, quote(typed.who), max_age=YEAR_SECONDS, httponly=True, samesite="strict"
        )
    return response


def case_url(key: str, stage: Stage | str = "") -> str:
    """The address of a case, or of one of its stages."""
    address = f"/cases/{quote(key, safe='')}"
    return f"{address}/{stage}" if stage else address


def write_or_explain(
    write: Callable[[], object],
    next_url: str,
    typed: Typed,
    explain: Callable[[str, Mapping[str, str]], Response],
) -> Response:
    """Do a write and go on; or show the same page with what was typed and what to correct."""
    try:
        write()
    except ZonuleError as error:
        return explain(str(error), typed.values)
    return go(next_url, typed)
