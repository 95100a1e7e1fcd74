"""Biometry in DICOM objects: keratometry, and axial measurements."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import TYPE_CHECKING

from zonule.case.biometry import Biometry
from zonule.case.eye import Eye
from zonule.case.finding import Finding
from zonule.case.intake import IncomingEye, Intake
from zonule.exchange.dicom_axial import chamber_start_of, lengths_of, method_of
from zonule.exchange.dicom_keratometry import keratometry_of
from zonule.exchange.dicom_object import Place, day, eyes_of, is_dicom, opened, patient_of, tag, words
from zonule.exchange.refusal import RefusedFileError, file_name, refused

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

__all__ = ["is_dicom", "read_dicom_biometry"]

_STORAGE = "1.2.840.10008.5.1.4.1.1."
_KERATOMETRY = f"{_STORAGE}78.3"
_AXIAL = f"{_STORAGE}78.7"
_OTHER_KINDS = {
    f"{_STORAGE}104.1": "a PDF, a picture of numbers. Type the numbers in and have a second person read them",
    f"{_STORAGE}78.1": "a lensometry",
    f"{_STORAGE}78.2": "an autorefraction",
    f"{_STORAGE}78.4": "a subjective refraction",
    f"{_STORAGE}78.5": "a visual acuity",
    f"{_STORAGE}78.6": "a spectacle prescription",
    f"{_STORAGE}78.8": "somebody's lens calculation",
    f"{_STORAGE}82.1": "a corneal map",
    f"{_STORAGE}77.1.5.1": "a photograph",
}


def read_dicom_biometry(data: bytes, *, file: str, today: date) -> Intake:
    """The eyes of one DICOM object.

    Parameters
    ----------
    data
        The file: Keratometry Measurements or Ophthalmic Axial Measurements, at most 16 MB.
    file
        Its name.
    today
        An object of a later day is refused.

    Returns
    -------
    Intake
        Keratometry alone, or lengths alone, of each eye; an eye that contradicts itself is a blocking
        finding. Lengths are rounded to the resolution they are stated with (0.01 mm, cornea 0.001 mm);
        the number as stored stands in the source of each.

    Raises
    ------
    RefusedFileError
        When the object as a whole cannot be used.
    """
    name = file_name(file)
    dataset, findings = opened(data, name)
    kind = _kind(dataset, name)
    patient = patient_of(dataset, name)
    measured_on = _measured_on(dataset, name, today)
    device = " ".join(filter(None, (words(dataset, "Manufacturer"), words(dataset, "ManufacturerModelName"))))
    eyes: list[IncomingEye] = []
    right, left = _EYE_SEQUENCES[kind]
    for side, item in eyes_of(dataset, right, left, name):
        place = Place(name, side, device, measured_on)
        try:
            biometry, about = _READERS[kind](dataset, item, place)
        except RefusedFileError as error:
            findings += error.findings
            continue
        eyes.append(IncomingEye(patient, Eye(side, biometry), f"{side} eye"))
        findings += about
    return Intake(name, hashlib.sha256(data).hexdigest(), tuple(eyes), tuple(dict.fromkeys(findings)))


def _kind(dataset: Dataset, file: str) -> str:
    uid = words(dataset, "SOPClassUID")
    if uid in _READERS:
        return uid
    said = _OTHER_KINDS.get(uid, f"of another kind ({uid or 'it does not say which'})")
    sentence = (
        f"The DICOM object is {said}. Biometry comes as Keratometry Measurements or Ophthalmic Axial "
        "Measurements."
    )
    raise refused("another-kind-of-object", sentence, f"{file}, {tag('SOPClassUID')}")


def _measured_on(dataset: Dataset, file: str, today: date) -> date | None:
    measured_on = day(dataset, "ContentDate", file)
    if measured_on is not None and measured_on > today:
        sentence = f"The object is dated {measured_on}, which is in the future. Correct the device's clock."
        raise refused("impossible-date", sentence, f"{file}, {tag('ContentDate')}")
    return measured_on


def _read_keratometry(_dataset: Dataset, eye: Dataset, place: Place) -> tuple[Biometry, list[Finding]]:
    cornea, findings = keratometry_of(eye, place)
    return Biometry(keratometry=cornea, measured_on=place.measured_on, device=place.device), findings


def _read_lengths(dataset: Dataset, eye: Dataset, place: Place) -> tuple[Biometry, list[Finding]]:
    method, about_method = method_of(dataset, place.file)
    biometry, about = lengths_of(eye, place, method, chamber_start_of(dataset))
    return biometry, [*about_method, *about]


_READERS = {_KERATOMETRY: _read_keratometry, _AXIAL: _read_lengths}
_EYE_SEQUENCES = {
    _KERATOMETRY: ("KeratometryRightEyeSequence", "KeratometryLeftEyeSequence"),
    _AXIAL: ("OphthalmicAxialMeasurementsRightEyeSequence", "OphthalmicAxialMeasurementsLeftEyeSequence"),
}
