"""Parts: in the file and in catalogues, like others, given twice, or not to be had."""

from collections.abc import Callable

import pytest

from holdshort.document import Fault, read_document
from holdshort.setup import Loaded, check_catalogue
from holdshort.setup.parts import Receiver, Servo

OnlyFault = Callable[..., Fault]
Reading = Callable[..., Loaded]

PLANE = "holdshort: 1\n"
SHELF = """\
holdshort-parts: 1
parts:
  plain: {kind: servo, title: plain servo, voltage: {min: 4.8 V, max: 6.0 V}, frame-rate: 50 Hz}
  strong: {like: plain, voltage: {max: 8.4 V}}
  rx: {kind: receiver, ports: {1..2: servo}}
"""


def test_a_derived_part_has_what_it_states_and_the_rest_of_the_other(reading: Reading) -> None:
    text = PLANE + "catalogues: [shelf]\nparts: {mine: {like: strong, title: mine}}\n"
    loaded = reading(text + "devices: {x: {part: mine}}\n", {"shelf": SHELF})
    assert loaded.faults == ()
    fitted = loaded.setup.devices["x"]
    part = fitted.part
    assert isinstance(part, Servo)
    assert part.title == "mine"
    assert part.voltage is not None
    assert part.voltage.min is None
    assert part.voltage.max == pytest.approx(8.4)
    assert part.frame_rate == pytest.approx(50.0)
    assert fitted.part_place("title") == ("plane.yaml", ("parts", "mine", "title"))
    assert fitted.part_place("voltage") == ("shelf", ("parts", "strong", "voltage"))
    assert fitted.part_place("frame-rate") == ("shelf", ("parts", "plain", "frame-rate"))
    assert fitted.part_place("mass") == ("plane.yaml", ("parts", "mine"))


def test_ports_of_a_catalogue_part_stand_in_the_catalogue(reading: Reading) -> None:
    text = PLANE + "catalogues: [shelf]\ndevices: {x: {part: rx}}\n"
    fitted = reading(text, {"shelf": SHELF}).setup.devices["x"]
    assert isinstance(fitted.part, Receiver)
    assert fitted.ports["2"].set_by == ("shelf", ("parts", "rx", "ports", "1..2"))


def test_a_circle_of_likeness_is_told_once(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "parts: {a: {like: b}, b: {like: c}, c: {like: a}}")
    assert fault.kind == "part-like-itself"
    assert fault.message == "Part `a` is like itself, by way of `a`, `b`, `c` then `a`."
    assert fault.path == ("parts", "c", "like")


def test_a_part_like_itself_is_told(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "parts: {a: {like: a}}")
    assert fault.message == "Part `a` is like itself, by way of `a` then `a`."


def test_a_part_that_leads_into_a_circle_adds_nothing(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "parts: {x: {like: a}, a: {like: b}, b: {like: a}}")
    assert fault.kind == "part-like-itself"


@pytest.mark.parametrize(
    ("like", "kind", "message"),
    [
        ("servvo", "unknown-part", "Part `x` is like `servvo`, which is not a known part."),
        ("5", "wrong-value", "`like` is `5`."),
        ("", "wrong-value", "`like` is nothing."),
    ],
)
def test_what_a_part_cannot_be_like(
    only_fault: OnlyFault, like: str, kind: str, message: str
) -> None:
    fault = only_fault(PLANE + f"parts: {{x: {{like: {like}}}, servo: {{kind: servo}}}}")
    assert (fault.kind, fault.message) == (kind, message)
    assert fault.path == ("parts", "x", "like")


def test_an_inherited_mistake_is_told_once_where_it_is_written(reading: Reading) -> None:
    shelf = SHELF.replace("frame-rate: 50 Hz", "fram-rate: 50 Hz")
    text = PLANE + "catalogues: [shelf]\ndevices: {x: {part: plain}, y: {part: strong}}\n"
    loaded = reading(text, {"shelf": shelf})
    (fault,) = loaded.faults
    assert fault.file == "shelf"
    assert fault.span is not None
    assert shelf.splitlines()[fault.span.line - 1][fault.span.column - 1 :].startswith("fram-rate")
    assert "`frame-rate`" in fault.do
    assert loaded.setup.devices == {}
    assert loaded.setup.broken == {("devices", "x"), ("devices", "y")}


def test_a_mistake_in_a_part_nobody_fits_is_told_for_the_own_file_only(reading: Reading) -> None:
    shelf = SHELF.replace("50 Hz", "50 V")
    assert reading(PLANE + "catalogues: [shelf]\n", {"shelf": shelf}).faults == ()
    assert len(reading(PLANE + "parts: {s: {kind: servo, frame-rate: 50 V}}").faults) == 1
    checked = check_catalogue(read_document(shelf.encode(), "shelf"))
    assert [fault.kind for fault in checked] == ["wrong-quantity"]


def test_a_catalogue_that_is_missing_is_told_at_the_line_that_names_it(reading: Reading) -> None:
    loaded = reading(PLANE + "catalogues: [shelf]\n")
    kinds = {fault.kind: fault for fault in loaded.faults}
    assert set(kinds) == {"file-missing", "unreadable-catalogue"}
    fault = kinds["unreadable-catalogue"]
    assert fault.message == "Catalogue `shelf` could not be read."
    assert fault.span is not None
    assert (fault.span.line, fault.span.column) == (2, 14)


def test_a_catalogue_that_is_no_document_is_told_in_its_own_words(reading: Reading) -> None:
    loaded = reading(PLANE + "catalogues: [shelf]\n", {"shelf": "parts: {"})
    assert {fault.file for fault in loaded.faults} == {"plane.yaml", "shelf"}
    assert "unreadable-catalogue" in {fault.kind for fault in loaded.faults}


@pytest.mark.parametrize(
    ("shelf", "kind", "message"),
    [
        ("parts: {}", "not-a-catalogue", "`shelf` does not begin with `holdshort-parts: 1`"),
        ("holdshort-parts: 2", "unknown-version", "`holdshort-parts` is `2`"),
        ("holdshort-parts: 1\npart: {}", "unknown-key", "`part` is not a section"),
        ("holdshort-parts: 1\nparts: []", "wrong-value", "`parts` wants a mapping, found a list"),
    ],
)
def test_what_is_no_catalogue_is_told(
    only_fault: OnlyFault, shelf: str, kind: str, message: str
) -> None:
    fault = only_fault(PLANE + "catalogues: [shelf]\n", {"shelf": shelf})
    assert fault.kind == kind
    assert message in fault.message


def test_a_part_that_two_files_declare_is_told_and_the_first_counts(reading: Reading) -> None:
    text = PLANE + "parts: {plain: {kind: lights}}\ncatalogues: [shelf]\n"
    loaded = reading(text + "devices: {x: {part: plain}}\n", {"shelf": SHELF})
    (fault,) = loaded.faults
    assert fault.kind == "part-given-twice"
    assert fault.message == "Part `plain` is declared twice: here and in plane.yaml."
    assert (fault.file, fault.path) == ("shelf", ("parts", "plain"))
    assert loaded.setup.devices["x"].kind == "lights"


def test_a_catalogue_named_twice_is_told_once(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "catalogues: [shelf, shelf]\n", {"shelf": SHELF})
    assert (fault.kind, fault.path) == ("given-twice", ("catalogues", 1))


def test_a_catalogue_checked_alone_tells_everything() -> None:
    text = "holdshort-parts: 1\nparts: {a: {kind: servo, mass: 5}, b: {kind: x}, c: {like: d}}\n"
    faults = check_catalogue(read_document(text.encode(), "shelf"))
    assert [fault.kind for fault in faults] == ["wrong-quantity", "unknown-kind", "unknown-part"]
    assert [fault.kind for fault in check_catalogue(read_document(b"parts: {}", "shelf"))] == [
        "missing-key"
    ]
