"""Run every benchmark afresh; print a table and write bench.json. Fails when one fails to run.

A goal that is missed is said, and does not fail the run: times depend on the machine.
"""

from __future__ import annotations

import json
import sys
import traceback
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from benchmarks import (  # noqa: E402 - the path comes first
    astigmatism_page,
    case_page,
    command_line,
    formulas_in_bulk,
    many_eyes,
    one_plan,
    ray_trace,
    toric,
)
from benchmarks.timing import Benchmark, machine  # noqa: E402 - same

OUT = ROOT / "bench.json"


def main() -> int:
    """Run, tell and write; 1 when a benchmark failed to run."""
    done: list[Benchmark] = []
    failed: list[str] = []
    for module in (
        formulas_in_bulk,
        many_eyes,
        one_plan,
        toric,
        ray_trace,
        command_line,
        case_page,
        astigmatism_page,
    ):
        try:
            for benchmark in module.benchmarks():
                done.append(benchmark)
                print(_told(benchmark), flush=True)
        except Exception:  # noqa: BLE001 - one broken benchmark must not hide the others
            failed.append(module.__name__)
            traceback.print_exc()
    print(machine())
    OUT.write_text(json.dumps([one.as_dict() for one in done], indent=2) + "\n", encoding="utf-8")
    if failed:
        print(f"Failed to run: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


def _told(benchmark: Benchmark) -> str:
    lines = [f"{benchmark.name}", f"    ours    {_duration(benchmark.ours_s)}"]
    if benchmark.theirs_s is not None:
        lines.append(f"    theirs  {_duration(benchmark.theirs_s)}  {benchmark.theirs}")
        lines.append(f"    ratio   {benchmark.ratio:,.1f}")
    goals = [
        *([f"{benchmark.goal_ratio:,.0f} times"] if benchmark.goal_ratio else []),
        *([_duration(benchmark.goal_s).strip()] if benchmark.goal_s else []),
    ]
    verdict = "met" if benchmark.meets_goals else "MISSED"
    lines.append(f"    goal    {' and '.join(goals)}: {verdict}")
    lines.append(f"    limit   {benchmark.limit}\n")
    return "\n".join(lines)


def _duration(seconds: float) -> str:
    return f"{seconds * 1e3:9.2f} ms" if seconds < 1.0 else f"{seconds:9.2f} s "


if __name__ == "__main__":
    sys.exit(main())
