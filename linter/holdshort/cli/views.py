"""The views that ``holdshort show`` offers: what was computed for one aircraft.

To add one, write a function that takes an :class:`~holdshort.analysis.Aircraft` (one marked
``settings`` takes what applies to it) and returns lines of text, and name it here. A view may also
have a form for programs and a picture.
"""

from typing import Final, NamedTuple

PICTURE_ENDINGS: Final = ("svg", "png")


class View(NamedTuple):
    """One view: a few words about it, and its functions as ``module:function``.

    All take an aircraft. ``target`` returns lines of text, ``json`` returns JSON text, and
    ``picture``, which also takes one of :data:`PICTURE_ENDINGS`, returns the bytes of the file;
    its module may need an optional library. Empty where the view has no such form. Where ``pairs``
    is true, ``target`` and ``json`` also take what to call with the progress, if pairs are wanted.
    Where ``settings`` is true, they take an
    :class:`~holdshort.fixlist.settings_table.Applied` instead of an aircraft. Where ``judged`` is
    true, all three also take, last, the :class:`~holdshort.fixlist.report.FileReport` of what the
    rules say about the aircraft.
    """

    title: str
    target: str
    json: str = ""
    picture: str = ""
    pairs: bool = False
    settings: bool = False
    judged: bool = False


VIEWS: Final[dict[str, View]] = {
    "power": View(
        "voltages, currents, losses and heat of the power network in every load case",
        "holdshort.fixlist.power_view:lines",
        "holdshort.fixlist.power_json:json_text",
        "holdshort.fixlist.power_picture:picture",
    ),
    "channels": View(
        "every channel of the transmitter: travel, pulses, and the devices it ends at",
        "holdshort.fixlist.channel_view:lines",
        "holdshort.fixlist.channel_json:json_text",
    ),
    "link-loss": View(
        "what every channel and the engine do when a link, all links or a box's input is lost",
        "holdshort.fixlist.link_loss_view:lines",
        "holdshort.fixlist.link_loss_json:json_text",
    ),
    "failures": View(
        "what each failure of a pack, box, lead or link leaves of every control function",
        "holdshort.fixlist.failures_view:lines",
        "holdshort.fixlist.failures_json:json_text",
        pairs=True,
    ),
    "diagram": View(
        "the wiring: devices, leads and voltages, with the findings marked where they are",
        "holdshort.fixlist.diagram_view:lines",
        "holdshort.fixlist.diagram_json:json_text",
        "holdshort.fixlist.diagram_picture:picture",
        judged=True,
    ),
    "balance": View(
        "where it balances dry, at landing and at take-off, how far inside, and what to move",
        "holdshort.fixlist.balance_view:lines",
        "holdshort.fixlist.balance_json:json_text",
        "holdshort.fixlist.balance_picture:picture",
    ),
    "loads": View(
        "the torque that the air asks of every servo at its worst, and what the servo has",
        "holdshort.fixlist.loads_view:lines",
        "holdshort.fixlist.loads_json:json_text",
        "holdshort.fixlist.loads_picture:picture",
    ),
    "telemetry": View(
        "every reading: its way to the transmitter, its alarm, and the level that would be in time",
        "holdshort.fixlist.telemetry_view:lines",
        "holdshort.fixlist.telemetry_json:json_text",
    ),
    "facts": View(
        "everything declared and computed, as JSON: what rules in YAML pick from",
        "holdshort.fixlist.facts_json:lines",
        "holdshort.fixlist.facts_json:json_text",
    ),
    "settings": View(
        "the hangar file, codes, limits, severities and deferrals that apply, and who says so",
        "holdshort.fixlist.settings_view:lines",
        "holdshort.fixlist.settings_json:json_text",
        settings=True,
    ),
}
"""Every view by the word that asks for it."""
