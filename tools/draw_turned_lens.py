"""Draw docs/pictures/turn-dial.svg and turn-sweep.svg from an example review.

.venv/bin/python tools/draw_turned_lens.py
"""

from __future__ import annotations

from pathlib import Path

from zonule import wiring
from zonule.drawings.ink import PAPER
from zonule.drawings.rotation import sweep_drawing
from zonule.drawings.svg import Drawing, rectangle
from zonule.drawings.turn_dial import turn_dial
from zonule.workflow.rotation import rotation_review

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "docs" / "pictures"
EXAMPLE = ROOT / "examples" / "reviews" / "lens-off-its-plan.json"


def drawings() -> dict[str, str]:
    """Each picture as SVG, by the name of its file."""
    eye, outcome, _ = wiring.read_review_file(str(EXAMPLE))
    review = rotation_review(outcome)
    return {
        "turn-dial.svg": _on_paper(turn_dial(review, eye)),
        "turn-sweep.svg": _on_paper(sweep_drawing(review)),
    }


def _on_paper(drawing: Drawing) -> str:
    """The drawing on its own ground, so that it can be read on a dark page too."""
    ground = str(rectangle((0.0, 0.0), (2000.0, 2000.0), fill=PAPER.paper))
    return drawing.svg.replace("</desc>", f"</desc>{ground}", 1) + "\n"


if __name__ == "__main__":
    for name, svg in drawings().items():
        (PICTURES / name).write_text(svg, encoding="utf-8")
