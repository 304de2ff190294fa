"""What the annotation of a field allows: the models, mappings, lists and kinds of quantity."""

import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import BeforeValidator

from holdshort.setup.base import Section
from holdshort.setup.quantities import QuantityType


@cache
def field_shapes(model: type[Section]) -> dict[str, Any]:
    """Return the annotation of every field of ``model`` by its name, in their order."""
    hints = get_type_hints(model, include_extras=True)
    return {name: hints[name] for name in model.model_fields}


def options(shape: Any) -> Iterator[Any]:
    """Yield what an annotation allows: models, dicts, tuples and kinds of quantity.

    What a value may be written as in short comes before what it is read into.
    """
    origin = get_origin(shape)
    if origin is Annotated:
        inner, *marks = get_args(shape)
        for mark in marks:
            if isinstance(mark, QuantityType):
                yield mark
            elif isinstance(mark, BeforeValidator):
                yield from options(mark.json_schema_input_type)
        yield from options(inner)
    elif origin is Union or origin is types.UnionType:
        for option in get_args(shape):
            yield from options(option)
    elif shape is not None:
        yield shape


def inside(shape: Any, origin: type) -> tuple[Any, ...]:
    """Return what the mapping (``dict``) or the list (``tuple``) in an annotation holds.

    Two nothings where the annotation allows none.
    """
    for option in options(shape):
        if get_origin(option) is origin:
            return get_args(option)
    return (None, None)
