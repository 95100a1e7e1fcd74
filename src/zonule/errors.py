"""Every error zonule raises, on one page.

A doubtful *case* is not an error: it carries findings (`zonule.case.finding`). A wrong *call* raises
one of these. The docstring of each class is its default message.
"""


class ZonuleError(Exception):
    """Something in zonule went wrong."""

    def __init__(self, message: str = "") -> None:
        super().__init__(message or (type(self).__doc__ or "").strip())


class InputError(ZonuleError):
    """The input cannot be used as it is."""


class OutOfRangeError(InputError):
    """A value lies outside the range in which it can mean anything."""


class MissingMeasurementError(InputError):
    """A measurement that this needs has not been made."""


class InconsistentRecordError(InputError):
    """Two parts of the record contradict each other."""


class ScienceError(ZonuleError):
    """A calculation cannot give an answer."""


class NotApplicableError(ScienceError):
    """The method must not be used for this eye."""


class NotDefinedError(ScienceError):
    """The quantity is not defined for these numbers."""


class StorageError(ZonuleError):
    """The record could not be read or written."""


class NotInRecordError(StorageError):
    """The record does not hold this."""


class ChangedMeanwhileError(StorageError):
    """Somebody else changed this record after you opened it."""


class ExchangeError(ZonuleError):
    """A file from outside could not be read.

    Parameters
    ----------
    message
        What is wrong and what to do, as a sentence.
    where
        The place in the file: a row and field, a key, or a tag.
    """

    def __init__(self, message: str = "", *, where: str = "") -> None:
        super().__init__(message or "A file from outside could not be read.")
        self.where = where


class ConfigurationError(ZonuleError):
    """zonule is not set up for this."""
