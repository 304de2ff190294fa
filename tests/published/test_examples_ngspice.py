"""Every shipped aircraft, in every load case, against ngspice.

ngspice is given the very elements that the solver is given, with the laws written out anew (see
`spice.py`), and starts 0.02 V under our answer at every node. Each file is one run of ngspice.
"""

from dataclasses import fields, replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.circuit import GROUND, Element
from holdshort.analysis.power import PowerStudy
from holdshort.analysis.power_elements import node_name
from holdshort.analysis.wiring import nodes_of
from holdshort.document import Document, read_file
from holdshort.setup import load

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = [
    *sorted((ROOT / "examples").glob("*.yaml")),
    *sorted((ROOT / "examples" / "faults").glob("*.yaml")),
]
LAYOUTS = sorted((ROOT / "linter" / "holdshort" / "cli" / "layouts").glob("*.yaml"))
NODES = ("positive", "negative", "first", "second", "input", "output", "common")


def aircraft(path: Path) -> Aircraft:
    def read(name: str) -> Document:
        return read_file(path.parent / name, name)

    loaded = load(read_file(path), read)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def numbered(elements: tuple[Element, ...], names: dict[str, str]) -> list[Element]:
    """Return the elements with nodes named `n0`, `n1`: ngspice splits its lines at spaces."""

    def short(name: str) -> str:
        return name if name == GROUND else names.setdefault(name, f"n{len(names)}")

    renamed: list[Element] = []
    for element in elements:
        ends = {field.name for field in fields(element)} & set(NODES)
        given: dict[str, Any] = {end: short(getattr(element, end)) for end in sorted(ends)}
        renamed.append(replace(element, **given))
    return renamed


def asked_of_ngspice(power: PowerStudy, spice: ModuleType) -> list[dict[str, float] | None]:
    """Return the node voltages of every case by ngspice, under our names of the nodes."""
    networks: list[list[Element]] = []
    guesses: list[dict[str, float]] = []
    back: list[dict[str, str]] = []
    for result in power.results:
        names: dict[str, str] = {}
        networks.append(numbered(power.elements(result.case), names))
        assert result.solution is not None
        ours = result.solution.voltages
        guesses.append({names[node]: ours[node] - 0.02 for node in names if node in ours})
        back.append({short: name for name, short in names.items()})
    answers = spice.operating_points(networks, guesses)
    return [
        {real[short]: volts for short, volts in answer.items()} if answer else None
        for answer, real in zip(answers, back, strict=True)
    ]


@pytest.mark.parametrize("path", [*EXAMPLES, *LAYOUTS], ids=lambda path: path.stem)
def test_every_case_of_a_shipped_aircraft(path: Path, spice: ModuleType) -> None:
    power = aircraft(path).power
    for result, theirs in zip(power.results, asked_of_ngspice(power, spice), strict=True):
        assert result.solution is not None
        assert theirs, result.case.name
        ours = {node: volts for node, volts in result.solution.voltages.items() if node != GROUND}
        assert theirs.keys() == ours.keys(), result.case.name
        assert ours == pytest.approx(theirs, abs=1e-6), result.case.name


def test_every_device_with_a_supply_is_in_the_comparison(spice: ModuleType) -> None:
    path = ROOT / "examples" / "tarn-swift.yaml"
    flown = aircraft(path)
    rest, *_ = asked_of_ngspice(flown.power, spice)
    assert rest is not None
    fed = {node_name(next(nodes_of(device))) for device in flown.setup.devices.values()}
    assert fed <= rest.keys()
