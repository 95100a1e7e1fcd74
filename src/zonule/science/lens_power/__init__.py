"""Published formulas for the power of an intraocular lens, one file each, and what they share."""
