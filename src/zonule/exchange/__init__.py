"""Files from outside in, files for outside out: lenient in, strict out."""
