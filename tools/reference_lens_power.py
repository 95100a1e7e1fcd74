"""Write src/zonule/checks/values/lens_power.csv from the tables of reference values, one value a row.

The numbers were computed once, outside this project's code, from the published equations (four decimals);
they are no published numbers. Run again after a correction of a table:

    .venv/bin/python tools/reference_lens_power.py
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

OUT = Path(__file__).parent.parent / "src" / "zonule" / "checks" / "values" / "lens_power.csv"
COLUMNS = (
    "source",
    "table",
    "quantity",
    "formula",
    "axial_length_mm",
    "mean_k_dpt",
    "anterior_chamber_depth_mm",
    "asked_dpt",
    "expected",
    "tolerance",
    "unit",
    "reason",
    "status",
    "provenance",
)
FORMULAS = {
    "srk_t": "retzlaff-1990",
    "holladay_1": "holladay-1988",
    "hoffer_q": "hoffer-1993",
    "haigis": "haigis-2000",
}
ROUNDED = ("1e-4", "four decimals were written down")

# Axial length, mean K, chamber depth; what was asked; SRK/T, Holladay 1, Hoffer Q, Haigis.
EYES: tuple[tuple[tuple[float, float, float], str, float | None, tuple[float, ...]], ...] = (
    ((21.0, 45.0, 2.6), "lens_position_mm", None, (4.4265, 4.5176, 4.5106, 4.6669)),
    ((21.0, 45.0, 2.6), "power_dpt", 0.0, (27.4450, 27.7792, 28.1010, 29.5267)),
    ((21.0, 45.0, 2.6), "power_dpt", -2.0, (30.1098, 30.4634, 30.8061, 32.2363)),
    ((21.0, 45.0, 2.6), "refraction_dpt", 27.5, (-0.0400, 0.2009, 0.4276, 1.4160)),
    ((21.5, 41.0, 2.9), "lens_position_mm", None, (4.0608, 4.3319, 4.3922, 4.8369)),
    ((21.5, 41.0, 2.9), "power_dpt", 0.0, (29.5268, 30.3084, 30.8505, 33.0325)),
    ((23.5, 43.5, 3.1), "lens_position_mm", None, (5.0942, 5.1896, 5.1076, 5.1169)),
    ((23.5, 43.5, 3.1), "power_dpt", 0.0, (20.5637, 20.6064, 20.5573, 21.5888)),
    ((23.5, 43.5, 3.1), "power_dpt", -2.0, (23.3313, 23.3950, 23.3530, 24.3563)),
    ((23.5, 43.5, 3.1), "refraction_dpt", 20.5, (0.0445, 0.0738, 0.0397, 0.7521)),
    ((23.5, 47.0, 3.1), "lens_position_mm", None, (5.9259, 5.6786, 5.3570, 5.1169)),
    ((23.5, 47.0, 3.1), "power_dpt", 0.0, (16.8676, 16.3042, 15.8005, 16.5955)),
    ((26.0, 43.0, 3.5), "lens_position_mm", None, (5.7164, 5.8535, 5.8198, 5.5269)),
    ((26.0, 43.0, 3.5), "power_dpt", 0.0, (13.6117, 13.4844, 13.3520, 14.0789)),
    ((26.0, 43.0, 3.5), "refraction_dpt", 13.5, (0.0747, -0.0103, -0.0975, 0.3916)),
    ((30.0, 43.0, 3.6), "lens_position_mm", None, (6.6047, 5.8535, 6.7145, 5.9669)),
    ((30.0, 43.0, 3.6), "power_dpt", 0.0, (3.3008, 2.6964, 2.5307, 3.5351)),
    ((32.0, 42.0, 3.7), "power_dpt", 0.0, (0.4732, 0.0136, -0.4026, 0.7623)),
    ((26.0, 49.0, 3.3), "lens_position_mm", None, (8.7657, 7.1559, 6.2736, 5.4469)),
    ((26.0, 49.0, 3.3), "power_dpt", 0.0, (6.1345, 4.8236, 4.1024, 5.1240)),
    # Both sides of each bend and clamp, by the papers' algebra of tests/properties/paper_algebra.py.
    ((18.0, 44.5, 2.4), "lens_position_mm", None, (3.5357, 3.7200, 4.0698, 4.2869)),
    ((18.0, 44.5, 2.4), "power_dpt", 0.0, (40.8597, 42.1862, 44.6745, 46.5861)),
    ((22.95, 44.0, 3.0), "lens_position_mm", None, (4.9694, 5.0520, 4.9759, 5.0219)),
    ((23.05, 44.0, 3.0), "lens_position_mm", None, (5.0089, 5.0875, 5.0046, 5.0319)),
    ((24.15, 43.0, 3.2), "lens_position_mm", None, (5.2620, 5.3671, 5.2716, 5.2219)),
    ((24.25, 43.0, 3.2), "lens_position_mm", None, (5.2960, 5.4056, 5.3016, 5.2319)),
    ((24.25, 43.0, 3.2), "power_dpt", -2.0, (21.6703, 21.6916, 21.5699, 22.4218)),
    ((24.25, 43.0, 3.2), "refraction_dpt", 18.0, (0.5984, 0.5913, 0.5068, 1.1232)),
    ((31.05, 43.0, 3.6), "lens_position_mm", None, (6.8024, 5.8535, 6.7726, 6.0719)),
    ((32.0, 42.0, 3.7), "lens_position_mm", None, (6.5465, 5.6856, 6.7137, 6.2069)),
)


def rows() -> Iterator[dict[str, object]]:
    """One row for each formula of each line of the table."""
    for (length, power, depth), quantity, asked, values in EYES:
        for (formula, source), expected in zip(FORMULAS.items(), values, strict=True):
            yield {
                "source": source,
                "table": "reference values, constants converted from A 118.4",
                "formula": formula,
                "quantity": quantity,
                "axial_length_mm": length,
                "mean_k_dpt": power,
                "anterior_chamber_depth_mm": depth,
                "asked_dpt": "" if asked is None else asked,
                "expected": f"{expected:.4f}",
                "unit": "mm" if asked is None else "D",
                "tolerance": ROUNDED[0],
                "reason": ROUNDED[1],
                "status": "from memory",
                "provenance": "computed from the equations, not published",
            }


def main() -> None:
    """Write the file."""
    with OUT.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows())
    print(f"{OUT.name} written")


if __name__ == "__main__":
    main()
