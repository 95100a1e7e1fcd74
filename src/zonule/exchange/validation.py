"""From raw values to a filled-in form, with every problem told in plain sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from zonule.case.finding import Finding
from zonule.exchange.form_base import CONTRACT_VERSION, Form
from zonule.exchange.refusal import RefusedFileError, did_you_mean, problem, shown

FormT = TypeVar("FormT", bound=Form)

_REASONS = {
    "greater_than_equal": "it must be {ge:g} or more",
    "greater_than": "it must be more than {gt:g}",
    "less_than_equal": "it must be {le:g} or less",
    "string_too_short": "it must not be empty",
    "string_too_long": "it must not be longer than {max_length} characters",
    "string_pattern_mismatch": "it must stand on one line, without control characters",
    "too_short": "there must be at least {min_length}",
    "too_long": "there must be at most {max_length}",
}

WHOLE = "whole"
"""Where a problem stands that concerns a form as a whole, when the form is all there is."""

_TYPES = {
    "float_type": "a number without quotes or unit, such as 23.5",
    "int_type": "a whole number without quotes, such as 20",
    "int_from_float": "a whole number, such as 20",
    "string_type": "text in quotes",
    "list_type": "a list in brackets",
    "model_type": "a group of keys in braces",
    "date_type": "a date such as 2026-11-02",
    "finite_number": "a finite number",
}


def filled(form: type[FormT], values: dict[str, Any]) -> FormT:
    """The form filled in from a file; `RefusedFileError` with every problem when it cannot be.

    `where` of each problem is the dotted path of its key.
    """
    try:
        return form.model_validate(values)
    except ValidationError as error:
        raise RefusedFileError(form_problems(form, error)) from None


def form_problems(form: type[Form], error: ValidationError) -> list[Finding]:
    """Every problem of a form, each with the dotted path of its key."""
    return list(_as_findings(form, error.errors(include_url=False)))


def _as_findings(form: type[Form], details: Iterable[ErrorDetails]) -> Iterator[Finding]:
    for detail in details:
        where = ".".join(str(part) for part in detail["loc"])
        code, sentence = _told(form, detail)
        yield problem(code, sentence, where or WHOLE)


def _told(form: type[Form], detail: ErrorDetails) -> tuple[str, str]:
    kind, value, context = detail["type"], detail["input"], detail.get("ctx", {})
    if kind == "missing":
        return "missing-key", "This key is needed and is not there. Add it."
    if kind == "extra_forbidden":
        return "unknown-key", _unknown(form, detail["loc"])
    if detail["loc"] == ("zonule",):
        sentence = f"This is version {shown(value)} of the file; this program reads {CONTRACT_VERSION}."
        return "unknown-version", sentence
    if kind in _TYPES:
        return "wrong-type", f"This must be {_TYPES[kind]}; it is {shown(value)}."
    return _about_value(kind, value, detail["msg"], context)


def _about_value(kind: str, value: object, message: str, context: Mapping[str, Any]) -> tuple[str, str]:
    if kind in {"enum", "literal_error"}:
        return "unknown-word", f"{shown(value)} is not known here. Write {context['expected']}."
    if kind == "value_error":
        return "impossible-value", str(context["error"])
    return "impossible-value", f"{shown(value)} cannot stand here: {_reason(kind, message, context)}."


def _reason(kind: str, message: str, context: Mapping[str, Any]) -> str:
    """In our own words where we have them, else in those of the checking library."""
    words = _REASONS.get(kind)
    return message[:1].lower() + message[1:] if words is None else words.format(**context)


def _unknown(form: type[Form], path: tuple[int | str, ...]) -> str:
    name = str(path[-1])
    parent: type[BaseModel] = form
    for part in path[:-1]:
        parent = _inner(parent, part) or parent
    sentence = f"The key {shown(name)} is not known here."
    suggestion = did_you_mean(name, _keys(parent)) or _belongs(form, name)
    return f"{sentence}{suggestion} Correct it or take it out."


def _belongs(form: type[BaseModel], name: str) -> str:
    for group in _keys(form):
        inner = _inner(form, group)
        if inner is not None and name in _keys(inner):
            return f' It belongs under "{group}".'
    return ""


def _keys(form: type[BaseModel]) -> list[str]:
    return [field.alias or name for name, field in form.model_fields.items()]


def _inner(form: type[BaseModel], part: int | str) -> type[BaseModel] | None:
    """The form behind a key; for an index of a list, the form itself."""
    for name, field in form.model_fields.items():
        if part in {name, field.alias}:
            return _form_in(field.annotation)
    return None


def _form_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inner = (_form_in(part) for part in get_args(annotation))
    return next((form for form in inner if form is not None), None)
