"""The fix list: what is told about the aircraft files of one run, in several renderings.

``report`` holds what is told, ``formats`` names the renderings of it, ``plain`` makes any text fit
for a terminal. Nothing is imported here, so that a command pays only for what it uses.
"""
