"""A workbench for the whole job of a cataract surgeon: measure, plan, operate, review, learn."""

__version__ = "0.1.0"
