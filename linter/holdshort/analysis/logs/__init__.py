"""Measured logs: rows of text in, figures out. Pure, in a stream, in constant memory."""
