"""Numbers in, numbers out: pure arithmetic, each piece with its source."""
