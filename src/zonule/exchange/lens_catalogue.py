"""A catalogue of lenses as a file: read strictly, written so that it reads back as it was."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from zonule.case.finding import Finding, note
from zonule.case.lens import LensModel
from zonule.case.lens_checks import constant_findings, lens_problems
from zonule.exchange.form_base import CONTRACT_VERSION
from zonule.exchange.json_text import plain_value, read_json_object
from zonule.exchange.lens_forms import LensCatalogueForm
from zonule.exchange.lens_records import lens_record
from zonule.exchange.lens_text import lens_as_dict
from zonule.exchange.refusal import FORMAT, RefusedFileError, file_name, problem, shown
from zonule.exchange.validation import filled

LARGEST_CATALOGUE_BYTES = 4_000_000
_SPACE = b"\xef\xbb\xbf \t\r\n"


def is_lens_catalogue(data: bytes) -> bool:
    """Whether a file means to be a catalogue, told by its content: JSON that speaks of lenses."""
    return data.lstrip(_SPACE)[:1] == b"{" and b'"lenses"' in data


def read_lens_catalogue(data: bytes, *, file: str) -> tuple[tuple[LensModel, ...], tuple[Finding, ...]]:
    """The lenses of a catalogue file, all of them or none.

    Parameters
    ----------
    data
        The file.
    file
        Its name, for messages.

    Returns
    -------
    tuple
        The lenses in the order of the file, and what is odd about them.

    Raises
    ------
    RefusedFileError
        With every reason not to take it; the place of each is the dotted path of its key.
    """
    values = read_json_object(data, file=file_name(file), limit_bytes=LARGEST_CATALOGUE_BYTES)
    try:
        form = filled(LensCatalogueForm, values)
    except RefusedFileError as error:
        raise RefusedFileError([_named(one, values) for one in error.findings]) from None
    lenses = tuple(
        lens_record(one, one.powers_dpt, one.material, one.constants_from or "") for one in form.lenses
    )
    problems = [*_told_twice(lenses), *_of_each(lenses, lens_problems)]
    if problems:
        raise RefusedFileError([_named(one, values) for one in problems])
    doubts = [*_of_each(lenses, constant_findings), *_of_each(lenses, _origin_missing)]
    return lenses, tuple(_named(one, values) for one in doubts)


def lens_catalogue_text(lenses: Iterable[LensModel]) -> str:
    """The catalogue file of these lenses; what is not recorded is left out."""
    written = {"zonule": CONTRACT_VERSION, "lenses": [lens_as_dict(lens) for lens in lenses]}
    return json.dumps(plain_value(written), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _of_each(
    lenses: Sequence[LensModel], checks: Callable[[LensModel], Iterator[Finding]]
) -> Iterator[Finding]:
    """What the checks say of each lens, at its place in the file."""
    for index, lens in enumerate(lenses):
        for finding in checks(lens):
            yield replace(finding, where=f"lenses.{index}{finding.where.removeprefix('lens')}")


def _told_twice(lenses: Sequence[LensModel]) -> Iterator[Finding]:
    names = Counter(" ".join(lens.name.casefold().split()) for lens in lenses)
    for index, lens in enumerate(lenses):
        if names[" ".join(lens.name.casefold().split())] > 1:
            sentence = "A lens of this name stands in the file more than once. Keep the right one."
            yield problem("lens-told-twice", sentence, f"lenses.{index}.model")


def _origin_missing(lens: LensModel) -> Iterator[Finding]:
    if not lens.constants_from:
        sentence = "It is not said where the constants came from. Add it, so that each plan can tell."
        yield note("constants-origin-missing", sentence, "lens.constants_from", FORMAT)


def _named(finding: Finding, values: dict[str, Any]) -> Finding:
    """The same finding with the name of the lens it is about, for a person who counts no lenses."""
    group, _, rest = finding.where.partition(".")
    index = rest.partition(".")[0]
    lenses = values.get("lenses")
    if group != "lenses" or not index.isdigit() or not isinstance(lenses, list):
        return finding
    lens = lenses[int(index)]
    name = lens.get("model") if isinstance(lens, dict) else None
    told = isinstance(name, str) and name
    return replace(finding, sentence=f"{shown(name)}: {finding.sentence}") if told else finding
