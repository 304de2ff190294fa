"""How much of its load a network can carry, and where it gives way."""

from typing import Final

from holdshort.analysis.circuit_elements import CollapsePlace, ConvergenceError
from holdshort.analysis.circuit_newton import (
    Attempt,
    Consumer,
    Network,
    Outcome,
    attempt,
    attempt_carefully,
    attempt_without_ties,
    linear_step,
    start,
)

_SHARE_STEP: Final = 2.0**-20
"""The share of the load that can be carried is found to this."""

_FALLS_WITH: Final = 0.5
"""A consumer falling at least this part as fast as the fastest is named beside it."""


def raise_load(network: Network) -> Attempt | CollapsePlace:
    """Raise the loads from nothing to full, or to where the operating point is lost.

    Careful steps at full load are tried first. Then each step starts from the last point found,
    which lies above the next. A step that fails is halved, so a failure far from any limit is
    passed by. Raises `ConvergenceError` when an attempt at the smallest step ends without telling
    whether a point exists.
    """
    whole = attempt_carefully(network, 1.0, start(network))
    if whole.outcome is Outcome.FOUND:
        return whole
    empty = attempt(network, 0.0, start(network))
    if empty.outcome is not Outcome.FOUND:
        empty = attempt_without_ties(network, 0.0, start(network))
    if empty.outcome is not Outcome.FOUND:
        return _place_without_load(network, empty)
    found = failed = empty
    share, step = 0.0, 0.5
    while step >= _SHARE_STEP:
        target = min(share + step, 1.0)
        tried = attempt(network, target, found.voltages)
        if tried.outcome is not Outcome.FOUND:
            step, failed = step / 2.0, tried
            continue
        found, share = tried, target
        if share == 1.0:
            return found
    return _place(network, share, empty.voltages, found.voltages, failed)


def _place(
    network: Network, share: float, empty: list[float], found: list[float], failed: Attempt
) -> CollapsePlace:
    if failed.outcome is Outcome.STUCK:
        raise ConvergenceError(f"no operating point and no limit found at {share:.6f} of the load")
    reverse = failed.outcome is Outcome.REVERSED
    if reverse:
        falling = [min(network.current_loads, key=lambda load: load.across(failed.voltages))]
    else:
        falling = _falling(network, share, empty, found)
    worst = falling[0]
    return CollapsePlace(
        cause="no voltage left" if reverse else "no operating point",
        consumer=worst.name,
        node=network.survey.names[worst.one],
        share=share,
        voltage=worst.across(found),
        no_load_voltage=worst.across(empty),
        also_falling=tuple(consumer.name for consumer in falling[1:]),
    )


def _place_without_load(network: Network, failed: Attempt) -> CollapsePlace:
    inputs = [consumer for consumer in network.consumers if not consumer.amount]
    if failed.outcome is Outcome.STUCK or not inputs:
        raise ConvergenceError("no operating point and no limit found with no load")
    inputs.sort(key=lambda consumer: consumer.across(failed.voltages))
    worst = inputs[0]
    return CollapsePlace(
        cause="no operating point",
        consumer=worst.name,
        node=network.survey.names[worst.one],
        share=0.0,
        voltage=None,
        no_load_voltage=None,
        also_falling=tuple(consumer.name for consumer in inputs[1:]),
    )


def _falling(
    network: Network, share: float, empty: list[float], found: list[float]
) -> list[Consumer]:
    """Return the consumers whose voltage falls fastest in relation to no load, fastest first."""
    rates = _fall_rates(network, share, found)
    consumers = [*network.current_loads, *network.consumers]
    fall = {c.name: -c.across(rates) / (abs(c.across(empty)) or 1.0) for c in consumers}
    consumers.sort(key=lambda c: fall[c.name], reverse=True)
    least = _FALLS_WITH * fall[consumers[0].name]
    return consumers[:1] + [c for c in consumers[1:] if fall[c.name] >= least]


def _fall_rates(network: Network, share: float, found: list[float]) -> list[float]:
    """Return dV/dshare at a point, V: how each node moves for the next bit of every load."""
    right = [0.0] * len(found)
    more = right[:]
    for load in network.current_loads:
        more[load.one] -= load.amount
        more[load.other] += load.amount
    for power in network.powers:
        current = power.amount / power.across(found)
        more[power.one] -= current
        more[power.other] += current
    here = linear_step(network, share, found, right)
    there = linear_step(network, share, found, more)
    if here is None or there is None:
        raise ConvergenceError(f"the point found at {share:.6f} of the load is not on a branch")
    return [b - a for a, b in zip(here, there, strict=True)]
