r"""Bench cards as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``cards.schema.json``::

    {
      "format": "holdshort-cards",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "cautions": ["..."],          what comes before all cards
      "groups": [
        {"group": "sticks", "title", "before": ["..."],
         "cards": [
           {"card": "roll right",   what an observation gives under `card`
            "title", "cautions": ["..."], "do": ["..."],
            "lines": [              one box to tick each
              {"subjects": ["left aileron"],
               "must": "trailing edge up",     null where it is to be written in
               "not_declared": null,           what is missing, where something is
               "note": null}
            ],
            "notes": ["..."],
            "sources": [{"text", "confidence"}],         of this card alone
            "observation": "- {card: roll right, ...}"}   to add under `observations:`
         ],
         "sources": [{"text", "confidence"}]}             of all cards of the group
      ],
      "left_out": [{"cards", "why"}],
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "write_back": "...",
      "caution": "..."
    }

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSheet, CardSource
from holdshort.fixlist.card_words import CAUTION, WRITE_BACK
from holdshort.fixlist.json_format import dump

FORMAT: Final = "holdshort-cards"
VERSION: Final = 1


def render_json(sheet: CardSheet) -> str:
    """Return the cards as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": sheet.file,
            "aircraft": sheet.aircraft,
            "cautions": list(sheet.cautions),
            "groups": [_group(group) for group in sheet.groups],
            "left_out": [{"cards": item.cards, "why": item.why} for item in sheet.left_out],
            "unread": list(sheet.unread),
            "write_back": WRITE_BACK,
            "caution": CAUTION,
        }
    )


def _group(group: CardGroup) -> dict[str, Any]:
    return {
        "group": group.name,
        "title": group.title,
        "before": list(group.before),
        "cards": [_card(card) for card in group.cards],
        "sources": _sources(group.sources),
    }


def _card(card: BenchCard) -> dict[str, Any]:
    return {
        "card": card.name,
        "title": card.title,
        "cautions": list(card.cautions),
        "do": list(card.do),
        "lines": [_line(line) for line in card.lines],
        "notes": list(card.notes),
        "sources": _sources(card.sources),
        "observation": card.observation,
    }


def _sources(sources: tuple[CardSource, ...]) -> list[dict[str, Any]]:
    return [{"text": source.text, "confidence": source.confidence} for source in sources]


def _line(line: CardLine) -> dict[str, Any]:
    return {
        "subjects": list(line.subjects),
        "must": line.must or None,
        "not_declared": line.lacks or None,
        "note": line.note or None,
    }
