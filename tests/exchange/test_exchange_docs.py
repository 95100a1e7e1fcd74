"""The pages about files name every key, header and word there is, and no other."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from exchange.documents import ROOT
from zonule.exchange.biometry_csv import COLUMNS
from zonule.exchange.forms import EyeFileForm

DOCS = ROOT / "docs"
CODE = re.compile(r"`([a-z][a-z0-9_]*)`")


def page(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def keys_of(form: type[BaseModel]) -> set[str]:
    """Every key of a form and of the forms inside it."""
    keys: set[str] = set()
    for name, field in form.model_fields.items():
        keys.add(field.alias or name)
        for inner in forms_in(field.annotation):
            keys |= keys_of(inner)
    return keys


def forms_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [form for part in get_args(annotation) for form in forms_in(part)]


def enumerations_in(annotation: Any) -> list[type[StrEnum]]:
    if isinstance(annotation, type) and issubclass(annotation, StrEnum):
        return [annotation]
    return [kind for part in get_args(annotation) for kind in enumerations_in(part)]


def words_of(form: type[BaseModel]) -> set[str]:
    """Every enumerated word of a form and of the forms inside it."""
    words: set[str] = set()
    for field in form.model_fields.values():
        for kind in enumerations_in(field.annotation):
            words |= {str(word) for word in kind}
        for inner in forms_in(field.annotation):
            words |= words_of(inner)
    return words


def test_the_page_of_the_eye_file_names_every_key_and_word() -> None:
    text = page("reference/eye-file.md")
    code = re.findall(r"`([^`]+)`", text)
    named = {*code, *re.findall(r"[a-z][a-z0-9_]*", " ".join(code))}
    assert keys_of(EyeFileForm) - named == set()
    assert words_of(EyeFileForm) - named == set()


def test_the_page_of_the_eye_file_names_no_key_that_does_not_exist() -> None:
    text = page("reference/eye-file.md")
    named = set(CODE.findall(text)) - {"null", "true"}
    assert named - keys_of(EyeFileForm) - words_of(EyeFileForm) == set()


def test_the_page_of_the_table_names_every_header_once_and_no_other() -> None:
    text = page("reference/biometry-csv.md")
    assert re.findall(r"^\| `([a-z_]+)` \|", text, re.MULTILINE) == list(COLUMNS)


def test_the_page_of_the_table_names_every_word() -> None:
    named = set(CODE.findall(page("reference/biometry-csv.md")))
    cells = set(COLUMNS) | {"contact", "graft", "gas", "other"}
    assert cells <= named


@pytest.mark.parametrize(
    "name", ["how-to/import-biometry.md", "reference/eye-file.md", "reference/biometry-csv.md"]
)
def test_every_file_that_a_page_points_at_is_there(name: str) -> None:
    text = page(name)
    links = re.findall(r"\]\(([^)#]+)\)", text)
    examples = re.findall(r"examples/[\w.-]+", text)
    assert links or examples
    assert [link for link in links if not (DOCS / name).parent.joinpath(link).exists()] == []
    assert [path for path in examples if not (ROOT / path).exists()] == []
