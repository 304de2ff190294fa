"""The fix list: what is told about the aircraft files of one run, in several renderings.

``report`` holds what is told, ``text`` and ``json_format`` render it, ``plain`` makes any text fit
for a terminal. Nothing is imported here, so that a command pays only for what it uses.
"""
