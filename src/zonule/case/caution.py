"""What zonule is and is not, once, for the README, the screen, the sheet and every exported file."""

from __future__ import annotations

CAUTION_SHORT = (
    "Research and teaching software, reviewed by no regulator. Not to be the sole or primary basis of a lens "
    "choice: check each result against an independently cleared method. The surgeon is responsible."
)

CAUTION = (
    "zonule is research and teaching software. No regulator has reviewed it and it bears no conformity mark. "
    "It is not to be used as the sole or primary basis of a lens choice. Each result must be checked against "
    "an independently cleared method. The surgeon is responsible for every decision made with it."
)
