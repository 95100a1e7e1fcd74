"""An invented clinic: invented people, lenses and results, for trying things out and for nothing else."""
