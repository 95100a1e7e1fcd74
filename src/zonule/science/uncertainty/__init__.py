"""How sure a number is: repeatability, draws, laws of spread."""
