"""Quantities: a number and a unit as text in the file, SI inside.

Every quantity type reads text such as ``8.4 V`` and holds it as :class:`Quantity`, a float in
SI units that remembers how it was written. Number, unit and sign are described by one regular
expression per type, and the JSON Schema for editors carries that same expression.
"""

import math
import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Annotated, Any, Final, Self

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

INCH: Final = 0.0254  # m, exact: international yard and pound agreement, 1959
POUND: Final = 0.45359237  # kg, exact: as above
GRAVITY: Final = 9.80665  # m/s2, standard gravity, exact: 3rd CGPM, 1901


class Quantity(float):
    """A physical quantity: a float in SI units, with :attr:`text` as the file wrote it."""

    __slots__ = ("text",)
    text: str

    def __new__(cls, value: float, text: str) -> Self:
        """Hold ``value`` (SI) and the text it was read from."""
        self = super().__new__(cls, value)
        self.text = text
        return self

    def __reduce__(self) -> tuple[type["Quantity"], tuple[float, str]]:
        return Quantity, (float(self), self.text)


def _awg(gauge: float) -> float:
    """Cross-section in m2 of a solid wire of a gauge number (ASTM B258)."""
    diameter = 0.127e-3 * math.pow(92, (36 - gauge) / 39)
    return math.pi / 4 * diameter * diameter


class Dimension:
    """What a quantity measures: its name, its units and each unit's size in SI.

    ``units`` maps every accepted spelling to its factor in SI (wire gauge, which is no multiple,
    has its own formula). The first unit is the one shown in messages.
    """

    __slots__ = ("example", "name", "units")

    def __init__(self, name: str, units: Mapping[str, float], example: str) -> None:
        """Take the name, the units and how a quantity of this dimension may look."""
        self.name = name
        self.units = units
        self.example = example

    @property
    def unit(self) -> str:
        """The unit that messages suggest."""
        return next(iter(self.units))

    @property
    def spellings(self) -> tuple[str, ...]:
        """The units, without those that look like another one in print."""
        return tuple(unit for unit in self.units if not set(unit) & {"\u2126", "\u03bc"})


VOLTAGE: Final = Dimension("voltage", {"V": 1.0, "mV": 1e-3}, "8.4 V")
CURRENT: Final = Dimension("current", {"A": 1.0, "mA": 1e-3}, "2.5 A")
CHARGE: Final = Dimension("capacity", {"mAh": 3.6, "Ah": 3600.0}, "4500 mAh")
RESISTANCE: Final = Dimension(
    "resistance",
    {
        "mΩ": 1e-3,
        "Ω": 1.0,
        "mohm": 1e-3,
        "ohm": 1.0,
        "m\u2126": 1e-3,
        "\u2126": 1.0,
    },  # both ohm signs
    "12 mΩ",
)
POWER: Final = Dimension("power", {"W": 1.0, "mW": 1e-3, "kW": 1e3}, "12 W")
MASS: Final = Dimension("mass", {"kg": 1.0, "g": 1e-3, "lb": POUND, "oz": POUND / 16}, "13.9 kg")
LENGTH: Final = Dimension(
    "length",
    {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": INCH, "ft": 12 * INCH},
    "350 mm",
)
_GALLON: Final = 231 * INCH**3  # m3: the US gallon is 231 cubic inches, exact; 128 fluid ounces

VOLUME: Final = Dimension(
    "volume",
    {"l": 1e-3, "ml": 1e-6, "L": 1e-3, "gal": _GALLON, "fl.oz": _GALLON / 128},
    "3.5 l",
)
DENSITY: Final = Dimension(
    "density",
    {
        "kg/l": 1e3,
        "g/ml": 1e3,
        "kg/m3": 1.0,
        "kg/L": 1e3,
        "lb/gal": POUND / _GALLON,
    },
    "0.80 kg/l",
)
DURATION: Final = Dimension(
    "time",
    {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "\u03bcs": 1e-6, "min": 60.0, "h": 3600.0},
    "1.0 s",
)
PULSE: Final = Dimension(
    "pulse width", {"us": 1e-6, "µs": 1e-6, "\u03bcs": 1e-6, "ms": 1e-3}, "1520 us"
)
FREQUENCY: Final = Dimension("frequency", {"Hz": 1.0, "kHz": 1e3, "MHz": 1e6, "GHz": 1e9}, "50 Hz")
TORQUE: Final = Dimension(
    "torque",
    {
        "N.m": 1.0,
        "N·m": 1.0,
        "kg.cm": GRAVITY * 1e-2,
        "kg·cm": GRAVITY * 1e-2,
        "oz.in": POUND / 16 * GRAVITY * INCH,
    },
    "25 kg.cm",
)
FORCE: Final = Dimension(
    "force", {"N": 1.0, "kN": 1e3, "kgf": GRAVITY, "lbf": POUND * GRAVITY}, "180 N"
)
SPEED: Final = Dimension(
    "speed",
    {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 1609.344 / 3600, "kt": 1852 / 3600},
    "80 m/s",
)
ANGLE: Final = Dimension("angle", {"deg": math.pi / 180, "°": math.pi / 180, "rad": 1.0}, "5 deg")
SLEW: Final = Dimension("servo speed", {"s/60deg": 1.0, "s/60°": 1.0}, "0.10 s/60deg")
SHARE: Final = Dimension("share", {"%": 0.01}, "92 %")
TEMPERATURE: Final = Dimension("temperature", {"degC": 1.0, "°C": 1.0}, "60 degC")
WIRE: Final = Dimension("wire size", {"AWG": 0.0, "mm2": 1e-6, "mm²": 1e-6}, "20 AWG")

PACE: Final = 0.75  # m: common practice, no source
DISTANCE: Final = Dimension("distance", {"paces": PACE, "pace": PACE, **LENGTH.units}, "30 paces")
HEADINGS: Final = Dimension("number of headings", {"headings": 1.0, "heading": 1.0}, "4 headings")
DAYS: Final = Dimension("number of days", {"days": 1.0, "day": 1.0}, "30 days")

DIMENSIONS: Final = (
    VOLTAGE,
    CURRENT,
    CHARGE,
    RESISTANCE,
    POWER,
    MASS,
    LENGTH,
    VOLUME,
    DENSITY,
    DURATION,
    FREQUENCY,
    TORQUE,
    FORCE,
    SPEED,
    ANGLE,
    SLEW,
    SHARE,
    TEMPERATURE,
    WIRE,
)

_NUMBER: Final = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"
_GAUGE: Final = r"(?:[1-9]|[1-3][0-9]|40)"
_plain: Final = re.compile(rf"([+-]?)({_NUMBER}) ?([^\s0-9.+-].*)").fullmatch
_gauge: Final = re.compile(_GAUGE).fullmatch


class QuantityType:
    """How one kind of quantity is read: its dimension, sign and whether it may be zero.

    Used as an annotation (``Annotated[Quantity, QuantityType(...)]``): gives pydantic the reader
    and the JSON Schema its pattern.
    """

    __slots__ = ("dimension", "signed", "zero")

    def __init__(self, dimension: Dimension, *, signed: bool = False, zero: bool = False) -> None:
        """Take the dimension; a signed quantity may be zero too."""
        self.dimension = dimension
        self.signed = signed
        self.zero = zero or signed

    @property
    def pattern(self) -> str:
        """The regular expression that a well-formed text matches (ECMA and Python alike)."""
        units = "|".join(unit.replace(".", r"\.") for unit in self.dimension.units if unit != "AWG")
        sign = "[+-]?" if self.signed else ""
        some = "" if self.zero else "(?=[0-9.]*[1-9])"
        measured = f"{some}{sign}{_NUMBER} ?(?:{units})"
        if "AWG" in self.dimension.units:
            measured += f"|{_GAUGE} ?AWG"
        return f"^(?:{measured})$"

    def read(self, value: object) -> Quantity:
        """Return ``value`` as a quantity in SI units.

        Raises :class:`pydantic_core.PydanticCustomError` saying what was expected.
        """
        if isinstance(value, Quantity):
            return value
        found = _measured(self, value) if isinstance(value, str) else None
        if found is not None:
            return found
        problem, advice = self._problem(value)
        raise PydanticCustomError("quantity", "{problem}", {"problem": problem, "advice": advice})

    def size(self, sign: str, number: str, unit: str) -> float | None:
        """Return the size in SI, or None where number, sign or unit do not fit."""
        if unit == "AWG" and unit in self.dimension.units:
            return None if sign or not _gauge(number) else _awg(int(number))
        factor = self.dimension.units.get(unit)
        if factor is None or (sign and not self.signed):
            return None
        size = float(number) * factor
        if size == 0.0 and not self.zero:
            return None
        return -size if sign == "-" else size

    def _problem(self, value: object) -> tuple[str, str]:
        """Say why ``value`` is not a quantity of this type, and what to write instead.

        The first text goes on from "``mass`` is `...`,".
        """
        name, example = self.dimension.name, self.dimension.example
        wanted = f"Write {_article(name)}, such as `{example}`."
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            return f"not {_article(name)}", wanted
        loose = re.fullmatch(r"\s*([+-]?)\s*([0-9]+(?:[.,][0-9]+)?)\s*(.*?)\s*", str(value))
        if not loose:
            return f"not {_article(name)}", wanted
        sign, number, unit = loose.groups()
        if not unit:
            return "without a unit", f"Write {_article(name)} with its unit, such as `{example}`."
        if "," in number:
            return "with a decimal comma", f"Write `{sign}{number.replace(',', '.')} {unit}`."
        if unit in self.dimension.units:
            return self._number_problem(sign, number, unit), wanted
        return _unit_problem(unit, self.dimension, wanted)

    def _number_problem(self, sign: str, number: str, unit: str) -> str:
        if sign == "-" and not self.signed:
            return "below zero"
        if unit == "AWG":
            return "which is not a gauge from 1 to 40"
        if not self.zero and set(number) <= set("0."):
            return "which is zero"
        return "not written plainly: up to nine digits each side of the point, one space, the unit"

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        units = self.dimension.spellings
        return {
            "type": "string",
            "pattern": self.pattern,
            "examples": [self.dimension.example],
            "description": f"{_article(self.dimension.name).capitalize()}, in {_either(units)}.",
        }


class PortionType(QuantityType):
    """How a share of a whole is read that is more than nothing and at most all of it."""

    __slots__ = ()

    def __init__(self) -> None:
        """Take shares."""
        super().__init__(SHARE)

    @property
    def pattern(self) -> str:
        """The regular expression that a well-formed text matches (ECMA and Python alike)."""
        part = r"0{0,7}[0-9]{1,2}(?:\.[0-9]{1,9})?"
        return rf"^(?:(?=[0-9.]*[1-9])(?:0{{0,6}}100(?:\.0{{1,9}})?|{part}) ?%)$"

    def size(self, sign: str, number: str, unit: str) -> float | None:
        """Return the share, or None where number, sign or unit do not fit."""
        share = super().size(sign, number, unit)
        return None if share is None or share > 1.0 else share

    def _number_problem(self, sign: str, number: str, unit: str) -> str:
        if not sign and float(number) > 100.0:  # noqa: PLR2004  - per cent
            return "above 100 %"
        return super()._number_problem(sign, number, unit)


@lru_cache(maxsize=4096)  # most texts come again: in other cases, on other aircraft, as defaults
def _measured(kind: QuantityType, text: str) -> Quantity | None:
    match = _plain(text)
    size = kind.size(*match.groups()) if match else None
    return None if size is None else Quantity(size, text)


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def _either(words: Sequence[str]) -> str:
    return " or ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _unit_problem(unit: str, dimension: Dimension, wanted: str) -> tuple[str, str]:
    for other in DIMENSIONS:
        if unit in other.units and other is not dimension:
            return f"{_article(other.name)}, not {_article(dimension.name)}", wanted
    near = [known for known in dimension.units if known.lower() == unit.lower()]
    if near:
        return f"in `{unit}`, which is not a unit", f"Did you mean `{near[0]}`?"
    return (
        f"in `{unit}`, which is not a unit of {dimension.name}",
        f"Units of {dimension.name}: {', '.join(dimension.spellings)}.",
    )


Voltage = Annotated[Quantity, QuantityType(VOLTAGE)]
VoltageOrZero = Annotated[Quantity, QuantityType(VOLTAGE, zero=True)]
Current = Annotated[Quantity, QuantityType(CURRENT)]
CurrentOrZero = Annotated[Quantity, QuantityType(CURRENT, zero=True)]
Charge = Annotated[Quantity, QuantityType(CHARGE)]
Resistance = Annotated[Quantity, QuantityType(RESISTANCE, zero=True)]
Power = Annotated[Quantity, QuantityType(POWER)]
Mass = Annotated[Quantity, QuantityType(MASS)]
Length = Annotated[Quantity, QuantityType(LENGTH)]
Station = Annotated[Quantity, QuantityType(LENGTH, signed=True)]
Volume = Annotated[Quantity, QuantityType(VOLUME)]
Duration = Annotated[Quantity, QuantityType(DURATION, zero=True)]
Pulse = Annotated[Quantity, QuantityType(PULSE)]
Frequency = Annotated[Quantity, QuantityType(FREQUENCY)]
Torque = Annotated[Quantity, QuantityType(TORQUE)]
Speed = Annotated[Quantity, QuantityType(SPEED)]
Angle = Annotated[Quantity, QuantityType(ANGLE, signed=True)]
Slew = Annotated[Quantity, QuantityType(SLEW)]
Share = Annotated[Quantity, QuantityType(SHARE, zero=True)]
Portion = Annotated[Quantity, PortionType()]
SignedShare = Annotated[Quantity, QuantityType(SHARE, signed=True)]
Temperature = Annotated[Quantity, QuantityType(TEMPERATURE, signed=True)]
WireSize = Annotated[Quantity, QuantityType(WIRE)]
