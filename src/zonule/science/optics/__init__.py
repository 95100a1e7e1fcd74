"""Vergence, keratometry and thick corneas."""
