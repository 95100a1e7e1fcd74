"""Astigmatism as vectors: corneas, incisions, toric lenses."""
