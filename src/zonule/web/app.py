"""The browser app: routes, guard, and one map from families of errors to answers."""

from __future__ import annotations

from fastapi import FastAPI, Request
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
from zonule.web import day, learn, measure, operate, plan, review
from zonule.web.pages import SEE_OTHER, STATIC, Parts, case_url, parts, show, template_environment
from zonule.web.security import guard, new_token

STATUS: dict[type[ZonuleError], int] = {
    NotInRecordError: 404,
    ChangedMeanwhileError: 409,
    InputError: 422,
    ExchangeError: 422,
    ScienceError: 422,
    ConfigurationError: 500,
    StorageError: 503,
}


def create_app(held: Parts, *, port: int) -> FastAPI:
    """The app over these parts, answering only to this port of the loopback address."""
    app = FastAPI(title="zonule", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.parts = held
    app.state.token = new_token()
    app.state.templates = template_environment()
    guard(app, port)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for module in (day, measure, plan, operate, review, learn):
        app.include_router(module.router)
    app.add_api_route("/cases/{key}", open_case, methods=["GET"])
    app.add_exception_handler(ZonuleError, explain)
    app.add_exception_handler(HTTPException, explain_http)
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
    """The same for addresses that do not exist and methods that are not allowed."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    missing = "There is no such page. Go back to the day list and open the eye from there."
    return show(request, "error.html", status=status, problem=missing, title="Not found")
