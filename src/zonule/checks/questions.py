"""Every question there is, in one plain table.

To add a check: a row in a file of `values/` (any file; a new one is found by itself) and, if no question
asks for its quantity yet, one entry in the `QUESTIONS` of the module it belongs to. A new module goes
into `MODULES`.
"""

from __future__ import annotations

from zonule.checks import (
    anatomical,
    astigmatism,
    lens_power,
    operated_corneas,
    optics,
    rays,
    remedies,
    spread,
    toric,
    uncertainty,
    vectors,
)
from zonule.checks.question import Question

MODULES = (
    anatomical,
    astigmatism,
    lens_power,
    operated_corneas,
    optics,
    rays,
    remedies,
    spread,
    toric,
    uncertainty,
    vectors,
)

QUESTIONS: dict[str, Question] = {name: one for module in MODULES for name, one in module.QUESTIONS.items()}
