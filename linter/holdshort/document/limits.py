"""How large a file may be before it is refused."""

from __future__ import annotations

from typing import NamedTuple


class Limits(NamedTuple):
    """The most a file may hold.

    `size` in bytes; `depth` in mappings and lists inside each other, the root counted;
    `nodes` in keys, values, mappings and lists; `scalar` in characters of one key or value;
    `digits` in digits of one whole number.
    """

    size: int = 2 * 1024 * 1024
    depth: int = 40
    nodes: int = 200_000
    scalar: int = 20_000
    digits: int = 30
