"""How long somebody at a shell waits: a fresh process each time."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from benchmarks.timing import Benchmark, best_s

ROOT = Path(__file__).parent.parent
ZONULE = Path(sys.executable).with_name("zonule")


def benchmarks() -> Iterator[Benchmark]:
    """The help page and one cold plan, each the best of five."""
    yield Benchmark(
        name="zonule --help",
        ours_s=best_s(lambda: _run("--help"), 5),
        goal_s=0.2,
        limit="starting Python and importing the command-line library",
    )
    yield Benchmark(
        name="zonule plan examples/ordinary-eye.json, cold",
        ours_s=best_s(lambda: _run("plan", "examples/ordinary-eye.json"), 5),
        goal_s=1.2,
        limit="importing NumPy, two functions of SciPy, and the checks of the input file",
    )


def _run(*words: str) -> None:
    subprocess.run([str(ZONULE), *words], cwd=ROOT, check=True, capture_output=True)  # noqa: S603 - our own command
