"""What follows from a setup: pure functions, SI inside, no input or output."""

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.facts import Because, Need

__all__ = ["Aircraft", "Because", "Need"]
