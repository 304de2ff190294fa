"""Holdshort: a pre-flight setup linter for large radio-controlled model aircraft."""

__version__ = "0.1.0"
