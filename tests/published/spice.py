"""Runs ngspice, and writes networks in its language, so that it can be asked for the same answer.

The laws are written out anew as behavioural sources, not taken from the solver: a diode is
`uramp(...)` of its forward voltage over its resistance, a regulator a current source into its
output and one out of its input. So what is compared is the solving, and the laws as documented.

Many networks go into one run: they share nothing but node 0.
"""

import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from holdshort.analysis.circuit import (
    GROUND,
    Conversion,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    PowerLoad,
    ResistanceLoad,
    Resistor,
    Source,
    SwitchingRegulator,
)

NGSPICE = shutil.which("ngspice")

_OPTIONS = ".options reltol=1e-9 vntol=1e-12 abstol=1e-13 itl1=2000 rshunt=1e12"
_VALUE = re.compile(r"^(\S+) = (\S+)$", re.MULTILINE)


class SpiceError(RuntimeError):
    """ngspice found no operating point, or did not understand the netlist."""


def operating_point(lines: Iterable[str]) -> dict[str, float]:
    """Return every vector of ngspice's operating point of a netlist, by its name in lower case."""
    deck = "\n".join(
        [
            "* operating point",
            *lines,
            _OPTIONS,
            ".control",
            "set numdgt=12",
            "op",
            "print all",
            "quit",
            ".endc",
            ".end",
            "",
        ]
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "network.cir")
        path.write_text(deck, encoding="ascii")
        ran = subprocess.run(
            [str(NGSPICE), "-b", str(path)],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
            cwd=folder,
        )
    found = {name.lower(): float(value) for name, value in _VALUE.findall(ran.stdout)}
    if not found or "failed" in ran.stderr or "singular" in ran.stderr:
        raise SpiceError(ran.stderr[-2000:] + ran.stdout[-500:])
    return found


def operating_points(
    networks: Sequence[Sequence[Element]], guesses: Sequence[Mapping[str, float]]
) -> list[dict[str, float] | None]:
    """Return node voltages of each network, all from one run; None where ngspice finds none.

    `guesses` gives the node voltages ngspice starts from, which are only hints to it. When the
    run of all of them fails each is run alone.
    """
    lines = [
        line
        for place, (network, guess) in enumerate(zip(networks, guesses, strict=True))
        for line in _netlist(network, guess, place)
    ]
    try:
        found = operating_point(lines)
    except SpiceError:
        if len(networks) == 1:
            return [None]
        return [
            operating_points([network], [guess])[0]
            for network, guess in zip(networks, guesses, strict=True)
        ]
    return [
        # A node that is not printed is an error here, never a node left out of the comparison.
        {node: found[_node(node, place).lower()] for node in guess if node != GROUND}
        for place, guess in enumerate(guesses)
    ]


def _node(name: str, place: int) -> str:
    return "0" if name == GROUND else f"k{place}_{name}"


def _netlist(network: Sequence[Element], guess: Mapping[str, float], place: int) -> list[str]:
    lines = [
        line
        for number, element in enumerate(network)
        for line in _element(element, f"{place}_{number}", place)
    ]
    hints = " ".join(f"v({_node(name, place)})={volts!r}" for name, volts in guess.items())
    return [*lines, f".nodeset {hints}"] if hints else lines


def _element(element: Element, tag: str, place: int) -> list[str]:
    match element:
        case Source():
            positive, negative = _node(element.positive, place), _node(element.negative, place)
            return [
                f"V{tag} e{tag} {negative} DC {element.emf!r}",
                f"R{tag} e{tag} {positive} {element.resistance!r}",
            ]
        case Resistor():
            ends = f"{_node(element.first, place)} {_node(element.second, place)}"
            return [f"R{tag} {ends} {element.resistance!r}"]
        case Diode():
            a, b = _node(element.input, place), _node(element.output, place)
            law = f"uramp(v({a},{b})-{element.forward_drop!r})/{element.resistance!r}"
            return [f"B{tag} {a} {b} I={law}"]
        case LinearRegulator() | SwitchingRegulator():
            return _regulator(element, tag, place)
        case _:
            return _load(element, tag, place)


def _load(element: CurrentLoad | PowerLoad | ResistanceLoad, tag: str, place: int) -> list[str]:
    a, b = _node(element.positive, place), _node(element.negative, place)
    match element:
        case CurrentLoad():
            return [f"I{tag} {a} {b} DC {element.current!r}"]
        case PowerLoad():
            return [f"B{tag} {a} {b} I={element.power!r}/v({a},{b})"]
        case ResistanceLoad():
            return [f"R{tag} {a} {b} {element.resistance!r}"]


def _regulator(element: LinearRegulator | SwitchingRegulator, tag: str, place: int) -> list[str]:
    a, b = _node(element.input, place), _node(element.output, place)
    c = _node(element.common, place)
    through = f"(v({a},{c})-{element.dropout!r})"
    aim = f"min({element.set_voltage!r},{through})"
    ratio = "1"
    if isinstance(element, SwitchingRegulator):
        power_ratio = f"v({b},{c})/({element.efficiency!r}*v({a},{c}))"
        low = f"{through}<{element.set_voltage!r}"
        match element.conversion:
            case Conversion.STEP_DOWN:
                ratio = f"({low} ? 1 : min(1,{power_ratio}))"
            case Conversion.STEP_UP:
                aim = f"max({element.set_voltage!r},{through})"
                ratio = f"({through}>{element.set_voltage!r} ? 1 : max(1,{power_ratio}))"
            case Conversion.EITHER:
                aim, ratio = f"{element.set_voltage!r}", power_ratio
    given = f"uramp({aim}-v({b},{c}))/{element.output_resistance!r}"
    return [
        f"Bo{tag} {c} {b} I={given}",
        f"Bi{tag} {a} {c} I=({given})*{ratio}+{element.quiescent_current!r}",
    ]
