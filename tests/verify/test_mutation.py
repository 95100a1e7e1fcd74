"""A coefficient changed by one unit of its last printed digit turns a check of `zonule verify` red."""

import pytest

from verify.mutants import FOLDER, Mutant, broken, in_place, mutants_of
from zonule.checks.report import run
from zonule.checks.rows import Row, all_rows

NO_COEFFICIENTS = {
    "__init__.py": "words only",
    "flags.py": "names of bits",
    "formulas.py": "the table of formulas, whose numbers stand in their own files",
    "compiled.py": "runs the functions of the other files; its numbers say from how many eyes on",
}
FILES = sorted(path.name for path in FOLDER.glob("*.py") if path.name not in NO_COEFFICIENTS)

ALLOWED: dict[tuple[str, str], str] = {}


def checks_of(file: str) -> list[Row]:
    """Those that cannot be answered without this file."""
    with broken(file):
        return [row for row in all_rows() if not run(row).passed]


def survivors(file: str) -> list[Mutant]:
    rows = checks_of(file)
    alive = []
    for mutant in mutants_of(file):
        with in_place(mutant):
            if all(run(row).passed for row in rows):
                alive.append(mutant)
    return alive


@pytest.mark.parametrize("file", FILES)
def test_no_coefficient_can_change_unseen(file: str) -> None:
    unseen = [one.told for one in survivors(file) if (file, f"{one.place}: {one.number}") not in ALLOWED]
    assert unseen == []


def test_each_allowed_exception_is_still_one() -> None:
    alive = {
        (file, f"{one.place}: {one.number}")
        for file in {file for file, _ in ALLOWED}
        for one in survivors(file)
    }
    assert set(ALLOWED) - alive == set()


def test_the_real_files_are_back_after_a_mutant() -> None:
    mutant = next(iter(mutants_of("srk_t.py")))
    with in_place(mutant):
        pass
    assert all(run(row).passed for row in checks_of("srk_t.py"))
