"""Words that the drawings and the sentences share."""

from __future__ import annotations

from zonule.science.lens_power.formulas import FORMULAS

_SMALL_NUMBERS = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen", "twenty"),
)


def method_name(key: str) -> str:
    """The trade's name of a method; its key when it has none here.

    Examples
    --------
    >>> method_name("srk_t"), method_name("anything")
    ('SRK/T', 'anything')
    """
    formula = FORMULAS.get(key)
    return key if formula is None else formula.name


def method_origin(key: str) -> str:
    """Where a method comes from, and how far it was checked against its paper.

    Examples
    --------
    >>> method_origin("hoffer_q")
    'hoffer-1993: from memory, not yet checked against the paper'
    """
    formula = FORMULAS.get(key)
    return key if formula is None else f"{formula.source}: {formula.status}"


def count_word(count: int) -> str:
    """A small count as a word.

    Examples
    --------
    >>> count_word(11), count_word(21)
    ('eleven', '21')
    """
    return _SMALL_NUMBERS[count] if 0 <= count < len(_SMALL_NUMBERS) else str(count)
