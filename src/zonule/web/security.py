"""Who may talk to the app: this machine's browser, from the app's own pages, with the token of this run."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable

from fastapi import FastAPI, Request, Response
from starlette.responses import PlainTextResponse

LARGEST_FORM_BYTES = 64 * 1024
LARGEST_UPLOAD_BYTES = 32 * 1024 * 1024
READS = frozenset({"GET", "HEAD"})

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def new_token() -> str:
    """A token for one run of the server."""
    return secrets.token_urlsafe(32)


def is_token(expected: str, given: str) -> bool:
    """Whether a form carries the token of this run; compared in constant time."""
    return hmac.compare_digest(expected.encode(), given.encode())


def guard(app: FastAPI, port: int) -> None:
    """Refuse other hosts always, and other origins and forms of unsaid length on every write."""
    hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
    origins = {f"http://{host}" for host in hosts}

    @app.middleware("http")
    async def check(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
        refusal = _refusal(request, hosts, origins)
        return with_headers(refusal if refusal is not None else await call_next(request), request.url.path)


def with_headers(response: Response, path: str) -> Response:
    """The answer with the headers that every answer has."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if not path.startswith("/static/"):
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def _refusal(request: Request, hosts: set[str], origins: set[str]) -> Response | None:
    if request.headers.get("host", "") not in hosts:
        return PlainTextResponse("zonule answers only on this machine, at its own address.", 421)
    if request.method in READS:
        return None
    if request.headers.get("origin", "") not in origins:
        return PlainTextResponse("This change did not come from zonule's own page; nothing was saved.", 403)
    limit = LARGEST_UPLOAD_BYTES if request.url.path == "/import" else LARGEST_FORM_BYTES
    length = request.headers.get("content-length", "")
    if "transfer-encoding" in request.headers or not length.isdecimal() or int(length) > limit:
        return PlainTextResponse("This form is larger than any that zonule sends; nothing was saved.", 413)
    return None
