"""Mistakes of form in words: what was found, what was expected, what is near."""

from collections.abc import Callable, Iterable
from typing import Any, Final, NamedTuple, cast, get_args

from pydantic import BaseModel, ValidationError

from holdshort.document import Document, Fault, Path, TreeList, TreeMap, show_path
from holdshort.setup.quantities import QuantityType

_FEW: Final = 24
_LONGEST_SHOWN: Final = 60


def near(word: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Return the names of ``known`` that ``word`` was probably meant to be, nearest first."""
    import difflib  # noqa: PLC0415  - only a file with a mistake pays for it

    lowered: dict[str, str] = {}
    for name in known:
        lowered.setdefault(name.lower(), name)
    hits = difflib.get_close_matches(word[:200].lower(), lowered, n=most, cutoff=0.6)
    return tuple(lowered[hit] for hit in hits)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return ``Did you mean ...?`` or, for a few names with none near, the list of them."""
    names = list(known)
    hits = near(word, names)
    if hits:
        return f"Did you mean {any_of(hits)}?"
    if names and len(names) <= _FEW:
        return f"Known here: {any_of(names, 'and')}."
    return ""


def any_of(names: Iterable[str], joint: str = "or") -> str:
    """Return names as a readable list in backticks."""
    quoted = [f"`{name}`" for name in names]
    if len(quoted) < 2:  # noqa: PLR2004  - a list of one needs no joint
        return "".join(quoted)
    return f"{', '.join(quoted[:-1])} {joint} {quoted[-1]}"


def seen(value: object) -> str:
    """Return a short rendering of what stood in the file."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list | tuple):
        return "a list"
    text = str(value)
    if not text:
        return "an empty text"
    return f"`{text[:_LONGEST_SHOWN]}...`" if len(text) > _LONGEST_SHOWN else f"`{text}`"


def seen_first(value: object) -> str:
    """Return the same rendering, to begin a sentence with."""
    shown = seen(value)
    return shown[0].upper() + shown[1:]


def shape_fault(found: object, wanted: str, document: Document, path: Path, do: str) -> Fault:
    """Return a fault about a value of the wrong shape: ``wanted`` says which, with its article."""
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    message = f"`{name}` wants {wanted}, found {seen(found)}."
    return reference_fault("wrong-value", message, document, path, do)


def reference_fault(
    kind: str,
    message: str,
    document: Document,
    path: Path,
    do: str = "",
    *,
    at_key: bool = False,
) -> Fault:
    """Return a fault at the value that ``path`` leads to, or at its key."""
    return Fault(
        kind=kind,
        message=message,
        file=document.name,
        span=document.key_span_at(path) if at_key else document.span_at(path),
        do=do,
        path=path,
    )


def duplicate_run_fault(document: Document, base: Path, key: str, first: str) -> Fault:
    """Return a fault for a number that two keys of a mapping of runs both name."""
    return Fault(
        kind="given-twice",
        message=f"`{key}` is given twice under {show_path(base)}: also in `{first}`.",
        file=document.name,
        span=document.key_span_at((*base, key)),
        do="Give each number once; split the run where they differ.",
        related=((f"`{first}` stands here", document.key_span_at((*base, first))),),
        path=(*base, key),
    )


WhereStands = Callable[[Path], tuple[Document, Path]]
"""Leads from the steps inside an entry to a document and the path in it."""


def faults_of(error: ValidationError, model: type[BaseModel], where: WhereStands) -> list[Fault]:
    """Turn what pydantic found in one entry into located faults, each once."""
    details: list[dict[str, Any]] = [dict(detail) for detail in error.errors(include_url=False)]
    inner = {tuple(detail["loc"])[:-1] for detail in details}
    misspelt = {(*detail["loc"][:-1], *_meant(detail, model)) for detail in details}
    told = [
        _fault(detail, model, where)
        for detail in details
        # Pydantic counts only the good items of a list: a list with a bad one is not short.
        if not (detail["type"] == "too_short" and tuple(detail["loc"]) in inner)
        # A key that is there but misspelt is told as that alone.
        and not (detail["type"] == "missing" and tuple(detail["loc"]) in misspelt)
    ]
    return list(dict.fromkeys(told))


def _meant(detail: dict[str, Any], model: type[BaseModel]) -> tuple[str, ...]:
    """Return the key that an unknown key was probably meant to be."""
    if detail["type"] != "extra_forbidden":
        return ()
    *steps, last = detail["loc"]
    return near(str(last), _keys_at(model, tuple(steps)), 1)


class _Mistake(NamedTuple):
    """One thing pydantic found, ready to be put into words."""

    kind: str
    found: object
    context: dict[str, Any]
    field: str
    """The key of the field in the model."""
    name: str
    """The key that the reader of the file sees."""
    is_item: bool
    """True where it is about one of a list."""
    model: type[BaseModel]
    steps: Path

    @property
    def subject(self) -> str:
        """How a sentence about it begins."""
        if self.is_item and self.name in _ENTRIES:
            return f"This {_ENTRIES[self.name]}"
        return f"`{self.name}`" if self.name else "The file"


_ENTRIES: Final = {
    "leads": "lead",
    "ratings": "rating",
    "aerials": "aerial",
    "settings": "setting",
    "deferrals": "deferral",
}


def _fault(detail: dict[str, Any], model: type[BaseModel], where: WhereStands) -> Fault:
    kind, steps = str(detail["type"]), tuple(detail["loc"])
    is_key = bool(steps) and steps[-1] == "[key]"
    steps = steps[:-1] if is_key else steps
    is_missing = kind == "missing"
    inside = steps[:-1] if is_missing else steps
    document, path = where(inside)
    path = _as_written(document, path)
    mistake = _Mistake(
        kind=kind,
        found=detail.get("input"),
        context=detail.get("ctx") or {},
        field=_last_key(steps),
        name=_last_key(path),
        is_item=bool(path) and isinstance(path[-1], int),
        model=model,
        steps=steps,
    )
    message, do = _missing(mistake) if is_missing else _words(mistake)
    at_key = is_key or is_missing or kind == "extra_forbidden"
    kind = _KINDS.get(kind, "wrong-value")
    return reference_fault(kind, message, document, path, do, at_key=at_key)


def _as_written(document: Document, path: Path) -> Path:
    """Cut off the steps that a short form leaves out of the file."""
    node: object = document.root
    for index, step in enumerate(path):
        if isinstance(node, TreeMap) and step in node:
            node = node[str(step)]
        elif isinstance(node, TreeList) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            return path[:index]
    return path


def _last_key(path: Path) -> str:
    return next((step for step in reversed(path) if isinstance(step, str)), "")


_KINDS: Final = {
    "missing": "missing-key",
    "extra_forbidden": "unknown-key",
    "quantity": "wrong-quantity",
    "literal_error": "unknown-word",
}

_NOUNS: Final = {
    "does": "something that a port can do",
    "can-be": "something that a port can do",
    "delivered": "something that a port can do",
    "points": "a direction",
    "plugs": "a direction",
    "label": "a direction",
    "right": "a direction",
    "senses": "an axis",
    "steadied-in": "an axis",
    "propulsion": "a kind of propulsion",
    "chemistry": "a cell chemistry",
}


def _words(mistake: _Mistake) -> tuple[str, str]:
    """Return message and advice for one mistake in a value or a key."""
    kind, context = mistake.kind, mistake.context
    if kind == "extra_forbidden":
        known = _keys_at(mistake.model, mistake.steps[:-1])
        return f"`{mistake.name}` is not a key here.", did_you_mean(mistake.name, known)
    if kind == "quantity":
        message = f"{mistake.subject} is {seen(mistake.found)}, {context['problem']}."
        return message, str(context["advice"])
    if kind == "literal_error":
        noun = _NOUNS.get(mistake.field, f"one of the words for `{mistake.name}`")
        words = _literals(str(context.get("expected", "")))
        return f"{seen_first(mistake.found)} is not {noun}.", did_you_mean(
            str(mistake.found), words
        )
    if kind == "wording":
        return _wording(mistake)
    return _plain_words(mistake)


def _wording(mistake: _Mistake) -> tuple[str, str]:
    context = mistake.context
    if context["known"]:
        return str(context["known"]), ""
    hits = near(str(mistake.found), context["words"])
    advice = f"Did you mean {any_of(hits)}?" if hits else str(context["form"])
    return f"{seen_first(mistake.found)} is not {context['what']}.", advice


def _missing(mistake: _Mistake) -> tuple[str, str]:
    """Say that a key is missing from an entry."""
    message = f"{mistake.subject} does not say its `{mistake.field}`."
    _, field = _model_at(mistake.model, mistake.steps)
    return message, f"Add `{mistake.field}: {_example(field)}`."


def _plain_words(mistake: _Mistake) -> tuple[str, str]:
    kind, context, shown = mistake.kind, mistake.context, seen(mistake.found)
    subject = mistake.subject
    if kind == "string_type" and isinstance(mistake.found, bool | int | float):
        return f"{subject} wants text, found {shown}.", "Put it in quotes."
    if kind == "bool_type":
        return f"{subject} wants true or false, found {shown}.", "Write `true` or `false`."
    if kind == "range":
        low, high = context["low"], context["high"]
        message = f"{subject} is {shown}, which is out of range."
        return message, f"Write a whole number from {low} to {high}."
    if kind == "too_long":
        entries = cast("list[object]", mistake.found)  # nothing else is too long
        found = f", found {len(entries)}"
        message = f"{subject} wants at most {context['max_length']} entries{found}."
        return message, "Take out those that are too many."
    if kind == "model_type":
        return f"{subject} wants a mapping, found {shown}.", _mapping_advice(mistake)
    expected = _EXPECTED.get(kind)
    if expected:
        return f"{subject} wants {expected[0]}, found {shown}.", expected[1]
    return f"{subject} is not right: {kind.replace('_', ' ')}, found {shown}.", ""


_EXPECTED: Final = {
    "string_type": ("text", "Write a word or words."),
    "int_type": ("a whole number", "Write a whole number, without a unit."),
    "dict_type": ("a mapping", "Write `name: ...` lines."),
    "tuple_type": ("a list", "Write it as `[..., ...]`."),
    "too_short": ("at least one entry, or two where it is a choice", "Add what is missing."),
    "string_too_short": ("some text", "Write a word or words, or take the key out."),
    "string_blank": ("some words", "Write a word or words."),
    "string_too_long": ("shorter text", "Write at most 2000 characters."),
}


def _mapping_advice(mistake: _Mistake) -> str:
    """Show how the mapping that is wanted may look."""
    model, _ = _model_at(mistake.model, mistake.steps)
    if model is None:
        return ""
    fields = model.model_fields.items()
    wanted = [(name, info) for name, info in fields if info.is_required()] or list(fields)[:2]
    pairs = [f"{info.alias or name}: {_example(info)}" for name, info in wanted]
    return f"Write it as `{{{', '.join(pairs)}}}`."


def _literals(expected: str) -> list[str]:
    """Return the words of pydantic's ``'a', 'b' or 'c'``."""
    return expected.split("'")[1::2]


def _model_at(model: type[BaseModel], steps: Path) -> tuple[type[BaseModel] | None, Any]:
    """Follow ``steps`` through the models: the model reached and the field last passed."""
    field: Any = None
    current: type[BaseModel] | None = model
    for step in steps:
        if current is None:
            break
        named = {info.alias or name: info for name, info in current.model_fields.items()}
        if step in named:
            field = named[str(step)]
            current = _model_in(field.annotation)
    return current, field


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Return the model somewhere inside an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found:
            return found
    return None


def _keys_at(model: type[BaseModel], steps: Path) -> list[str]:
    found, _ = _model_at(model, steps)
    if found is None:
        return []
    return [info.alias or name for name, info in found.model_fields.items()]


def _example(field: Any) -> str:
    """Return how the value of a field may look: a quantity, or an ellipsis."""
    if field is None:
        return "..."
    for marker in (*field.metadata, *_markers(field.annotation)):
        if isinstance(marker, QuantityType):
            return marker.dimension.example
    return "..."


def _markers(annotation: Any) -> list[Any]:
    own = list(getattr(annotation, "__metadata__", ()))
    return own + [marker for part in get_args(annotation) for marker in _markers(part)]
