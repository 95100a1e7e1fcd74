"""Doubts as people read them: each sentence once, and where it belongs in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from zonule.case.finding import Finding, Severity
from zonule.case.plan import Plan
from zonule.drawings.words import method_name

_UNITS: Final = ("_mm", "_um", "_dpt", "_deg", "_m", "_mmhg")
_FELLOW, _METHODS = "fellow", "methods"
_GROUPS: Final = {
    "biometry": "measurements",
    "history": "history",
    "readiness": "questions before listing",
    "outcome": "result",
    "review": "result",
    "operation": "operation",
    "lens": "lens",
    "pair": "both eyes",
    "backup": "other lenses",
    _METHODS: _METHODS,
}
_NEED_NO_GROUP: Final = frozenset({"biometry", "history", "backup"})
_NAMES: Final = {
    "other_corneas": "another device's cornea",
    "target_refraction_dpt": "aim",
    "lens_power_dpt": "lens power",
    "flat_power_dpt": "corneal power",
    "steep_power_dpt": "corneal power",
    "posterior_flat_radius_mm": "back of the cornea",
    "posterior_steep_radius_mm": "back of the cornea",
    "powers_dpt": "powers made",
    "tried_blended": "tried with unequal eyes",
    "tolerated_anisometropia_dpt": "how far the eyes may differ",
    "lane_m": "lane",
}


@dataclass(frozen=True, slots=True)
class Doubt:
    """One sentence, said once, with every place it was said of."""

    severity: Severity
    sentence: str
    wheres: tuple[str, ...]
    """Where it was said, by the keys of files."""
    source: str

    @property
    def place(self) -> str:
        """The same in words."""
        return "; ".join(dict.fromkeys(place_text(one) for one in self.wheres))


def doubts_of(findings: Iterable[Finding]) -> list[Doubt]:
    """Findings with what is the same said together, in the order in which they were given."""
    places: dict[tuple[Severity, str, str], list[str]] = {}
    for one in findings:
        places.setdefault((one.severity, one.sentence, one.source), []).append(one.where)
    return [
        Doubt(severity, sentence, tuple(dict.fromkeys(wheres)), source)
        for (severity, sentence, source), wheres in places.items()
    ]


def place_text(where: str) -> str:
    """Where a finding belongs, in words; the rows and columns of a file stay as they are called there.

    Examples
    --------
    >>> place_text("fellow.biometry.axial_length_mm"), place_text("methods.holladay_1")
    ('fellow eye, axial length', 'Holladay 1')
    >>> place_text("eyes.csv, row 3.axial_length_mm")
    'eyes.csv, row 3.axial length mm'
    """
    head, *rest = where.split(".")
    if head == _FELLOW:
        return ", ".join(["fellow eye", *([place_text(".".join(rest))] if rest else [])])
    if head == _METHODS and len(rest) == 1 and method_name(rest[0]) != rest[0]:
        return method_name(rest[0])
    if head in _GROUPS:
        said = [_name(one) for one in rest if not one.isdecimal()]
        return ", ".join(said if head in _NEED_NO_GROUP and said else [_GROUPS[head], *said])
    return _NAMES.get(where, where.replace("_", " "))


def _name(part: str) -> str:
    if part in _NAMES:
        return _NAMES[part]
    unit = next((one for one in _UNITS if part.endswith(one)), "")
    return part.removesuffix(unit).replace("_", " ")


def besides_refusals(plan: Plan, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What is left to say once the table of methods has said why each that is not used is not."""
    said = {finding for one in plan.refused for finding in one.findings[:1]}
    return tuple(one for one in findings if one.severity is not Severity.NOTE or one not in said)
