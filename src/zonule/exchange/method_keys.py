"""The keys by which files tell methods."""

from __future__ import annotations

from zonule.science.lens_power.formulas import FORMULAS


def method_key(row: str) -> str:
    """The key of the contract for a row of the table: one method can have a row for each kind of cornea.

    Examples
    --------
    >>> method_key("srk_t_double_k_hyperopic")
    'srk_t_double_k'
    """
    formula = FORMULAS.get(row)
    return row if formula is None else formula.method
