"""What every section of a setup file shares: frozen models, names and small value types."""

import re
import sys
from collections.abc import Callable, Generator
from contextlib import contextmanager
from datetime import date
from types import ModuleType
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from holdshort.setup.runs import run_problem

_PLUGIN_SEARCH = "pydantic.plugin._loader"


@contextmanager
def _no_plugin_search() -> Generator[None]:
    """Spare the search for pydantic plug-ins while one of our models is built.

    The search imports the standard library's metadata reader and reads the metadata of every
    installed package: a third of the whole start-up. Where pydantic has searched already, or
    searches in another way, nothing is changed.
    """
    if _PLUGIN_SEARCH in sys.modules:
        yield
        return
    stand_in = ModuleType(_PLUGIN_SEARCH)
    stand_in.__dict__["get_plugins"] = tuple
    sys.modules[_PLUGIN_SEARCH] = stand_in
    try:
        yield
    finally:
        del sys.modules[_PLUGIN_SEARCH]


def hyphenated(name: str) -> str:
    """Return the key a file uses for the field ``name``: ``flight_time`` is ``flight-time``."""
    return name.strip("_").replace("_", "-")


class Section(BaseModel):
    """Base of all models: frozen, no unknown keys, no silent conversion, hyphens in keys."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        defer_build=True,
        alias_generator=hyphenated,
    )

    inner: ClassVar[tuple[type["Section"], ...]] = ()
    """Models inside this one that others hold as well: built once, not once for each."""

    @classmethod
    def read(cls, value: object) -> Self:
        """Return ``value``, as it stands in a document, as this section.

        Raises pydantic's ValidationError with every mistake in it.
        """
        if not cls.__pydantic_complete__:
            with _no_plugin_search():
                for model in cls.inner:
                    model.model_rebuild()
                cls.model_rebuild()
        return cls.model_validate(value)


class Wording:
    """Text of a stated form: the same regular expression for the reader and for editors.

    ``what`` says what such text is, with its article; ``form`` says how it is written. ``words``
    are the fixed words among what may stand here, for "did you mean". ``explain`` may know better
    what is wrong with a text.
    """

    __slots__ = ("_reader", "examples", "explain", "form", "pattern", "what", "words")

    def __init__(
        self,
        what: str,
        form: str,
        pattern: str,
        examples: tuple[str, ...],
        *,
        words: tuple[str, ...] = (),
        explain: Callable[[str], str] | None = None,
    ) -> None:
        """Take the form; its expression is compiled when a text is first read."""
        self.what = what
        self.form = form
        self.pattern = f"^(?:{pattern})$"
        self.examples = examples
        self.words = words
        self.explain = explain
        self._reader: Callable[[str], object] | None = None

    def fits(self, text: str) -> bool:
        """Tell whether ``text`` has this form."""
        if self._reader is None:
            self._reader = re.compile(self.pattern).fullmatch
        return self._reader(text) is not None

    def read(self, value: object) -> str:
        """Return ``value`` where it is text of this form.

        Raises :class:`pydantic_core.PydanticCustomError` saying what is wrong.
        """
        if not isinstance(value, str):
            raise PydanticCustomError("string_type", "text is wanted")
        if self.fits(value):
            return value
        known = self.explain(value) if self.explain else ""
        context = {"what": self.what, "form": self.form, "words": self.words, "known": known}
        raise PydanticCustomError("wording", "{what} is wanted", context)

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "type": "string",
            "pattern": self.pattern,
            "description": self.form,
            "examples": list(self.examples),
        }


class Whole:
    """A whole number between two bounds, both included."""

    __slots__ = ("high", "low")

    def __init__(self, low: int, high: int) -> None:
        """Take the bounds."""
        self.low = low
        self.high = high

    def read(self, value: object) -> int:
        """Return ``value`` where it is a whole number within the bounds; 3.0 is 3.

        Raises :class:`pydantic_core.PydanticCustomError`.
        """
        if isinstance(value, int | float) and not isinstance(value, bool) and value == value // 1:
            if self.low <= value <= self.high:
                return int(value)
            raise PydanticCustomError("range", "out of range", {"low": self.low, "high": self.high})
        raise PydanticCustomError("int_type", "a whole number is wanted")

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


class Prose:
    """Text of any form, not empty and of at most ``longest`` characters.

    Where ``blank`` is false, it says something: not only spaces.
    """

    __slots__ = ("blank", "longest")

    def __init__(self, longest: int, *, blank: bool = True) -> None:
        """Take the limits."""
        self.longest = longest
        self.blank = blank

    def read(self, value: object) -> str:
        """Return ``value`` where it is such text.

        Raises :class:`pydantic_core.PydanticCustomError`.
        """
        if not isinstance(value, str):
            raise PydanticCustomError("string_type", "text is wanted")
        if not value:
            raise PydanticCustomError("string_too_short", "some text is wanted")
        if len(value) > self.longest:
            raise PydanticCustomError("string_too_long", "shorter text is wanted")
        if not self.blank and not value.strip():
            raise PydanticCustomError("string_blank", "some words are wanted")
        return value

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        length = {"type": "string", "minLength": 1, "maxLength": self.longest}
        return length if self.blank else {**length, "pattern": r"\S"}


T = TypeVar("T")
Items = Annotated[tuple[T, ...], Field(strict=False)]
"""A list in the file, a tuple in the model."""


def _listed(value: object) -> object:
    """Let a single value stand where a list may."""
    if isinstance(value, str | int | float):
        return (value,)
    return value


_NAME = r"[^\s.,\[\]{}](?:[^.,\[\]{}\r\n\t]{0,78}[^\s.,\[\]{}])?"
_PORT = r"[A-Za-z0-9](?:[A-Za-z0-9 _-]{0,38}[A-Za-z0-9])?"
_COUNT = r"(?:0|[1-9][0-9]{0,2})"

NAME = Wording(
    "a name",
    "Up to 80 characters without dots, commas or brackets, and no space at either end.",
    _NAME,
    ("front-rx", "left aileron"),
)
PORT_RUN = Wording(
    "a port or a run of ports",
    "The name of a port as printed on the device, such as `1` or `bus`, or a run of numbered "
    "ports such as `1..6` or `out-1..2`.",
    rf"(?:[A-Za-z][A-Za-z0-9 _-]{{0,30}}-)?{_COUNT}\.\.{_COUNT}|(?!0[0-9]+$){_PORT}",
    ("1", "1..6", "bus"),
    explain=run_problem,
)
CHANNEL_RUN = Wording(
    "a channel or a run of channels",
    "A channel number from 1 to 99, or a run of channels such as `1..6`.",
    r"[1-9][0-9]?(?:\.\.[1-9][0-9]?)?",
    ("1", "1..6"),
    explain=run_problem,
)
END = Wording(
    "where a lead ends",
    "`device.port`, or just `device` where it has one port.",
    rf"{_NAME}(?:\.{_PORT})?",
    ("front-rx.9", "ail-left"),
)

RULE = Wording(
    "the id of a rule",
    "Lower-case words joined by hyphens, as the fix list gives it under `rule`.",
    r"[a-z][a-z0-9]*(?:-[a-z0-9]+)+",
    ("aerials-parallel",),
)

Name = Annotated[str, NAME]
RuleId = Annotated[str, RULE]
PortRun = Annotated[str, PORT_RUN]
ChannelRun = Annotated[str, CHANNEL_RUN]
End = Annotated[str, END]
ChannelNumber = Annotated[int, Whole(1, 99)]


def _day_problem(text: str) -> str:
    """Say what is wrong with a text that should be a date, or nothing."""
    year, _, rest = text.partition("-")
    if len(year) == 4 and rest.count("-") == 1:  # noqa: PLR2004  - years have four digits
        return f"`{text}` is not a day of the calendar."
    return ""


class CalendarDay(Wording):
    """A date: the form is checked by the expression, the calendar by the reader."""

    __slots__ = ()

    def fits(self, text: str) -> bool:
        """Tell whether ``text`` is a day that exists."""
        if not super().fits(text):
            return False
        try:
            date.fromisoformat(text)
        except ValueError:
            return False
        return True


DAY = CalendarDay(
    "a date",
    "A date written year-month-day, such as `2026-05-31`.",
    r"20[0-9]{2}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])",
    ("2026-05-31",),
    explain=_day_problem,
)
Day = Annotated[str, DAY]

TEXT = Prose(2000)
Text = Annotated[str, TEXT]
WORDS = Prose(2000, blank=False)
Words = Annotated[str, WORDS]
"""Text that says something: not only spaces."""
Names = Annotated[
    tuple[Name, ...],
    Field(strict=False, min_length=1),
    BeforeValidator(
        _listed, json_schema_input_type=Name | Annotated[list[Name], Field(min_length=1)]
    ),
]
"""One name, or a list of names."""
Texts = Annotated[
    tuple[Text, ...],
    Field(strict=False),
    BeforeValidator(_listed, json_schema_input_type=Text | list[Text]),
]
"""One text, or a list of texts; an empty list says that there is nothing."""

Direction = Literal["forward", "aft", "left", "right", "up", "down"]
Directions = Annotated[
    tuple[Direction, ...],
    Field(strict=False, min_length=1, max_length=3),
    BeforeValidator(
        _listed,
        json_schema_input_type=Direction
        | Annotated[list[Direction], Field(min_length=1, max_length=3)],
    ),
]
"""One direction, or up to three that something lies between."""
Axis = Literal["roll", "pitch", "yaw"]
Axes = Annotated[
    tuple[Axis, ...],
    Field(strict=False, min_length=1),
    BeforeValidator(
        _listed, json_schema_input_type=Axis | Annotated[list[Axis], Field(min_length=1)]
    ),
]
"""One axis, or a list of axes."""


def short_for(long_or_short: Any, *keys: str) -> BeforeValidator:
    """Let a single value stand for a mapping in which all of ``keys`` have it.

    ``long_or_short`` is the type of both forms, for the JSON Schema.
    """

    def spread(value: object) -> object:
        if isinstance(value, str | int | float):
            return dict.fromkeys(keys, value)
        return value

    return BeforeValidator(spread, json_schema_input_type=long_or_short)
