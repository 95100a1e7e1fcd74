"""How a benchmark is timed and told."""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True, slots=True)
class Benchmark:
    """One line of bench.json; a goal is a ratio, a time, or both."""

    name: str
    ours_s: float
    limit: str
    """What our time is up against."""
    theirs: str = ""
    """The plain or general-purpose way it is compared with."""
    theirs_s: float | None = None
    goal_ratio: float | None = None
    goal_s: float | None = None

    @property
    def ratio(self) -> float | None:
        """How many times faster than the other way."""
        return None if self.theirs_s is None else self.theirs_s / self.ours_s

    @property
    def meets_goals(self) -> bool:
        """Whether every goal that was set is met."""
        fast = self.goal_s is None or self.ours_s <= self.goal_s
        faster = self.goal_ratio is None or (self.ratio is not None and self.ratio >= self.goal_ratio)
        return fast and faster

    def as_dict(self) -> dict[str, object]:
        """The line of bench.json."""
        return {
            "name": self.name,
            "ours_s": self.ours_s,
            "theirs_s": self.theirs_s,
            "theirs": self.theirs or None,
            "ratio": self.ratio,
            "goal_ratio": self.goal_ratio,
            "goal_s": self.goal_s,
            "limit": self.limit,
            "machine": machine(),
        }


def best_s(run: Callable[[], object], times: int) -> float:
    """The shortest of several runs, seconds: what the work costs when nothing else disturbs."""
    return min(_times_s(run, times))


def median_s(run: Callable[[], object], times: int) -> float:
    """The middle of several runs, seconds: what somebody waits."""
    return statistics.median(_times_s(run, times))


def machine() -> str:
    """The machine, in one line."""
    system = f"{platform.system()} {platform.machine()}, {_processor()}, {os.cpu_count()} cores"
    return f"{system}; Python {platform.python_version()}, NumPy {np.__version__}"


def _times_s(run: Callable[[], object], times: int) -> list[float]:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return taken


def _processor() -> str:
    information = Path("/proc/cpuinfo")
    if not information.exists():
        return platform.processor()
    lines = information.read_text(encoding="utf-8").splitlines()
    return next((line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")), "")
