"""Biometry in whichever kind of file it comes, told by its content."""

from __future__ import annotations

from datetime import date

from zonule.case.intake import Intake
from zonule.exchange.biometry_csv import read_biometry_csv
from zonule.exchange.dicom_biometry import is_dicom, read_dicom_biometry
from zonule.exchange.refusal import file_name, refused


def read_biometry(data: bytes, *, file: str, today: date) -> Intake:
    """The eyes of a biometry file, a table or a DICOM object.

    Parameters
    ----------
    data
        The file.
    file
        Its name; it plays no part in telling what kind of file it is.
    today
        A measurement after this day is refused.

    Returns
    -------
    Intake
        Eyes, and findings about what was refused.

    Raises
    ------
    RefusedFileError
        When the file as a whole cannot be understood.
    """
    if is_dicom(data):
        return read_dicom_biometry(data, file=file, today=today)
    if data.lstrip()[:1] == b"{":
        sentence = (
            "The file looks like an eye file, which is planned from and not imported. Give a table; a "
            'catalogue of lenses, with its key "lenses", belongs to the page of lenses.'
        )
        raise refused("another-kind-of-file", sentence, file_name(file))
    return read_biometry_csv(data, file=file, today=today)
