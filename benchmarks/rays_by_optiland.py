"""The rays of benchmarks/ray_trace.py by a general-purpose ray tracer, in its own environment.

Prints the best time of many runs, seconds, and where the last ray ends, as JSON.
"""

from __future__ import annotations

import json
import sys
import time
from importlib.metadata import version
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from optiland.rays import RealRays  # noqa: E402 - the path comes first
from tools.reference_rays import WAVELENGTH_UM, optic_of  # noqa: E402 - same


def main() -> None:
    """Trace `count` rays from a saved file of their starts through Navarro's eye."""
    starts = np.load(sys.argv[1])
    optic, ones = optic_of("navarro-543"), np.ones(starts.shape[1])
    best = float("inf")
    for _ in range(15):
        rays = RealRays(starts[0], starts[1], -ones, 0.0 * ones, 0.0 * ones, ones, ones, WAVELENGTH_UM * ones)
        start = time.perf_counter()
        end = optic.surfaces.trace(rays)
        best = min(best, time.perf_counter() - start)
    ends = [float(np.ravel(end.y)[-1]), float(np.ravel(end.opd)[-1])]
    y, path = np.reshape(end.y, (-1, starts.shape[1]))[-1], np.reshape(end.opd, (-1, starts.shape[1]))[-1]
    np.save(sys.argv[2], np.stack([y, path]))
    print(json.dumps({"seconds": best, "version": version("optiland"), "last": ends}))


if __name__ == "__main__":
    main()
