"""A DICOM object, opened with care, and its parts read without trust."""

from __future__ import annotations

import io
import math
import threading
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from zonule.case.finding import Finding, warning
from zonule.case.patient import Patient, Sex, Side
from zonule.exchange.forms import PatientForm
from zonule.exchange.records import patient_record
from zonule.exchange.refusal import RefusedFileError, problem, refused, shown
from zonule.exchange.validation import filled

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

LIMIT_BYTES = 16_000_000
DICOM = "dicom-ps3.3"

_PREAMBLE_BYTES = 128
_MARK = b"DICM"
_DEFLATED = "1.2.840.10008.1.2.1.99"
_SEXES = {"F": Sex.FEMALE, "M": Sex.MALE, "O": Sex.OTHER}
_LATERALITY = {
    frozenset({Side.RIGHT}): "R",
    frozenset({Side.LEFT}): "L",
    frozenset({Side.RIGHT, Side.LEFT}): "B",
}
_WARNINGS_ARE_GLOBAL = threading.Lock()
"""Python collects warnings for the whole process; one file at a time keeps them apart."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in which file a part stands, and what is said there once for all its numbers."""

    file: str
    side: Side
    device: str
    measured_on: date | None

    def of(self, keyword: str) -> str:
        """A place within the object, with its tag.

        Examples
        --------
        >>> Place("a.dcm", Side.RIGHT, "", None).of("RadiusOfCurvature")
        'a.dcm, right eye, (0046,0075) RadiusOfCurvature'
        """
        return f"{self.file}, {self.side} eye, {tag(keyword)}"


def tag(keyword: str) -> str:
    """A keyword with its tag in front."""
    from pydicom.tag import Tag

    number = Tag(keyword)
    return f"({number.group:04X},{number.element:04X}) {keyword}"


def is_dicom(data: bytes) -> bool:
    """Whether these bytes carry the mark of a DICOM file."""
    return data[_PREAMBLE_BYTES : _PREAMBLE_BYTES + len(_MARK)] == _MARK


def opened(data: bytes, file: str) -> tuple[Dataset, list[Finding]]:
    """The object in a file, every element converted, and a finding where it departs from the standard.

    Pixels are never read, and a deflated object is not inflated.
    """
    if len(data) > LIMIT_BYTES:
        raise refused("file-too-large", f"The file is larger than {LIMIT_BYTES // 1_000_000} MB.", file)
    if not is_dicom(data):
        raise refused("not-dicom", "The file is not a DICOM file.", file)
    with _WARNINGS_ARE_GLOBAL, warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        dataset = _converted(data, file)
    return dataset, [_departure(str(heard[0].message), file)] if heard else []


def _converted(data: bytes, file: str) -> Dataset:
    import pydicom

    # A damaged file raises any of a dozen kinds of exception, none documented: all of them mean the same.
    try:
        _refuse_deflated(data, file)
        dataset = pydicom.dcmread(io.BytesIO(data), stop_before_pixels=True)
        _convert_all(dataset)
    except RefusedFileError:
        raise
    except Exception as error:
        sentence = f"The DICOM file is damaged or half-written ({type(error).__name__}). Fetch it again."
        raise refused("damaged-dicom", sentence, file) from error
    return dataset


def _convert_all(dataset: Dataset) -> None:
    """Turn every element into its value now, and miss none of the bytes that it announced."""
    from pydicom.dataelem import RawDataElement

    for raw in tuple(dataset.values()):
        if isinstance(raw, RawDataElement) and raw.value is not None and len(raw.value) != raw.length:
            raise EOFError
    for element in dataset:
        if element.VR == "SQ":
            for item in element.value:
                _convert_all(item)


def _refuse_deflated(data: bytes, file: str) -> None:
    """Look at the file meta information only; an inflated object could be of any size."""
    from pydicom.filereader import read_dataset

    stream = io.BytesIO(data[_PREAMBLE_BYTES + len(_MARK) :])
    meta = read_dataset(
        stream,
        is_implicit_VR=False,
        is_little_endian=True,
        stop_when=lambda element, _vr, _length: element.group != 2,  # noqa: PLR2004 - group 2 is the meta information
    )
    if meta.get("TransferSyntaxUID") == _DEFLATED:
        raise refused("deflated-dicom", "The DICOM file is deflated. Export it uncompressed.", file)


def _departure(message: str, file: str) -> Finding:
    sentence = f"The object departs from the DICOM standard ({shown(message)}). Compare it with the printout."
    return warning("departs-from-standard", sentence, file, DICOM)


def items(dataset: Dataset, keyword: str) -> list[Dataset]:
    """Items of a sequence; none when it is absent or empty."""
    from pydicom.dataset import Dataset as AnyDataset

    value = dataset.get(keyword)
    if value is None or isinstance(value, str | bytes | int | float):
        return []
    return [item for item in value if isinstance(item, AnyDataset)]


def number(dataset: Dataset, keyword: str, place: Place) -> float | None:
    """A single finite number; absent when the element is absent or empty."""
    value = dataset.get(keyword)
    if value is None or value == "":
        return None
    try:
        plain = float(value)
    except (TypeError, ValueError, OverflowError):
        plain = math.nan
    if not math.isfinite(plain):
        raise refused("unreadable-number", f"{shown(str(value))} is not a number.", place.of(keyword))
    return plain


def words(dataset: Dataset, keyword: str) -> str:
    """Text of an element; empty when it is absent."""
    value = dataset.get(keyword)
    return "" if value is None else str(value).strip()


def code(dataset: Dataset, keyword: str) -> str:
    """The value of the first code of a code sequence; empty when there is none."""
    found = items(dataset, keyword)
    return words(found[0], "CodeValue") if found else ""


def patient_of(dataset: Dataset, file: str) -> Patient:
    """Whom the object belongs to; an object that belongs to nobody is refused."""
    key = words(dataset, "PatientID")
    if not key:
        sentence = "The object has no PatientID, so nobody can tell whose eye this is."
        raise refused("patient-missing", sentence, f"{file}, {tag('PatientID')}")
    try:
        form = filled(
            PatientForm,
            {
                "key": key,
                "name": _name(dataset),
                "born_on": day(dataset, "PatientBirthDate", file),
                "sex": _SEXES.get(words(dataset, "PatientSex")),
            },
        )
    except RefusedFileError as error:
        raise RefusedFileError(
            [problem(one.code, one.sentence, f"{file}, patient {one.where}") for one in error.findings]
        ) from None
    return patient_record(form)


def _name(dataset: Dataset) -> str:
    name: Any = dataset.get("PatientName")
    if not name:
        return ""
    given, family = getattr(name, "given_name", ""), getattr(name, "family_name", str(name))
    return " ".join(part for part in (given, family) if part)


def day(dataset: Dataset, keyword: str, file: str) -> date | None:
    """A date; absent when the element is absent or empty."""
    text = words(dataset, keyword)
    if not text:
        return None
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:8])) if text.isdecimal() else _no_day()
    except ValueError:
        where = f"{file}, {tag(keyword)}"
        raise refused("impossible-date", f"There is no such day as {shown(text)}.", where) from None


def _no_day() -> date:
    raise ValueError


def eyes_of(dataset: Dataset, right: str, left: str, file: str) -> Iterator[tuple[Side, Dataset]]:
    """Each eye that the object holds; its sequence says which, and everything else must agree."""
    found = {side: items(dataset, keyword) for side, keyword in ((Side.RIGHT, right), (Side.LEFT, left))}
    present = frozenset(side for side, eyes in found.items() if eyes)
    if not present:
        raise refused("no-eye", "The object holds measurements of neither eye.", file)
    for side in present:
        if len(found[side]) > 1:
            raise refused(
                "eye-given-twice", f"The object holds the {side} eye more than once.", f"{file}, {side} eye"
            )
    _refuse_contradiction(dataset, present, file)
    return ((side, found[side][0]) for side in Side if side in present)


def _refuse_contradiction(dataset: Dataset, present: frozenset[Side], file: str) -> None:
    for keyword in ("MeasurementLaterality", "Laterality"):
        said = words(dataset, keyword)
        if said and said != _LATERALITY[present]:
            held = " and the ".join(sorted(present))
            sentence = (
                f"The object says {keyword} {shown(said)} but holds the {held} eye. Find out which eye was "
                "measured."
            )
            raise refused("laterality-contradiction", sentence, f"{file}, {tag(keyword)}")
