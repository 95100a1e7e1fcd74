"""Records in, drawings out: the eye to scale and the odds, the same on screen and on paper."""
