"""The synthetic objects, changed in one place and written to bytes again."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pydicom
from pydicom.dataset import Dataset

from exchange.documents import DATA

KERATOMETRY = DATA / "dicom" / "synthetic_ker.dcm"
AXIAL = DATA / "dicom" / "synthetic_oam.dcm"
RIGHT_CORNEA = "KeratometryRightEyeSequence"
RIGHT_LENGTHS = "OphthalmicAxialMeasurementsRightEyeSequence"

Change = Callable[[Dataset], object]


def changed(path: Path, *changes: Change) -> bytes:
    """The bytes of an object after these changes; numbers go through their stored precision."""
    dataset = pydicom.dcmread(path)
    for change in changes:
        change(dataset)
    written = io.BytesIO()
    dataset.save_as(written)
    return written.getvalue()


def one(dataset: Dataset, *path: str) -> Dataset:
    """The first item at the end of a path of sequences."""
    for keyword in path:
        dataset = dataset[keyword].value[0]
    return dataset


def coded(value: str, scheme: str = "DCM") -> Dataset:
    """A code."""
    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = value, scheme, "as coded"
    return item
