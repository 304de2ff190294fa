"""What to do now, in words, for a terminal.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

from holdshort.document import show_path
from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.report import CAUTIONS
from holdshort.fixlist.sign_text import standing_words
from holdshort.fixlist.text import file_argument, file_named, fix_command, hold_point
from holdshort.rulebook.next_steps import FACT, NextSteps, Step
from holdshort.rulebook.wording import counted, listed, plural
from holdshort.setup import Setup

_MOST_NOW: Final = 8
_MOST_BEFORE_TESTS: Final = 4
_MOST_NAMES: Final = 6
_COLUMN: Final = 9
NOTHING_LEFT: Final = "Nothing is left that holdshort knows of in what was declared."
"""What is said at the end of the work; it says nothing about the aircraft."""


class NextReport(NamedTuple):
    """The steps of one aircraft, and the setup in which their places stand."""

    setup: Setup
    steps: NextSteps

    @property
    def file(self) -> str:
        """The setup file."""
        return self.setup.file


def now_line(steps: NextSteps) -> str:
    """Return in one sentence what to do now; it begins with ``Now:``."""
    kinds = [step.kind for step in steps.now]
    if not kinds:
        return "Now: nothing to do."
    mistakes, crashes = kinds.count("mistake"), kinds.count("crash")
    first = [step for step in steps.now if step.kind == "finding"]
    parts: list[str] = []
    if mistakes:
        parts.append(f"correct {counted(mistakes, 'mistake')} in the file")
    if crashes:
        parts.append(f"have {counted(crashes, 'failed rule')} put right")
    if first:
        parts.append(_found_words(first))
    if facts := kinds.count("fact"):
        parts.append(f"declare {counted(facts, 'thing')} that rules miss")
    if running := kinds.count("deferral"):
        parts.append(f"see to {counted(running, 'deferral')} about to run out")
    tests = [step for step in steps.now if step.kind == "test"]
    if tests:
        parts.append(_tests_words(tests))
    return f"Now: {listed(parts, 'and then')}.{_wait(steps)}"


def _found_words(found: Sequence[Step]) -> str:
    points = listed(dict.fromkeys(hold_point(step.hold) for step in found))
    verb = plural(len(found), "holds", "hold")
    return f"put right {counted(len(found), 'thing')} that {verb} {points}"


def _tests_words(tests: Sequence[Step]) -> str:
    names = [f"`{step.judged.test.name}`" for step in tests if step.judged]
    return f"do the {plural(len(names), 'test')} {listed(names)}"


def _wait(steps: NextSteps) -> str:
    kinds = {step.kind for step in steps.now}
    if "mistake" in kinds or "crash" in kinds:
        return " What these touch is not judged before that."
    found = [step for step in steps.now if step.kind == "finding"]
    if any(hold_point(step.hold) == "power-up" for step in found):
        return " Nothing is powered up, and nothing tested, before that."
    return " A change made after a test sends you back to that test." if found else ""


def render_text(report: NextReport, *, everything: bool = False) -> str:
    """Return what to do as text; ``everything`` tells what follows in full as well."""
    steps = report.steps
    tests = [step for step in steps.now if step.kind == "test"]
    other = steps.now[: len(steps.now) - len(tests)]
    most = _MOST_BEFORE_TESTS if tests else _MOST_NOW
    shown = other if everything else other[:most]
    lines = [*_hung(now_line(steps)), *_hung(_file_line(report)), ""]
    if steps.cautions:
        lines += [*_hung("Before anything moves:"), *_bullets(steps.cautions), ""]
    for number, step in enumerate(shown, 1):
        lines += [*_step(report, number, step), ""]
    if len(other) > len(shown):
        lines += [*_hung(f"And {len(other) - len(shown)} more of the kind: `--all`."), ""]
    for number, step in enumerate(tests, len(other) + 1):
        lines += [*_step(report, number, step), ""]
    lines += list(_then(report, everything=everything))
    lines += [*_hung(_end(steps)), *(line for caution in CAUTIONS for line in _hung(caution))]
    return "".join(f"{line}\n" for line in lines)


def _file_line(report: NextReport) -> str:
    name = report.setup.aircraft.name if report.setup.aircraft else "an aircraft without a name"
    return f"{name}, {file_named(report.file)}"


def _then(report: NextReport, *, everything: bool) -> Iterator[str]:
    then = report.steps.then
    if not then:
        return
    yield from _hung(f"Then ({len(then)}), in this order:")
    first = len(report.steps.now) + 1
    blocked = any(step.kind in _BLOCKING for step in report.steps.now)
    if everything:
        yield ""
    for number, step in enumerate(then, first):
        if everything:
            yield from _step(report, number, step)
            yield ""
        else:
            yield from _hung(f"{number}. {_short(step, blocked=blocked)}", "  ", "      ")
    if not everything:
        yield ""


def _short(step: Step, *, blocked: bool) -> str:
    if step.judged is None:
        return f"{_KINDS[step.kind]} before {hold_point(step.hold)}: {_cut(_title(step))}"
    also = "; can be done now as well" if step.ready and not blocked else ""
    return f"{step.text} ({standing_words(step.judged)}{also})"


_BLOCKING: Final = ("mistake", "crash", "finding")
_KINDS: Final = {
    "mistake": "Correct",
    "crash": "Have put right",
    "finding": "Put right",
    "fact": "Declare",
    "deferral": "See to",
}
_LONGEST: Final = 110


def _cut(text: str) -> str:
    """Return the first sentence, or its beginning where it is long."""
    first = text.split(". ", 1)[0].rstrip(".")
    if len(first) <= _LONGEST:
        return first
    return f"{first[:_LONGEST].rsplit(' ', 1)[0]} ..."


def _title(step: Step) -> str:
    return step.text.removeprefix(FACT) if step.kind == "fact" else step.text


def _step(report: NextReport, number: int, step: Step) -> list[str]:
    title = f"Declare {_title(step)}" if step.kind == "fact" else step.text
    lines = _hung(f"{number}. {title}", "", "   ")
    for label, text in _entries(report, step):
        lines += _hung(text, f"   {label:<{_COLUMN}}", " " * (3 + _COLUMN))
    return lines


def _entries(report: NextReport, step: Step) -> Iterator[tuple[str, str]]:
    if step.judged is not None:
        yield from _test_entries(report, step)
        return
    yield "why", step.why
    if step.do and step.kind != "fact":
        yield "do", step.do
    for place in step.places[:_MOST_NAMES]:
        yield "at", _where(report.setup, place.file, place.path)
    if step.fixes:
        yield "fix", f"`{fix_command(step.rules[0], report.file)}` can write this"
    yield ("before" if step.kind == "fact" else "unlocks"), hold_point(step.hold)
    if step.rules:
        yield "rule", listed(step.rules)


def _test_entries(report: NextReport, step: Step) -> Iterator[tuple[str, str]]:
    judged = step.judged
    if judged is None:
        return
    test = judged.test
    yield "because", f"{standing_words(judged)}."
    for text in step.also:
        yield "because", text
    yield "why", f"{test.reason}{_source(step)}"
    if test.second:
        yield "with", "a second person, who watches and reads out loud"
    if step.cards:
        names = listed(f"`{card}`" for card in step.cards[:_MOST_NAMES])
        more = len(step.cards) - _MOST_NAMES
        rest = f" and {more} more" if more > 0 else ""
        command = f"`holdshort cards {file_argument(report.file)}`"
        yield plural(len(step.cards), "card"), f"{names}{rest}, of {command}"
    if test.figures:
        yield (
            "measure",
            listed(
                figure.name if figure.required else f"{figure.name} (if you can)"
                for figure in test.figures
            ),
        )
    yield "sign", sign_command(report.file, step)
    names = listed(f"`{name}`" for name in step.opens)
    opens = f"; {names} {plural(len(step.opens), 'rests', 'rest')} on it" if step.opens else ""
    yield "unlocks", f"{hold_point(step.hold)}{opens}"


def sign_command(file: str, step: Step) -> str:
    """Return the command that signs for a test that was passed."""
    if step.judged is None:
        return ""
    test = step.judged.test
    second = " --second NAME" if test.second else ""
    figures = "".join(
        f" --figure {file_argument(f'{figure.name}=VALUE')}"
        for figure in test.figures
        if figure.required
    )
    return f"holdshort sign {file_argument(file)} {test.name} --passed --by NAME{second}{figures}"


def _source(step: Step) -> str:
    judged, source = step.judged, step.source
    if source is not None:
        told = "" if source.confidence in source.text else f"; {source.confidence}"
        return f" ({source.text}{told})"
    return f" ({judged.test.source})" if judged and judged.test.source else ""


def _where(setup: Setup, file: str, path: tuple[str | int, ...]) -> str:
    document = setup.documents.get(file)
    line = f":{document.key_span_at(path).line}" if document is not None else ""
    place = f"{file_named(file)}{line}"
    return f"{place}, {show_path(path)}" if path else place


def _end(steps: NextSteps) -> str:
    words = [NOTHING_LEFT] if not (steps.now or steps.then) else []
    if steps.deferred:
        verb = plural(steps.deferred, "is", "are")
        words.append(f"{counted(steps.deferred, 'finding')} {verb} accepted for now.")
    if steps.notes:
        holds = plural(steps.notes, "holds", "hold")
        words.append(f"{counted(steps.notes, 'note')} {holds} nothing; `lint` lists what it says.")
    return " ".join(words)


def _bullets(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in _hung(text, "  - ", "    ")]


def _hung(text: str, first: str = "", other: str = "") -> list[str]:
    return paragraph(text, first, other) if text else []
