"""The language server: findings, hover, completion and fixes in the owner's own editor.

Needs the extra ``editor``. Everything of the protocol is here; the protocol counts lines and
columns from 0, in units that client and server agree on, and everything else in this program from
1, in code points: the two meet in :mod:`holdshort.editor.positions` only.
"""
