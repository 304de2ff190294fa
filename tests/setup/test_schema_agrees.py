"""The schema for editors and the reader agree: on generated files, valid and spoilt."""

import copy
import json
import types
from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from hypothesis import event, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from jsonschema.protocols import Validator
from pydantic import BeforeValidator

from holdshort.document import DocumentError, Fault, read_document
from holdshort.setup import check_catalogue, load
from holdshort.setup.balance import Balance
from holdshort.setup.base import (
    CHANNEL_RUN,
    DAY,
    END,
    NAME,
    PORT_RUN,
    RULE,
    Prose,
    Section,
    Whole,
    Wording,
)
from holdshort.setup.evidence import FINGERPRINT, TEST, SignOff
from holdshort.setup.logs import FIGURE, HEADING, LogColumns
from holdshort.setup.measures import LEVEL
from holdshort.setup.parts import PART_MODELS, PartBase
from holdshort.setup.quantities import PortionType, QuantityType
from holdshort.setup.schema import catalogue_schema, setup_schema
from holdshort.setup.sections import (
    CODES,
    FAILSAFE_ACTION,
    FAILSAFE_WORDS,
    Aircraft,
    Deferral,
    Device,
    DeviceFailsafe,
    Lead,
    LoadCases,
    Observation,
    Radio,
    Surface,
)
from holdshort.setup.telemetry import Reading


def to_the_very_end(node: Any) -> Any:
    """Let ``$`` mean the very end, as in ECMA; Python's also stands before a last line break."""
    if isinstance(node, list):
        return [to_the_very_end(item) for item in node]
    if isinstance(node, dict):
        return {to_the_very_end(key): to_the_very_end(value) for key, value in node.items()}
    if isinstance(node, str) and node.startswith("^") and node.endswith("$"):
        return node.removesuffix("$") + r"\Z"
    return node


SETUP: Validator = Draft202012Validator(to_the_very_end(setup_schema()))
CATALOGUE: Validator = Draft202012Validator(to_the_very_end(catalogue_schema()))

# Mistakes that no schema can express: where names lead, and which way a run goes.
BEYOND_FORM = {
    "unknown-tank", "range-backwards", "more-than-it-holds",
    "tare-above-load", "places-differ",
    "unknown-part", "unknown-device", "unknown-port", "unknown-function", "unknown-channel",
    "wrong-kind", "given-twice", "part-given-twice", "part-like-itself", "port-cannot-be",
    "misplaced-setting", "unreadable-catalogue", "not-a-catalogue", "file-missing", "bad-run",
    "no-subject", "wrong-unit", "not-measured",
}  # fmt: skip

Strategy = st.SearchStrategy[Any]

names = st.text(alphabet="abcdeé-_ 7'/", min_size=1, max_size=8).filter(NAME.fits)
ports = st.sampled_from(["1", "12", "bus", "in-2", "A b", "0"])
port_runs = ports | st.sampled_from(["1..6", "out-1..2", "0..3"])
channel_runs = st.sampled_from(["1", "7", "99", "1..6", "10..12"])
ends = st.builds(lambda name, port: f"{name}.{port}", names, ports) | names
pulses = st.sampled_from(["1000 us", "1520us", "900.5 µs", "-100 %", "+12.5%", "0 %"])
WORDINGS: list[tuple[Wording, Strategy]] = [
    (NAME, names),
    (PORT_RUN, port_runs),
    (CHANNEL_RUN, channel_runs),
    (END, ends),
    (DAY, st.dates(date(2000, 1, 1), date(2099, 12, 31)).map(date.isoformat)),
    (RULE, st.sampled_from(["a-b", "lead-too-thin", "rule-2"])),
    (TEST, st.sampled_from(["failsafe", "range check engine off", "both shut-downs"])),
    (FINGERPRINT, st.text(alphabet="0123456789abcdef", min_size=16, max_size=16)),
    (FAILSAFE_ACTION, st.sampled_from(FAILSAFE_WORDS) | pulses),
    (LEVEL, st.sampled_from(["10.2 V", "-40degC", "110000 rpm", "20 %", "-90.5 dBm", "0 frames"])),
    (HEADING, st.sampled_from(["Rx V", "A (é), 1.5", "x" * 200])),
    (FIGURE, st.sampled_from(["lowest voltage at rx", "x" * 120])),
]


def quantities(kind: QuantityType) -> Strategy:
    most = "100" if isinstance(kind, PortionType) else "999999999"
    numbers = st.sampled_from(["1", "0.5", "12.25", "000.1", most])
    if kind.zero:
        numbers |= st.sampled_from(["0", "0.0"])
    units = st.sampled_from(sorted(set(kind.dimension.units) - {"AWG"}))
    texts = st.builds(
        lambda number, gap, unit: number + gap + unit, numbers, st.sampled_from(["", " "]), units
    )
    if kind.signed:
        return texts | texts.map(lambda text: "-" + text)
    if "AWG" in kind.dimension.units:
        return texts | st.sampled_from(["12 AWG", "40AWG"])
    return texts


def values(annotation: Any, markers: tuple[Any, ...] = ()) -> Strategy:
    """Return valid values of a field, in the forms in which a file may give them."""
    marked = [strategy for marker in markers for strategy in of_marker(marker)]
    if marked:
        return marked[0]
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return values(inner[0], (*inner[1:], *markers))
    if origin in {Union, types.UnionType}:
        return st.one_of(*[values(part) for part in inner])
    if origin is Literal:
        return st.sampled_from(inner)
    if origin in {tuple, list}:
        least = shortest(markers)
        return st.lists(values(inner[0]), min_size=least, max_size=max(2, least))
    if origin is dict:
        keys, entries = values(inner[0]), values(inner[1])
        return st.dictionaries(keys, entries, min_size=shortest(markers), max_size=3)
    return PLAIN[annotation] if annotation in PLAIN else sections(annotation)


PLAIN: dict[Any, Strategy] = {
    bool: st.booleans(),
    types.NoneType: st.none(),
}


def of_marker(marker: Any) -> list[Strategy]:
    """Return the values that a marker of ours, or the input type of a short form, stands for."""
    if isinstance(marker, QuantityType):
        return [quantities(marker)]
    if isinstance(marker, Whole):
        return [st.integers(marker.low, marker.high) | st.just(float(marker.low))]
    if isinstance(marker, Wording):
        return [strategy for wording, strategy in WORDINGS if wording is marker]
    if isinstance(marker, Prose):
        return [st.sampled_from(["x", "some words", "12 V", "é", "x" * marker.longest])]
    if isinstance(marker, BeforeValidator):
        return [values(marker.json_schema_input_type)]
    return []


def shortest(markers: tuple[Any, ...]) -> int:
    """Return the fewest items that a list may have."""
    bounds = [bound for marker in markers for bound in (marker, *getattr(marker, "metadata", ()))]
    return max([getattr(bound, "min_length", 0) or 0 for bound in bounds], default=0)


def sections(model: type[Section]) -> Strategy:
    assert issubclass(model, Section), model
    needed: dict[Any, Strategy] = {}
    optional: dict[Any, Strategy] = {}
    for name, info in model.model_fields.items():
        group = needed if info.is_required() else optional
        group[info.alias or name] = values(info.annotation, tuple(info.metadata))
    return st.fixed_dictionaries(needed, optional=optional)


def parts() -> Strategy:
    kinds = st.one_of(*[sections(model) for model in dict.fromkeys(PART_MODELS.values())])
    derived = st.builds(lambda like, fields: {**fields, "like": like}, names, sections(PartBase))
    return st.dictionaries(names, kinds | kinds | derived, min_size=1, max_size=3)


def maybe(strategy: Strategy) -> Strategy:
    return strategy | st.none()


def few(entries: Strategy) -> Strategy:
    return st.dictionaries(names, entries, min_size=1, max_size=2)


SECTIONS: dict[str, Strategy] = {
    "aircraft": sections(Aircraft),
    "follows": st.lists(st.sampled_from(CODES), max_size=2),
    "catalogues": st.lists(st.sampled_from(["a.yaml", "b.yaml"]), max_size=2),
    "parts": parts(),
    "devices": few(sections(Device)),
    "leads": st.lists(sections(Lead), min_size=1, max_size=2),
    "observations": st.lists(sections(Observation), min_size=1, max_size=2),
    "deferrals": st.lists(sections(Deferral), min_size=1, max_size=2),
    "sign-offs": st.lists(sections(SignOff), min_size=1, max_size=2),
    "radio": sections(Radio),
    "failsafe": few(sections(DeviceFailsafe)),
    "surfaces": few(sections(Surface)),
    "load-cases": sections(LoadCases),
    "balance": sections(Balance),
    "telemetry": few(sections(Reading)),
    "log": sections(LogColumns),
}
FIRST = {"holdshort": st.just(1)}
setups = st.one_of(
    st.fixed_dictionaries(FIRST, optional={key: maybe(SECTIONS[key]) for key in SECTIONS}),
    *[st.fixed_dictionaries({**FIRST, key: SECTIONS[key]}) for key in SECTIONS],
)
catalogues = st.fixed_dictionaries({"holdshort-parts": st.just(1), "parts": maybe(parts())})

ODD_VALUES = st.sampled_from(
    [None, True, False, 0, 1, 3.0, 2.5, -1, 10**9, "", "x", "hold", "5", "5 V", "1 kg", "0 A",
     "-3 mm", "8,4 V", "8.4 v", "1 A\n", " 1 s", "  ", "x" * 81, "x" * 2000, "x" * 2001, "a.b",
     "a.b.c", "on", [], ["x"], [1], [["servo", "servo"]], {}, {"x": 1}, {"min": "5 V"},
     {"low": "5 %"}]
)  # fmt: skip
ODD_KEYS = st.sampled_from(
    ["x", "a.b", "", " a", "a ", "08", "007", "0", "100", "1..", "1..02", "x..y", "[a]", "a,b",
     "kind", "nam", "x" * 81, "x" * 80, "a\tb", "a\nb", "x\n", "è"]
)  # fmt: skip


def containers(node: Any, inside: str = "") -> list[Any]:
    """Return every mapping and list of a document that the schema can judge."""
    found: list[Any] = []
    if isinstance(node, dict):
        found.append(node)
        for key, value in node.items():
            if not (inside == "parts" and isinstance(value, dict) and "like" in value):
                found += containers(value, key)
    elif isinstance(node, list):
        found.append(node)
        for value in node:
            found += containers(value)
    return found


def misspell(text: str, where: int) -> str:
    if not text:
        return "x"
    where %= len(text)
    return text[:where] + text[where + 1 :]


def spoil(data: st.DataObject, document: dict[str, Any]) -> dict[str, Any]:
    """Change one thing in a copy of ``document``."""
    spoilt = copy.deepcopy(document)
    holder = data.draw(st.sampled_from(containers(spoilt)))
    if isinstance(holder, list):
        value = data.draw(ODD_VALUES)
        replaces: bool = data.draw(st.booleans())
        if holder and replaces:
            holder[data.draw(st.integers(0, len(holder) - 1))] = value
        else:
            holder.append(value)
        return spoilt
    how = data.draw(st.sampled_from(["drop", "add", "replace", "misspell key", "misspell value"]))
    event(how)
    key = data.draw(st.sampled_from(sorted(holder))) if holder else ""
    if how == "add" or not holder:
        holder[data.draw(ODD_KEYS)] = data.draw(ODD_VALUES)
    elif how == "drop":
        del holder[key]
    elif how == "replace":
        holder[key] = data.draw(ODD_VALUES)
    elif how == "misspell key":
        holder[misspell(key, data.draw(st.integers(0, 20)))] = holder.pop(key)
    elif isinstance(holder[key], str):
        holder[key] = misspell(holder[key], data.draw(st.integers(0, 20)))
    return spoilt


def as_bytes(document: dict[str, Any]) -> bytes:
    return json.dumps(document).encode()


def no_catalogue(name: str) -> Any:
    raise DocumentError(Fault("file-missing", f"There is no file {name}.", name, None))


def setup_faults(document: dict[str, Any]) -> list[Fault]:
    loaded = load(read_document(as_bytes(document), "x.yaml"), no_catalogue)
    return [fault for fault in loaded.faults if fault.kind not in BEYOND_FORM]


def catalogue_faults(document: dict[str, Any]) -> list[Fault]:
    faults = check_catalogue(read_document(as_bytes(document), "x.yaml"))
    return [fault for fault in faults if fault.kind not in BEYOND_FORM]


def agree(
    validator: Validator, document: dict[str, Any], faults_in: Callable[[Any], list[Fault]]
) -> bool:
    """Assert that schema and reader agree; return whether the document is well formed."""
    faults = faults_in(document)
    errors = [error.message[:300] for error in validator.iter_errors(document)]
    assert bool(errors) == bool(faults), (errors, [fault.message for fault in faults])
    for fault in faults:
        assert fault.span is not None
    return not faults


def test_every_section_is_generated() -> None:
    assert {*FIRST, *SECTIONS} == set(setup_schema()["properties"])


@settings(max_examples=150)
@given(setups)
def test_valid_setups_are_valid_to_both(document: dict[str, Any]) -> None:
    assert agree(SETUP, document, setup_faults)


@settings(max_examples=500)
@given(setups, st.data())
def test_spoilt_setups_are_judged_alike(document: dict[str, Any], data: st.DataObject) -> None:
    spoilt = spoil(data, document)
    again: bool = data.draw(st.booleans())
    if spoilt and again:
        spoilt = spoil(data, spoilt)
    if spoilt:
        event("still valid" if agree(SETUP, spoilt, setup_faults) else "invalid")


@settings(max_examples=200)
@given(catalogues, st.data())
def test_spoilt_catalogues_are_judged_alike(document: dict[str, Any], data: st.DataObject) -> None:
    assert agree(CATALOGUE, document, catalogue_faults)
    spoilt = spoil(data, document)
    if spoilt:
        agree(CATALOGUE, spoilt, catalogue_faults)
