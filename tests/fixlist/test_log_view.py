"""What a log says, as text, JSON and picture: widths, words, and names that try to escape."""

import importlib
import json
import shlex
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.analysis.known_tests import KNOWN_TESTS
from holdshort.analysis.logs.layout import find_layout
from holdshort.analysis.logs.measured import measured_lows
from holdshort.analysis.logs.report import LogReport, log_report
from holdshort.analysis.logs.rows import Tally
from holdshort.analysis.logs.study import LogStudy
from holdshort.analysis.logs.subjects import plan_of
from holdshort.document import read_document
from holdshort.fixlist.log_json import render_json
from holdshort.fixlist.log_view import WIDTH, render_text
from holdshort.setup import load

SCHEMA = json.loads(
    (Path(holdshort.fixlist.__path__[0]) / "log.schema.json").read_text(encoding="utf-8")
)
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}

BENCH: dict[str, Any] = {
    "holdshort": 1,
    "aircraft": {"name": "Wren", "flight-time": "6 min"},
    "parts": {
        "pack": {
            "kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "2000 mAh",
            "resistance": "40 mΩ",
        },
        "rx": {
            "kind": "receiver", "voltage": {"min": "4 V", "max": "9 V"}, "brown-out": "3.3 V",
            "draws": {"rest": "0.1 A", "cruise": "1 A", "peak": "4 A", "start": "0.1 A"},
            "ports": {"1..4": "servo", "supply": "supply"},
        },
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}},
    "leads": [{"from": "pack", "to": "rx.supply", "wire": "20 AWG", "length": "20 cm"}],
    "log": {
        "time": "Time",
        "columns": {
            "Rx V": {"measures": "voltage", "at": "rx"},
            "Pack V": {"measures": "voltage", "at": "pack", "below": "7.0 V"},
            "Pack A": {"measures": "current", "of": "pack"},
            "LQ": {"measures": "link-quality", "of": "rx"},
            "Lost": {"measures": "lost-frames", "of": "rx"},
            "Ail": {"measures": "position", "of": "aileron"},
        },
    },
}  # fmt: skip
HEADS = "Time,Rx V,Pack V,Pack A,LQ,Lost,Ail"


def rows() -> list[str]:
    """A pack of 8.3 V behind 50 mOhm; at 3.0 s a plug lets the receiver down for 0.2 s."""
    found: list[str] = []
    for at in range(80):
        ampere = 4.0 if 29 <= at < 34 else 1.0 + 0.5 * (at % 2)
        pack = 8.3 - 0.05 * ampere + 0.002 * ((at * 7) % 5 - 2)
        volts = 3.9 if 30 <= at < 32 else pack - 0.01 * ampere
        lost, ail = (6 if at > 30 else 0), (100 if 29 <= at < 34 else 0)
        found.append(f"{at / 10:.1f},{volts:.3f},{pack:.4f},{ampere},{99 - at % 3},{lost},{ail}")
    return found


def report_of(
    lines: Sequence[str],
    setup: dict[str, Any] = BENCH,
    *,
    curves: bool = False,
    test: str = "voltage under load",
) -> LogReport:
    document = read_document(json.dumps(setup).encode(), "wren.yaml")
    loaded = load(document, lambda _: document)
    assert not loaded.faults, loaded.faults
    aircraft = Aircraft(loaded.setup)
    assert loaded.setup.log is not None
    layout = find_layout(lines, loaded.setup.log)
    assert layout is not None
    plan = plan_of(aircraft, curves=curves)
    study = LogStudy(layout, plan)
    study.feed(lines[layout.first_line - 1 :])
    asked = next(one for one in KNOWN_TESTS if one.name == test)
    return log_report(aircraft, "bench.csv", layout, plan, study.finish(), asked)


def text_of(lines: Sequence[str], *, test: str = "voltage under load") -> str:
    return render_text(report_of(lines, test=test))


def flat(text: str) -> str:
    return " ".join(text.replace("\\\n", " ").split())


def data_of(lines: Sequence[str], setup: dict[str, Any] = BENCH) -> dict[str, Any]:
    text = render_json(report_of(lines, setup))
    assert text.isascii()
    data: dict[str, Any] = json.loads(text)
    jsonschema.validate(data, SCHEMA)
    return data


def with_log(**changes: Any) -> dict[str, Any]:
    return {**BENCH, "log": {**BENCH["log"], **changes}}


def test_a_dip_is_told_with_what_moved() -> None:
    text = flat(text_of([HEADS, *rows()]))
    assert "DIP at `rx`" in text
    # The receiver needs its minimum of 4 V; its brown-out and half a volt are 3.8 V.
    assert "Down to 3.90 V UNDER WHAT IT NEEDS, 4.0 V (its rated minimum), for 0.20 s" in text
    assert "from 3.00 s, line 32" in text
    assert "while `Pack A` rose from 1.0 to 4.0 A, aileron (`Ail`) moved from 0 to 100 %" in text
    assert "DIP at `pack`" not in text
    assert "6 lost frames" in text


def test_the_network_is_set_beside_the_log() -> None:
    """By hand: 2 cells at 20 % are 7.46 V; 4 A in 40 mOhm and 13.5 mOhm of lead leave 7.24 V."""
    data = data_of([HEADS, *rows()])
    receiver = next(row for row in data["voltages"] if row["at"] == "rx")
    assert receiver["computed_lowest_case"] == "hard-manoeuvre"
    assert receiver["computed_lowest_volts"] == pytest.approx(7.24, abs=0.02)
    assert receiver["short_of_computed_volts"] == pytest.approx(7.24 - 3.9, abs=0.02)
    assert receiver["is_short"] is True
    assert "LOWER THAN COMPUTED" in receiver["words"]
    assert receiver["limit_volts"] == pytest.approx(6.94, abs=0.02)
    assert receiver["needed_volts"] == 4.0


def test_more_than_a_full_pack_can_give_is_told() -> None:
    """Two lipo cells are 8.4 V when full (row C1): 8.9 V says that the declaration is wrong."""
    lines = ["Time,Rx V,Pack V", *[f"{at / 10},8.3,{8.9 if at == 7 else 8.3}" for at in range(20)]]
    text = flat(text_of(lines))
    assert "Measured highest 8.90 V at 0.70 s: 0.50 V HIGHER THAN COMPUTED" in text
    assert text.count("HIGHER") == 1


def test_resistance_charge_and_energy() -> None:
    data = data_of([HEADS, *rows()])
    pack = next(row for row in data["resistances"] if row["at"] == "pack")
    low = pack["ohms"] - pack["half_width_95_ohms"]
    assert low < 0.05 < pack["ohms"] + pack["half_width_95_ohms"]
    assert pack["ohms"] == pytest.approx(0.05, rel=0.05)
    assert (pack["declared_ohms"], pack["declared_is_assumed"]) == (0.04, False)
    assert pack["no_load_volts"] == pytest.approx(8.3, abs=0.005)
    current = data["currents"][0]
    # 7.9 s: 5 rows at 4 A; the others swing between 1.0 and 1.5 A, 1.25 A on average.
    assert current["mean_amperes"] == pytest.approx((7.4 * 1.25 + 0.5 * 4.0) / 7.9, rel=0.01)
    assert current["ampere_hours"] == pytest.approx(current["mean_amperes"] * 7.9 / 3600)
    assert current["watt_hours"] == pytest.approx(current["ampere_hours"] * 8.22, rel=0.01)
    assert current["rms_amperes"] > current["mean_amperes"]
    left = 1.0 - current["mean_amperes"] * 360 / 7200
    assert current["left_after_flight_share"] == pytest.approx(left)


def test_a_steady_current_leaves_the_resistance_undetermined() -> None:
    lines = ["Time,Pack V,Pack A", *[f"{at / 10},8.{at % 3},2.0" for at in range(50)]]
    text = flat(text_of(lines))
    assert "`pack`: undetermined; the current did not vary." in text
    assert "resistance of pack" not in text


def test_a_current_lost_in_noise_leaves_it_undetermined() -> None:
    lines = ["Time,Pack V,Pack A"]
    lines += [f"{at / 10},{8.0 + (at * 37 % 11) / 50},{2 + at % 2 * 0.01}" for at in range(40)]
    data = data_of(lines)
    assert data["resistances"][0]["ohms"] is None
    assert "0.01 A only" in data["resistances"][0]["undetermined"]


def test_a_log_in_order_says_so_and_nothing_of_safety() -> None:
    lines = [HEADS, *[row for at, row in enumerate(rows()) if not 29 <= at < 34]]
    text = text_of(lines)
    assert "No voltage under its limit in this log." in text
    assert "safe" not in text.lower()
    assert "no word on whether the aircraft may fly" in flat(text)


def test_what_was_left_out_is_told() -> None:
    lines = [HEADS, *rows(), "8.0,7", "soon,7,8,1,1,1,1", "8.2,low,8,1,99,6,0", "60,7,8,1,99,6,0"]
    text = flat(text_of([line.replace("Ail", "Elev") for line in lines]))
    for words in (
        "Left out: 2 of 84 rows",
        "`Ail` is not a column of this log",
        "1 row with too few cells, first in line 82: `8.0,7`",
        "1 row with a time that cannot be read, first in line 83: `soon`",
        "1 cell in `Rx V` without a number, first in line 84: `low`",
        "1 gap in the rows, 51.8 s in all",
    ):
        assert words in text


def test_a_time_that_looks_like_milliseconds_is_asked_about() -> None:
    lines = [HEADS, *[row.replace(",", "00,", 1).replace(".", "", 1) for row in rows()]]
    assert "say `unit: ms` under `log: time:`" in flat(text_of(lines))


def test_the_line_to_sign_can_be_pasted() -> None:
    report = report_of([HEADS, *rows()])._replace(file="it's; rm x.yaml")
    text = render_text(report)
    begin = text.index("  holdshort sign")
    words = shlex.split(text[begin : text.index("\n\n", begin)].replace("\\\n", " "))
    assert words == [
        "holdshort", "sign", "it's; rm x.yaml", "voltage under load",
        "--figure", "lowest voltage=3.90 V",
    ]  # fmt: skip
    assert shlex.split(json.loads(render_json(report))["sign"]["command"]) == words


def test_a_test_that_asks_for_no_such_figure_is_told() -> None:
    assert "`directions` asks for no figure that this log gives." in text_of(
        [HEADS, *rows()], test="directions"
    )


def test_the_figures_can_be_put_back_into_the_setup_file() -> None:
    """What is printed for `log: results:` reads as that, and the rule that judges it reads it."""
    text = text_of([HEADS, *rows()])
    begin = text.index("  - file: bench.csv")
    entry = text[begin : text.index("\n\n", begin)].replace("YYYY-MM-DD", "2026-05-04")
    document = read_document(f"holdshort: 1\nlog:\n  results:\n{entry}\n".encode(), "x.yaml")
    loaded = load(document, lambda _: document)
    assert not loaded.faults, loaded.faults
    lows = {low.at: low for low in measured_lows(loaded.setup)}
    assert lows["rx"].voltage == 3.9
    assert lows["rx"].dip == pytest.approx(0.2)
    assert lows["rx"].on == "2026-05-04"
    assert lows["pack"].voltage == pytest.approx(8.1, abs=0.01)
    assert json.loads(render_json(report_of([HEADS, *rows()])))["figures"] == dict(
        loaded.setup.log.results[0].figures if loaded.setup.log and loaded.setup.log.results else {}
    )


hostile = st.text(min_size=1, max_size=90) | st.sampled_from(
    ["\x1b[2J", "\x1b]0;x\x07", "\u202egnp.exe", "a\nb\rc", "x" * 90, "\x9b31m", "\x7f", "`$(rm)`"]
)


def renamed(report: LogReport, name: str) -> LogReport:
    """Put a name wherever a report takes one from a file or a command line."""
    voltages = tuple(
        row._replace(subject=row.subject._replace(column=name, written=name))
        for row in report.voltages
    )
    tally = Tally(1, 7, name)
    reading = report.reading._replace(flaws={("short", ""): tally, ("cell", name): tally})
    return report._replace(
        aircraft=name,
        file=name,
        log=name,
        reading=reading,
        layout=report.layout._replace(missing=(name,), doubled=(name,)),
        empty=(name,),
        test=name,
        voltages=voltages,
        currents=tuple(row._replace(column=name, device=name) for row in report.currents),
        resistances=tuple(row._replace(device=name, at=name) for row in report.resistances),
        links=tuple(row._replace(column=name, of=name) for row in report.links),
        positions=tuple(row._replace(column=name, of=name, unit=name) for row in report.positions),
    )


@settings(max_examples=60)
@given(hostile)
def test_no_name_escapes_and_no_line_is_too_long(name: str) -> None:
    report = renamed(report_of([HEADS, *rows()]), name)
    text = render_text(report)
    for line in text[: text.index("To keep these figures")].split("\n"):
        assert len(line) <= WIDTH
    for line in text.split("\n"):
        assert not {unicodedata.category(character) for character in line} & HIDDEN
    packed = render_json(report)
    assert packed.isascii()
    assert set(packed) & {chr(code) for code in (*range(32), 127)} <= {"\n"}
    jsonschema.validate(json.loads(packed), SCHEMA)


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<?xml"), ("png", b"\x89PNG\r\n")])
def test_a_picture_is_drawn(ending: str, begins: bytes) -> None:
    pytest.importorskip("matplotlib")
    draw = importlib.import_module("holdshort.fixlist.log_picture").draw
    report = report_of([HEADS, *rows()], curves=True)
    assert draw(report, ending).startswith(begins)
    assert draw(report, ending) == draw(report_of([HEADS, *rows()], curves=True), ending)


def test_a_hostile_heading_is_text_in_the_picture() -> None:
    pytest.importorskip("matplotlib")
    draw = importlib.import_module("holdshort.fixlist.log_picture").draw
    heading = "</text><script>alert(1)</script>$x^2$ &"
    columns = {heading: {"measures": "voltage", "at": "rx"}}
    setup = with_log(columns=columns)
    report = report_of([f"Time,{heading}", "0,7.4", "1,7.3", "2,3.0"], setup, curves=True)
    tree = ET.fromstring(draw(report, "svg"))  # noqa: S314  - our own picture
    assert not [node for node in tree.iter() if node.tag.endswith("script")]
