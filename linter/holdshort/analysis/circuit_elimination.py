"""Sparse elimination for networks that are nearly trees, without pivoting.

A matrix A of n rows is held by its row sums s and its negated off-diagonals w: A[i][j] = -w[i, j]
and A[i][i] = s[i] + sum_j w[i, j]. Eliminating node k with pivot p = s[k] + sum_j w[k, j] adds
w[i, k] * w[k, j] / p to w[i, j] and w[i, k] * s[k] / p to s[i]: the star-mesh transformation. For
conductance matrices every term is positive, so nothing cancels (Grassmann, Taksar and Heyman,
Oper. Res. 33 (1985) 1107, from memory) and a positive pivot throughout means a positive-definite
or M-matrix.

Order: leaves are peeled first (no fill), what is left goes by least degree (Tinney and Walker,
Proc. IEEE 55 (1967) 1801, scheme 2, from memory).
"""

from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from typing import Final, NamedTuple

SPARE: Final = -1
"""Index of the last weight, which takes what belongs to no pair of nodes (links to ground)."""


@dataclass(slots=True)
class Pattern:
    """Which of `nodes` nodes are linked, and where w[i, j] lies in the list of weights.

    Node 0 is ground and counts among them.
    """

    nodes: int
    neighbours: list[dict[int, int]] = field(init=False)
    size: int = 0

    def __post_init__(self) -> None:
        self.neighbours = [{} for _ in range(self.nodes)]

    def link(self, one: int, other: int) -> tuple[int, int]:
        """Link two nodes; return the indices of w[one, other] and w[other, one].

        Links to ground, which is node 0 and no unknown, all go to the spare weight.
        """
        if not one or not other:
            return SPARE, SPARE
        row = self.neighbours[one]
        found = row.get(other)
        if found is not None:
            return found, found ^ 1
        forth = self.size
        self.size = forth + 2
        row[other] = forth
        self.neighbours[other][one] = forth + 1
        return forth, forth + 1


Branch = tuple[int, int, int]
"""A later node j with the indices of w[k, j] and w[j, k]."""


class Elimination(NamedTuple):
    """The order of elimination for one pattern, made once and run for many values.

    `leaves`: (node, its one neighbour j, index of w[node, j], index of w[j, node]).
    `core`: (node, its later neighbours, updates (target, left, right): w[target] +=
    w[left] * w[right] / pivot).
    """

    weights: int
    leaves: tuple[tuple[int, int, int, int], ...]
    core: tuple[tuple[int, tuple[Branch, ...], tuple[tuple[int, int, int], ...]], ...]

    def solve(
        self, sums: list[float], weights: list[float], right: list[float]
    ) -> list[float] | None:
        """Solve A x = right, overwriting the arguments; None when a pivot is not positive.

        Entry 0, for ground, is ignored in `sums` and `right` and 0 in the result.
        """
        for node, other, forth, back in self.leaves:
            weight = weights[forth]
            total = sums[node]
            pivot = total + weight
            if not pivot > 0.0:
                return None
            factor = weights[back] / pivot
            sums[other] += factor * total
            right[other] += factor * right[node]
            # The back substitution reads these: x[node] = right + weight * x[other].
            right[node] /= pivot
            weights[forth] = weight / pivot
        if not self._reduce_core(sums, weights, right):
            return None
        right[0] = 0.0
        for node, branches, _ in reversed(self.core):
            for other, forth, _ in branches:
                right[node] += weights[forth] * right[other]
        for node, other, forth, _ in reversed(self.leaves):
            right[node] += weights[forth] * right[other]
        return right

    def _reduce_core(self, sums: list[float], weights: list[float], right: list[float]) -> bool:
        for node, branches, updates in self.core:
            total = pivot = sums[node]
            for _, forth, _ in branches:
                pivot += weights[forth]
            if not pivot > 0.0:
                return False
            value = right[node] = right[node] / pivot
            total /= pivot
            for other, forth, back in branches:
                weights[forth] /= pivot
                sums[other] += weights[back] * total
                right[other] += weights[back] * value
            for target, left, source in updates:
                weights[target] += weights[left] * weights[source]
        return True


def plan(pattern: Pattern) -> Elimination:
    """Choose the order of elimination for a pattern, which is used up."""
    neighbours = pattern.neighbours
    leaves: list[tuple[int, int, int, int]] = []
    done = bytearray(pattern.nodes)
    done[0] = 1
    waiting = [node for node, row in enumerate(neighbours) if len(row) == 1]
    while waiting:
        node = waiting.pop()
        if not neighbours[node]:
            continue
        other, forth = neighbours[node].popitem()
        del neighbours[other][node]
        leaves.append((node, other, forth, forth ^ 1))
        done[node] = 1
        if len(neighbours[other]) == 1:
            waiting.append(other)
    core = [_eliminate(pattern, node) for node in _LeastDegree(pattern, done)]
    return Elimination(pattern.size + 1, tuple(leaves), tuple(core))


class _LeastDegree:
    """Nodes by least current degree, read while `_eliminate` changes the degrees."""

    def __init__(self, pattern: Pattern, done: bytearray) -> None:
        self._neighbours = pattern.neighbours
        self._done = done
        self._heap = [(len(self._neighbours[n]), n) for n in range(pattern.nodes) if not done[n]]
        self._near: list[int] = []
        heapify(self._heap)

    def __iter__(self) -> "_LeastDegree":
        return self

    def __next__(self) -> int:
        for node in self._near:
            heappush(self._heap, (len(self._neighbours[node]), node))
        while self._heap:
            degree, node = heappop(self._heap)
            if not self._done[node] and degree == len(self._neighbours[node]):
                self._done[node] = 1
                self._near = list(self._neighbours[node])
                return node
        raise StopIteration


def _eliminate(
    pattern: Pattern, node: int
) -> tuple[int, tuple[Branch, ...], tuple[tuple[int, int, int], ...]]:
    neighbours = pattern.neighbours
    branches = tuple((other, forth, forth ^ 1) for other, forth in neighbours[node].items())
    for other, _, _ in branches:
        del neighbours[other][node]
    updates: list[tuple[int, int, int]] = []
    for place, (one, forth_one, back_one) in enumerate(branches):
        for other, forth, back in branches[:place]:
            there, again = pattern.link(one, other)
            updates.append((there, back_one, forth))
            updates.append((again, back, forth_one))
    return node, branches, tuple(updates)
