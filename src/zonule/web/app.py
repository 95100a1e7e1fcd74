"""The browser app: routes, guard, and one map from families of errors to answers."""

from __future__ import annotations

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.staticfiles import StaticFiles

from zonule.errors import (
    ChangedMeanwhileError,
    ConfigurationError,
    ExchangeError,
    InputError,
    NotInRecordError,
    ScienceError,
    StorageError,
    ZonuleError,
)
from zonule.web import (
    astigmatism,
    axis_visit,
    day,
    follow_up,
    learn,
    learn_astigmatism,
    lenses,
    measure,
    operate,
    plan,
    review,
    surprise,
)
from zonule.web.pages import SEE_OTHER, STATIC, Parts, case_url, parts, show, template_environment
from zonule.web.security import guard, new_token, with_headers

STATUS: dict[type[ZonuleError], int] = {
    NotInRecordError: 404,
    ChangedMeanwhileError: 409,
    InputError: 422,
    ExchangeError: 422,
    ScienceError: 422,
    ConfigurationError: 500,
    StorageError: 503,
}

MODULES = (
    astigmatism,
    axis_visit,
    day,
    follow_up,
    lenses,
    measure,
    plan,
    operate,
    review,
    surprise,
    learn,
    learn_astigmatism,
)
"""Every module with addresses of its own."""

NO_SUCH_PAGE = frozenset({404, 405})


def create_app(held: Parts, *, port: int) -> FastAPI:
    """The app over these parts, answering only to this port of the loopback address."""
    app = FastAPI(title="zonule", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.parts = held
    app.state.token = new_token()
    app.state.templates = template_environment()
    guard(app, port)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for module in MODULES:
        app.include_router(module.router)
    app.add_api_route("/cases/{key:path}", open_case, methods=["GET"])
    app.add_exception_handler(ZonuleError, explain)
    app.add_exception_handler(HTTPException, explain_http)
    app.add_exception_handler(RequestValidationError, explain_address)
    app.add_exception_handler(Exception, explain_ours)
    return app


def open_case(request: Request, key: str) -> Response:
    """Go to the stage where this case stands."""
    case = parts(request).record.case(key)
    return RedirectResponse(case_url(key, case.stage), SEE_OTHER)


def explain(request: Request, error: Exception) -> Response:
    """A page that says what is wrong and what to do."""
    status = next((code for family, code in STATUS.items() if isinstance(error, family)), 500)
    return show(request, "error.html", status=status, problem=str(error), title="That did not work")


def explain_http(request: Request, error: Exception) -> Response:
    """The same for addresses that do not exist and requests that cannot be read."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    if status in NO_SUCH_PAGE:
        problem = "There is no such page. Go back to the day list and open the eye from there."
        return show(request, "error.html", status=status, problem=problem, title="Not found")
    problem = "What the browser sent could not be read, so nothing was saved. Go back, and try again."
    return show(request, "error.html", status=status, problem=problem, title="That did not work")


def explain_address(request: Request, _error: Exception) -> Response:
    """The same for an address whose date or number cannot be read."""
    problem = "This address holds something that cannot be read. Open the page from the day list."
    return show(request, "error.html", status=422, problem=problem, title="That did not work")


def explain_ours(request: Request, _error: Exception) -> Response:
    """The same for an error of ours; what went wrong is in the window where zonule runs."""
    problem = (
        "zonule made an error of its own, which is described in the window where it runs. Open the case "
        "again before you go on: it shows what was saved."
    )
    page = show(request, "error.html", status=500, problem=problem, title="An error of ours")
    return with_headers(page, request.url.path)
