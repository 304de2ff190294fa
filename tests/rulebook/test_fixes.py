"""Making fixes: whole or not at all, in the setup file alone, each proved by a second look."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.document import Document, DocumentError, Fault, read_document
from holdshort.document.edit import EditableText, EditError
from holdshort.rulebook import (
    Edit,
    Finding,
    Fix,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    judge,
    rule,
)
from holdshort.rulebook.declare import Check
from holdshort.rulebook.fix_offers import fix_problem
from holdshort.rulebook.fixes import FixRun, Look, apply_fix, make_fixes
from holdshort.setup import Place, load
from holdshort.setup.runs import expand_run

FILE = "bench.yaml"
TEXT = """\
# a bench
holdshort: 1
catalogues: [shelf.yaml]
parts:
  servo: {kind: servo}   # small
  box: {kind: receiver, ports: {1..6: servo, supply: supply}}
devices:
  rx: {part: box}
  # the lamp
  lamp: {part: lamp, note: dim}
radio:
  channels:
    1..3: {drives: flap}
    4: {drives: throttle}
failsafe:
  rx: {channels: {1..3: hold, 4: stop}}
"""
SHELF = "holdshort-parts: 1\nparts:\n  lamp: {kind: lights}\n"


def bench_rule(
    rule_id: str,
    severity: Severity = Severity.CAUTION,
    hold: Hold = Hold.FLIGHT,
) -> Callable[[Check], Rule]:
    return rule(
        rule_id, title=rule_id, severity=severity, hold=hold, subject="test", sources=("B1",)
    )


def place(*path: str | int, file: str = FILE) -> Place:
    return Place(file, path)


def whenever(
    rule_id: str,
    at: tuple[str | int, ...],
    is_wrong: Any,
    *edits: Edit,
    severity: Severity = Severity.CAUTION,
    hold: Hold = Hold.FLIGHT,
) -> Rule:
    """A rule that finds something where what stands at a place is as said."""

    @bench_rule(rule_id, severity, hold)
    def judged(aircraft: Aircraft) -> Iterator[Outcome]:
        document = aircraft.setup.documents[aircraft.setup.file]
        try:
            value: object = document.node_at(at)
        except LookupError:
            value = KeyError
        if is_wrong(value):
            fix = Fix("Mends it in the file.", edits) if edits else None
            yield Finding(place(*at), f"{rule_id}: {value!r}", "Mend it.", fix=fix)

    return judged


def is_not(wanted: object) -> Any:
    return lambda value: value != wanted


def run(text: str, *rules: Rule, wanted: Any = lambda _: True) -> tuple[FixRun, str]:
    pack = Pack("bench", 1, rules, {"B1": Source("B1", "a book", "read")}, Path(), Path())

    def read(name: str) -> Document:
        return read_document(SHELF.encode(), name)

    def look(document: Document) -> Look:
        loaded = load(document, read)
        return Look(loaded, judge(Aircraft(loaded.setup), [(pack, one) for one in rules]))

    editable = EditableText(text, FILE)
    made = make_fixes(editable, look, wanted)
    return made, editable.dump()


def fixed(text: str, *edits: Edit) -> str:
    editable = EditableText(text, FILE)
    apply_fix(editable, Fix("Mends it.", edits))
    return editable.dump()


NOTE = ("devices", "lamp", "note")


def test_a_fix_is_made_and_its_finding_is_gone() -> None:
    bright = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, text = run(TEXT, bright)
    assert text == TEXT.replace("note: dim", "note: bright")
    assert [item.found.rule.id for item in made.written] == ["lamp-too-dim"]
    assert (made.written[0].before, made.written[0].after) == (TEXT, text)
    assert len(made.first.judgement.found) == 1
    assert made.last.judgement.found == []


def test_only_what_is_wanted_is_made() -> None:
    bright = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, text = run(TEXT, bright, wanted=lambda found: found.rule.id != "lamp-too-dim")
    assert (made.written, made.unwritten, text) == ((), (), TEXT)


def test_of_two_fixes_of_one_place_the_first_is_made() -> None:
    first = whenever(
        "lamp-one", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"), hold=Hold.POWER_UP
    )
    second = whenever("lamp-two", NOTE, is_not("warm"), Edit("set", place(*NOTE), "warm"))
    made, text = run(TEXT, first, second)
    assert "note: bright" in text
    assert [item.found.rule.id for item in made.written] == ["lamp-one"]
    assert "has changed devices.lamp.note already" in made.unwritten[0].why


def test_what_any_fix_of_the_run_has_changed_is_left_alone() -> None:
    servo = ("parts", "servo", "kind")
    first = whenever(
        "lamp-one", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"), hold=Hold.POWER_UP
    )
    second = whenever(
        "servo-two", servo, is_not("lights"), Edit("set", place(*servo), "lights"),
        hold=Hold.ENGINE_RUN,
    )  # fmt: skip
    third = whenever("lamp-three", NOTE, is_not("warm"), Edit("set", place(*NOTE), "warm"))
    made, text = run(TEXT, first, second, third)
    assert "note: bright" in text
    assert [item.found.rule.id for item in made.written] == ["lamp-one", "servo-two"]
    assert [item.found.rule.id for item in made.unwritten] == ["lamp-three"]
    assert "has changed devices.lamp.note already" in made.unwritten[0].why


def test_a_mistake_in_another_file_hinders_no_fix() -> None:
    loaded = load(read_document(b"holdshort: 1\nparts: {lamp: {kind: lights}}\n", FILE), _none)
    at = place("parts", "lamp", "kind")
    fix = Fix("Mends it.", (Edit("set", at, "servo"),))
    for file, problem in (("shelf.yaml", ""), (FILE, "A mistake of form stands at parts.lamp")):
        fault = Fault("unknown-key", "It is wrong.", file, None, path=("parts", "lamp"))
        assert fix_problem(fix, loaded._replace(faults=(fault,))).startswith(problem)
        assert bool(fix_problem(fix, loaded._replace(faults=(fault,)))) is bool(problem)


def _none(name: str) -> Document:
    raise AssertionError(name)


def test_a_fix_whose_finding_is_gone_by_then_is_passed_over() -> None:
    first = whenever("lamp-one", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    again = whenever("lamp-two", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, _ = run(TEXT, first, again)
    assert (len(made.written), made.unwritten) == (1, ())


def test_a_fix_that_does_not_mend_is_not_made() -> None:
    vain = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "warm"))
    made, text = run(TEXT, vain)
    assert text == TEXT
    assert made.unwritten[0].why.startswith("It would bring another finding, of `lamp-too-dim`")
    still = whenever("lamp-always", NOTE, lambda _: True, Edit("add", place("follows"), ["uk"]))
    made, text = run(TEXT, still)
    assert text == TEXT
    assert made.unwritten[0].why == "Its finding would still be there."


@pytest.mark.parametrize(
    ("severity", "hold", "written"),
    [
        (Severity.WARNING, Hold.FLIGHT, False),
        (Severity.CAUTION, Hold.POWER_UP, False),
        (Severity.CAUTION, Hold.ENGINE_RUN, False),
        (Severity.CAUTION, Hold.FLIGHT, True),
        (Severity.NOTE, Hold.POWER_UP, True),
    ],
)
def test_a_fix_that_brings_something_as_bad_is_not_made(
    severity: Severity, hold: Hold, written: bool
) -> None:
    mends = whenever(
        "lamp-too-dim",
        NOTE,
        is_not("bright"),
        Edit("set", place(*NOTE), "bright"),
        hold=Hold.ENGINE_RUN,
    )
    brings = whenever(
        "lamp-blinds", NOTE, lambda value: value == "bright", severity=severity, hold=hold
    )
    made, text = run(TEXT, mends, brings)
    assert bool(made.written) is written
    assert (text != TEXT) is written
    if not written:
        assert "another finding, of `lamp-blinds`: lamp-blinds: 'bright'" in made.unwritten[0].why


def test_a_fix_that_brings_a_mistake_of_form_is_not_made() -> None:
    at = ("devices", "rx", "part")
    breaks = whenever("rx-is-old", at, is_not("none"), Edit("set", place(*at), "none"))
    made, text = run(TEXT, breaks)
    assert text == TEXT
    assert made.unwritten[0].why == (
        "It would bring a mistake of form: `none` is not a known part."
    )


def test_a_fix_that_makes_a_rule_fail_is_not_made() -> None:
    @bench_rule("rule-that-trips")
    def tripping(aircraft: Aircraft) -> Iterator[Outcome]:
        if aircraft.setup.devices["lamp"].device.note == "bright":
            raise RuntimeError("too bright")
        yield from ()

    bright = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, text = run(TEXT, bright, tripping)
    assert text == TEXT
    assert made.unwritten[0].why == "The rule `rule-that-trips` would fail on the changed file."


def test_a_fix_that_only_keeps_its_rule_from_judging_is_not_made() -> None:
    @bench_rule("lamp-too-dim")
    def dim(aircraft: Aircraft) -> Iterator[Outcome]:
        if aircraft.setup.devices["lamp"].device.note is None:
            yield NotChecked(place("devices", "lamp"), "the note of the lamp")
        else:
            fix = Fix("Drops it.", (Edit("remove", place(*NOTE)),))
            yield Finding(place(*NOTE), "It is dim.", "Brighten it.", fix=fix)

    made, text = run(TEXT, dim)
    assert text == TEXT
    assert made.unwritten[0].why == (
        "Its finding would go only because its rule could not judge any more."
    )


@pytest.mark.parametrize("still_told", [True, False])
def test_a_fix_that_keeps_another_rule_from_telling_is_not_made(still_told: bool) -> None:
    @bench_rule("lamp-too-old")
    def old(aircraft: Aircraft) -> Iterator[Outcome]:
        bright = aircraft.setup.devices["lamp"].device.note == "bright"
        if bright:
            yield NotChecked(place("devices", "lamp"), "how old the lamp is")
        if not bright or still_told:
            yield Finding(place("devices", "lamp"), "It is old.", "Replace it.")

    bright = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, text = run(TEXT, bright, old)
    assert (text != TEXT) is still_told
    if not still_told:
        assert made.unwritten[0].why == (
            "`lamp-too-old` finds something, and could not judge it any more: nothing is hidden."
        )


def test_nothing_is_written_into_a_catalogue() -> None:
    at = place("parts", "lamp", "kind", file="shelf.yaml")
    other = whenever(
        "lamp-of-old-kind", NOTE, is_not("bright"),
        Edit("set", place(*NOTE), "bright"), Edit("set", at, "load"),
    )  # fmt: skip
    made, text = run(TEXT, other)
    assert text == TEXT
    assert made.unwritten[0].why == "It would change shelf.yaml, which is not the setup file."


def test_nothing_is_written_beside_a_mistake_of_form() -> None:
    text = TEXT.replace("note: dim", "note: dim, colour: red")
    bright = whenever("lamp-too-dim", NOTE, is_not("bright"), Edit("set", place(*NOTE), "bright"))
    made, after = run(text, bright)
    assert after == text
    assert "A mistake of form stands at devices.lamp.colour" in made.unwritten[0].why


def test_all_edits_of_a_fix_are_made_or_none() -> None:
    half = whenever(
        "lamp-too-dim", NOTE, is_not("bright"),
        Edit("set", place(*NOTE), "bright"), Edit("remove", place("devices", "none")),
    )  # fmt: skip
    made, text = run(TEXT, half)
    assert text == TEXT
    assert made.unwritten[0].why == "There is nothing at devices.none."
    with pytest.raises(EditError):
        fixed(TEXT, Edit("set", place(*NOTE), "bright"), Edit("add", place(*NOTE), "again"))


def test_items_of_a_list_are_taken_out_one_after_the_other() -> None:
    at = ("follows",)

    @bench_rule("code-not-meant")
    def unmeant(aircraft: Aircraft) -> Iterator[Outcome]:
        for index, code in enumerate(aircraft.setup.follows):
            if code != "uk":
                edits = (Edit("remove", place("follows", index)),)
                yield Finding(
                    place("follows", index), "It is not meant.", "Drop it.",
                    fix=Fix("Drops it.", edits),
                )  # fmt: skip

    text = TEXT + "follows: [us, uk, canada]   # codes\n"
    made, after = run(text, unmeant)
    assert after == TEXT + "follows: [uk]   # codes\n"
    assert len(made.written) == 2
    assert at[0] in after


CHANNELS = ("failsafe", "rx", "channels")


@pytest.mark.parametrize(
    ("number", "left"),
    [
        ("1", "1: stop, 2..3: hold"),
        ("2", "1: hold, 2: stop, 3: hold"),
        ("3", "1..2: hold, 3: stop"),
    ],
)
def test_one_of_a_run_is_set_and_the_others_keep_what_they_had(number: str, left: str) -> None:
    text = fixed(TEXT, Edit("set", place(*CHANNELS, number), "stop"))
    assert text == TEXT.replace("1..3: hold", left)


def test_one_of_a_run_of_named_ports() -> None:
    text = "holdshort: 1\nparts: {y: {kind: splitter, ports: {out-1..4: servo, in: pulse-in}}}\n"
    after = fixed(text, Edit("set", place("parts", "y", "ports", "out-3"), "feed"))
    assert "{out-1..2: servo, out-3: feed, out-4: servo, in: pulse-in}" in after


def test_one_of_a_run_is_removed() -> None:
    text = fixed(TEXT, Edit("remove", place("radio", "channels", "2")))
    assert text == TEXT.replace(
        "    1..3: {drives: flap}", "    1: {drives: flap}\n    3: {drives: flap}"
    )


@given(st.integers(1, 60), st.integers(1, 5), st.data())
@settings(max_examples=40)
def test_a_run_taken_apart_names_the_same_channels(first: int, more: int, data: Any) -> None:
    last = first + more
    number = data.draw(st.integers(first, last))
    text = f"holdshort: 1\nfailsafe: {{rx: {{channels: {{{first}..{last}: hold}}}}}}\n"
    after = fixed(text, Edit("set", place(*CHANNELS, str(number)), "stop"))
    found: Any = read_document(after.encode(), FILE).node_at(CHANNELS)
    spread = {name: action for key, action in found.items() for name in expand_run(key)}
    assert spread == {str(n): "stop" if n == number else "hold" for n in range(first, last + 1)}


def test_what_is_added_brings_what_is_around_it() -> None:
    text = "holdshort: 1\ndevices:\n  rx: {part: box}\n"
    after = fixed(text, Edit("add", place(*CHANNELS, "3"), "stop"))
    assert after == f"{text}failsafe:\n  rx:\n    channels:\n      3: stop\n"
    after = fixed(text, Edit("add", place("devices", "rx", "ports", "4"), "bus-out"))
    assert after == text.replace("{part: box}", "{part: box, ports: {4: bus-out}}")
    empty = text + "failsafe:\n"
    after = fixed(empty, Edit("add", place(*CHANNELS, "3"), "stop"))
    document = read_document(after.encode(), FILE)
    assert document.node_at((*CHANNELS, "3")) == "stop"


def test_what_is_there_is_not_added_again() -> None:
    with pytest.raises(EditError):
        fixed(TEXT, Edit("add", place(*NOTE), "bright"))
    with pytest.raises(EditError):
        fixed(TEXT, Edit("add", place(*NOTE, "x"), "bright"))


@pytest.mark.parametrize("value", [object(), {1, 2}, b"bytes", [object()], {"a": object()}])
def test_what_is_no_plain_data_is_refused(value: object) -> None:
    with pytest.raises(EditError, match="cannot be written into a file"):
        fixed(TEXT, Edit("set", place(*NOTE), value))


hostile = st.one_of(
    st.text(
        alphabet=st.one_of(
            st.sampled_from("#:{}[],'\"\\\n\r\t &*!|>%@`-?\x1b\x00\u202e\ufeff\u2028"),
            st.characters(),
        ),
        max_size=20,
    ),
    st.floats(allow_nan=False),
    st.booleans(),
    st.none(),
    st.integers(),
)


@given(hostile)
@settings(max_examples=80)
def test_any_value_comes_back_as_it_was_or_nothing_changes(value: Any) -> None:
    try:
        after = fixed(TEXT, Edit("set", place(*NOTE), value))
    except (EditError, DocumentError):
        return
    document = read_document(after.encode(), FILE)
    assert repr(document.node_at(NOTE)) == repr(value)
    lines = [line for line in TEXT.split("\n") if "note: dim" not in line]
    assert [line for line in after.split("\n") if line in lines] == lines


@pytest.mark.parametrize(
    ("fix", "words"),
    [
        ("not a fix", "is a Fix"),
        (Fix("Mends.", [Edit("remove", place(*NOTE))]), "a tuple of edits"),  # type: ignore[arg-type]
        (Fix("Mends.", ("nothing",)), "set, add or remove"),  # type: ignore[arg-type]
        (Fix("Mends.", (Edit("set", place(*NOTE), {1: "x"}),)), "plain data"),
        (Fix("Mends.", (Edit("set", place(*NOTE), [object()]),)), "plain data"),
        (Fix("Mends.", (Edit("set", place(*NOTE), float("nan")),)), "plain data"),
        (Fix("Mends.", (Edit("set", place("devices", b"x"), "x"),)), "keys and positions"),  # type: ignore[arg-type]
        (Fix("", (Edit("set", place(*NOTE), "x"),)), "`fix` of an outcome is text"),
        (Fix("Mends.", (Edit("erase", place(*NOTE)),)), "set, add or remove"),  # type: ignore[arg-type]
        (Fix("Mends.", (Edit("set", "devices.lamp"),)), "a place is made by"),  # type: ignore[arg-type]
        (Fix("Mends.", (Edit("set", place()),)), "not the whole of it"),
        (Fix("Mends.", (Edit("set", place("a", file="/etc/passwd"), "x"),)), "not part of the"),
    ],
)
def test_a_rule_that_proposes_nonsense_has_failed(fix: Any, words: str) -> None:
    @bench_rule("rule-with-odd-fix")
    def odd(aircraft: Aircraft) -> Iterator[Outcome]:
        yield Finding(place(*NOTE), "It is dim.", "Mend it.", fix=fix)

    made, text = run(TEXT, odd)
    assert text == TEXT
    assert [words in crash.error for crash in made.first.judgement.crashes] == [True]


def test_a_fix_without_edits_is_none() -> None:
    @bench_rule("rule-with-no-edits")
    def empty(aircraft: Aircraft) -> Iterator[Outcome]:
        yield Finding(place(*NOTE), "It is dim.", "Mend it.", fix=Fix("Mends.", ()))

    made, text = run(TEXT, empty)
    assert text == TEXT
    assert [left.why for left in made.unwritten] == ["It changes nothing."]


def test_rules_that_undo_each_other_come_to_an_end() -> None:
    def value(wanted: str) -> Any:
        return lambda found: found in {wanted, KeyError}

    there = whenever("lamp-there", NOTE, value("dim"), Edit("remove", place(*NOTE)))
    made, text = run(TEXT, there)
    assert text == TEXT  # without a note it is as wrong as before
    assert (len(made.written), len(made.unwritten)) == (0, 1)

    dim = whenever("lamp-dim", NOTE, "dim".__eq__, Edit("set", place(*NOTE), "bright"))
    bright = whenever("lamp-bright", NOTE, "bright".__eq__, Edit("set", place(*NOTE), "dim"))
    made, text = run(TEXT, dim, bright)
    assert text == TEXT  # either brings what is as grave
    assert (len(made.written), len(made.unwritten)) == (0, 1)

    lighter = whenever(
        "lamp-bright", NOTE, "bright".__eq__, Edit("set", place(*NOTE), "dim"),
        severity=Severity.NOTE,
    )  # fmt: skip
    made, text = run(TEXT, dim, lighter)
    assert text == TEXT.replace("note: dim", "note: bright")
    assert [one.found.rule.id for one in made.written] == ["lamp-dim"]
    assert [one.found.rule.id for one in made.unwritten] == ["lamp-bright"]
