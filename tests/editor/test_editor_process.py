"""The language server as an editor meets it: a process, pipes and the protocol."""

import random
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import converters, types

from .conftest import EXAMPLES, PATIENCE, Client, Json

FAULT = "output: 8.4 V"


def codes(found: list[Json]) -> list[str]:
    return [one["code"] for one in found if one["severity"] < 4]


def faulty(folder: Path) -> str:
    """Return the large example with one regulator set above what three servos are rated for."""
    text = (folder / "tarn-swift.yaml").read_text(encoding="utf-8")
    return text.replace("output: 7.4 V, measured: 7.4 V", f"{FAULT}, measured: 8.4 V", 1)


def position_of(text: str, word: str, encoding: str, *, inside: int = 0) -> Json:
    """Return where a word stands, counted with Python's own encoders."""
    offset = text.index(word) + inside
    before = text[:offset]
    last = before.rpartition("\n")[2]
    width = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[encoding]
    name = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[encoding]
    return {"line": before.count("\n"), "character": len(last.encode(name)) // width}


def text_in(text: str, place: Json, encoding: str) -> str:
    """Return the text of a range on one line, cut with Python's own encoders."""
    name = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[encoding]
    width = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[encoding]
    assert place["start"]["line"] == place["end"]["line"]
    data = text.split("\n")[place["start"]["line"]].encode(name)
    start, end = (place[key]["character"] * width for key in ("start", "end"))
    return str(data[start:end].decode(name))


def applied(text: str, edits: list[Json]) -> str:
    """Apply text edits as a client does: in UTF-16 units, from the last to the first."""
    lines = text.split("\n")

    def offset(position: Json) -> int:
        before = sum(len(line.encode("utf-16-le")) + 2 for line in lines[: position["line"]])
        return before + int(position["character"]) * 2

    data = text.encode("utf-16-le")
    for edit in sorted(edits, key=lambda one: offset(one["range"]["start"]), reverse=True):
        start, end = (offset(edit["range"][key]) for key in ("start", "end"))
        data = data[:start] + edit["newText"].encode("utf-16-le") + data[end:]
    return data.decode("utf-16-le")


def test_a_fault_is_told_with_its_places_and_goes_when_it_is_mended(
    client: Client, folder: Path
) -> None:
    text = faulty(folder)
    uri = client.open(folder / "tarn-swift.yaml", text)
    found = client.told(uri, 1)
    assert codes(found) == ["regulator-above-servo-rating"]
    (finding,) = [one for one in found if one["severity"] == 1]
    assert finding["source"] == "holdshort"
    assert text_in(text, finding["range"], "utf-16") == "output"
    assert "8.4 V" in finding["message"]
    assert "Set `regulator-1`" in finding["message"]
    shelf = (folder / "parts" / "shelf.yaml").read_text(encoding="utf-8")
    places = [one["location"] for one in finding["relatedInformation"]]
    assert {one["uri"] for one in places} == {(folder / "parts" / "shelf.yaml").as_uri()}
    assert {text_in(shelf, one["range"], "utf-16") for one in places} == {"max"}

    at = position_of(text, FAULT, "utf-16", inside=len("output: "))
    place = {"start": at, "end": {**at, "character": at["character"] + len("8.4 V")}}
    client.change(uri, [{"range": place, "text": "7.4 V"}], 2)
    client.told(uri, 2)
    measured = position_of(text, "measured: 8.4 V", "utf-16", inside=len("measured: "))
    place = {"start": measured, "end": {**measured, "character": measured["character"] + 3}}
    client.change(uri, [{"range": place, "text": "7.4"}], 3)
    assert codes(client.told(uri, 3)) == []


def test_what_the_server_sends_is_what_the_protocol_knows(client: Client, folder: Path) -> None:
    converter = converters.get_converter()
    result = client.introduced
    converter.structure(result, types.InitializeResult)
    # Without a wish places are counted in UTF-16 (protocol 3.17, "Position").
    assert result["capabilities"].get("positionEncoding", "utf-16") == "utf-16"
    uri = client.open(folder / "tarn-swift.yaml", faulty(folder))
    client.told(uri)
    params = converter.structure(client.diagnostics[uri], types.PublishDiagnosticsParams)
    assert params.version == 1
    document = {"textDocument": {"uri": uri}}
    for one in client.request("textDocument/documentSymbol", document):
        converter.structure(one, types.DocumentSymbol)
    (wish,) = client.asked_by_server
    assert wish["method"] == "client/registerCapability"


def test_symbols_are_sections_with_their_entries(client: Client, folder: Path) -> None:
    uri = client.open(folder / "tarn-swift.yaml")
    client.told(uri)
    found = client.request("textDocument/documentSymbol", {"textDocument": {"uri": uri}})
    by_name = {one["name"]: one for one in found}
    text = (folder / "tarn-swift.yaml").read_text(encoding="utf-8")
    assert list(by_name) == [
        line.partition(":")[0] for line in text.splitlines() if line and line[0].isalpha()
    ]
    assert [one["name"] for one in by_name["devices"]["children"]][:3] == [
        "pack-1", "pack-2", "regulator-1",
    ]  # fmt: skip
    assert by_name["leads"]["children"][0]["name"] == "pack-1 to regulator-1.in"
    for one in [*found, *by_name["devices"]["children"]]:
        outer, inner = one["range"], one["selectionRange"]
        assert order(outer["start"]) <= order(inner["start"])
        assert order(inner["end"]) <= order(outer["end"])


def order(position: Json) -> tuple[int, int]:
    return position["line"], position["character"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-32"])
def test_places_behind_strange_characters_are_counted_in_the_client_s_units(
    fresh: Client, folder: Path, encoding: str
) -> None:
    found = fresh.begin(encodings=[encoding])
    assert found["capabilities"]["positionEncoding"] == encoding
    text = faulty(folder).replace(
        "  regulator-1: {part: regulator-20a, output",
        '  regulator-1: {note: "\U0001f6e9\ufe0f é \u200f✈", part: regulator-20a, output',
    )
    uri = fresh.open(folder / "tarn-swift.yaml", text)
    (finding,) = [one for one in fresh.told(uri) if one["severity"] == 1]
    assert text_in(text, finding["range"], encoding) == "output"
    at = position_of(text, "output: 8.4", encoding, inside=2)
    shown = fresh.at(uri, "hover", at)
    assert text_in(text, shown["range"], encoding) == "output"
    start = position_of(text, "8.4 V", encoding)
    place = {"start": start, "end": {**start, "character": start["character"] + 3}}
    fresh.change(uri, [{"range": place, "text": "7.4"}], 2)
    assert "regulator-above-servo-rating" not in codes(fresh.told(uri, 2))


def test_a_fix_applied_in_the_editor_removes_its_finding(client: Client, folder: Path) -> None:
    shutil.copy(EXAMPLES / "faults" / "gyro-mounting-mismatch.yaml", folder / "parts")
    path = folder / "parts" / "gyro-mounting-mismatch.yaml"
    text = path.read_text(encoding="utf-8").replace("../parts/", "")
    text = text.replace("  gyro-left:\n", "  gyro-left: # \U0001f6e9\n", 1)
    uri = client.open(path, text, version=7)
    found = client.told(uri)
    (finding,) = [one for one in found if one["code"] == "gyro-mounting-mismatch"]
    params: Json = {
        "textDocument": {"uri": uri},
        "range": finding["range"],
        "context": {"diagnostics": [finding]},
    }
    (action,) = client.request("textDocument/codeAction", params)
    assert action["kind"] == "quickfix"
    assert action["diagnostics"] == [finding]
    (change,) = action["edit"]["documentChanges"]
    assert change["textDocument"] == {"uri": uri, "version": 7}
    mended = applied(text, change["edits"])
    client.replace(uri, mended, 8)
    assert "gyro-mounting-mismatch" not in codes(client.told(uri, 8))
    changed = [line for line in mended.split("\n") if line not in text.split("\n")]
    assert len(changed) == 1
    assert "told: {plugs: aft, label: up" in changed[0]

    params["range"] = {"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 1}}
    assert client.request("textDocument/codeAction", params) == []
    params["context"]["only"] = ["refactor"]
    assert client.request("textDocument/codeAction", params) is None


def test_a_catalogue_as_it_is_typed_counts_for_the_aircraft_that_name_it(
    client: Client, folder: Path
) -> None:
    aircraft = client.open(folder / "tarn-swift.yaml")
    assert codes(client.told(aircraft)) == []
    shelf_path = folder / "parts" / "shelf.yaml"
    shelf = shelf_path.read_text(encoding="utf-8")
    catalogue = client.open(shelf_path)
    assert client.told(catalogue) == []
    weak = shelf.replace("voltage: {min: 4.8 V, max: 7.4 V}", "voltage: {min: 4.8 V, max: 6.0 V}")
    client.replace(catalogue, weak, 2)
    client.told_until(aircraft, lambda found: "regulator-above-servo-rating" in codes(found))

    wrong = shelf.replace("max: 7.4 V}", "max: 7.4 volt}", 1)
    client.replace(catalogue, wrong, 3)
    (mistake,) = client.told(catalogue, 3)
    assert "7.4 volt" in mistake["message"]
    client.replace(catalogue, shelf, 4)
    assert client.told(catalogue, 4) == []

    client.replace(catalogue, weak, 5)
    client.told_until(aircraft, lambda found: "regulator-above-servo-rating" in codes(found))
    client.notify("textDocument/didClose", {"textDocument": {"uri": catalogue}})
    client.told_until(aircraft, lambda found: not codes(found))  # the disk counts again


def test_a_file_that_changes_on_the_disk_is_read_anew(client: Client, folder: Path) -> None:
    aircraft = client.open(folder / "tarn-swift.yaml")
    assert codes(client.told(aircraft)) == []
    shelf_path = folder / "parts" / "shelf.yaml"
    shelf = shelf_path.read_text(encoding="utf-8")
    shelf_path.write_text(
        shelf.replace("voltage: {min: 4.8 V, max: 7.4 V}", "voltage: {min: 4.8 V, max: 6 V}"),
        encoding="utf-8",
    )
    change = {"uri": shelf_path.as_uri(), "type": 2}
    client.notify("workspace/didChangeWatchedFiles", {"changes": [change]})
    client.told_until(aircraft, lambda found: "regulator-above-servo-rating" in codes(found))


def test_a_hangar_file_as_it_is_typed_counts(client: Client, folder: Path) -> None:
    (folder / "hangar.yaml").write_text("holdshort-hangar: 1\n", encoding="utf-8")
    uri = client.open(folder / "tarn-swift.yaml", faulty(folder))
    assert [one["severity"] for one in client.told(uri) if one["severity"] < 4] == [1]
    text = "holdshort-hangar: 1\nseverities: {regulator-above-servo-rating: note}\n"
    client.open(folder / "hangar.yaml", text)
    client.told_until(uri, lambda found: [one["severity"] for one in found][:1] == [3])


def test_uris_with_spaces_and_signs_name_their_files(client: Client, folder: Path) -> None:
    strange = folder / "my models; 100 % é #1"
    strange.mkdir()
    shutil.copytree(folder / "parts", strange / "parts")
    shutil.copy(folder / "tarn-swift.yaml", strange)
    uri = client.open(strange / "tarn-swift.yaml")
    assert codes(client.told(uri)) == []
    at = position_of(faulty(folder), "servo-mini", "utf-16", inside=2)
    (place,) = client.at(uri, "definition", at)
    assert place["uri"] == (strange / "parts" / "shelf.yaml").as_uri()


def test_what_is_none_of_ours_is_left_alone(client: Client, folder: Path) -> None:
    for number, text in enumerate(["a: [1, 2", "name: something else\n", "", "- 1\n- 2\n"]):
        uri = client.open(folder / f"other-{number}.yaml", text)
        assert client.told(uri) == []
    unnamed = client.open(folder, "holdshort: 1\nairkraft: {}\n", uri="untitled:Untitled-1")
    assert codes(client.told(unnamed)) == ["unknown-key"]


def test_a_mistake_of_form_is_told_while_it_stands(client: Client, folder: Path) -> None:
    text = faulty(folder)
    uri = client.open(folder / "tarn-swift.yaml", text)
    client.told(uri)
    client.replace(uri, text.replace("devices:\n", "devices: [\n", 1), 2)
    (mistake,) = client.told(uri, 2)
    assert mistake["severity"] == 1
    # The names of the last good state are there while the text is none.
    broken = text.replace("leads:\n", "leads:\n  - {from: regulator-1.\n", 1)
    client.replace(uri, broken, 3)
    at = position_of(broken, "from: regulator-1.\n", "utf-16", inside=len("from: regulator-1."))
    items = client.at(uri, "completion", at)["items"]
    assert [one["label"] for one in items][:1] == ["regulator-1.out-4"]  # the only free feed
    assert {one["label"] for one in items} == {
        "regulator-1.in", "regulator-1.out-1", "regulator-1.out-2", "regulator-1.out-3",
        "regulator-1.out-4",
    }  # fmt: skip


def test_nonsense_is_answered_or_passed_over(fresh: Client, folder: Path) -> None:
    assert fresh.answer("textDocument/hover", {})["error"]["code"] < 0
    fresh.begin()
    nowhere = {"textDocument": {"uri": "file:///nowhere.yaml"}}
    at = {"line": 5, "character": 5}
    for method in ("hover", "completion", "definition", "declaration"):
        assert fresh.at(nowhere["textDocument"]["uri"], method, at) is None
    assert fresh.request("textDocument/documentSymbol", nowhere) is None
    change = {"textDocument": {"uri": "file:///nowhere.yaml", "version": 3}}
    fresh.notify("textDocument/didChange", {**change, "contentChanges": [{"text": "x"}]})
    fresh.notify("textDocument/didClose", nowhere)
    fresh.notify("textDocument/didChange", {"textDocument": 7})
    fresh.notify("something/unheard-of", {"a": 1})
    fresh.notify("$/cancelRequest", {"id": 4711})
    assert fresh.answer("something/unheard-of", {})["error"]["code"] == -32601
    assert fresh.answer("textDocument/hover", {"textDocument": 7})["error"]["code"] < 0
    fresh.send_bytes(b"\xff\xfe not JSON")
    fresh.send_bytes(b"[]")
    uri = fresh.open(folder / "tarn-swift.yaml")
    far = {"line": 10**6, "character": 10**6}
    fresh.change(uri, [{"range": {"start": far, "end": far}, "text": "# end\n"}], 2)
    assert codes(fresh.told(uri, 2)) == []
    back = {"start": far, "end": {"line": 0, "character": 0}}
    fresh.change(uri, [{"range": back, "text": "holdshort: 1\n"}], 3)
    fresh.told(uri, 3)
    for method in ("hover", "completion", "definition"):
        fresh.at(uri, method, far)
    fresh.replace(uri, "holdshort: 1\n" + "x" * 3_000_000, 4)
    assert codes(fresh.told(uri, 4)) == ["file-too-large"]
    fresh.replace(uri, "holdshort: \ud800\n", 5)
    assert len(fresh.told(uri, 5)) == 1
    assert fresh.end() == 0


def test_an_end_without_a_shutdown_is_told_in_the_exit_code(fresh: Client) -> None:
    fresh.begin()
    fresh.notify("exit")
    assert fresh.process.wait(timeout=PATIENCE) == 1


def test_a_client_that_is_gone_ends_the_server(fresh: Client) -> None:
    fresh.begin()
    assert fresh.process.stdin is not None
    fresh.process.stdin.close()
    assert fresh.process.wait(timeout=PATIENCE) == 1


def test_without_the_extra_one_sentence_says_what_to_install(tmp_path: Path) -> None:
    blocker = (
        "import sys\n"
        "class Without:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.partition('.')[0] in {'pygls', 'lsprotocol'}:\n"
        "            raise ModuleNotFoundError(name)\n"
        "sys.meta_path.insert(0, Without())\n"
        "from holdshort.cli import main\n"
        "sys.exit(main(['serve']))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", blocker], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert "pip install 'holdshort[editor]'" in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_deferral_is_helped_with_its_rule_and_its_place(client: Client, folder: Path) -> None:
    text = faulty(folder)
    uri = client.open(folder / "tarn-swift.yaml", text)
    client.told(uri)

    def offered(line: str) -> list[Any]:
        typed = f"{text}\ndeferrals:\n  - {line}"
        client.replace(uri, typed, 2)
        last = typed.count("\n")
        return list(
            client.at(uri, "completion", {"line": last, "character": 4 + len(line)})["items"]
        )

    assert "regulator-above-servo-rating" in [
        one["label"] for one in offered("{rule: regulator-above")
    ]
    places = offered("{rule: regulator-above-servo-rating, at: dev")
    assert [one["textEdit"]["newText"] for one in places] == ["devices.regulator-1.output"]


def test_a_thousand_edits_and_questions_leave_the_server_well(client: Client, folder: Path) -> None:
    chance = random.Random(5)  # noqa: S311  - repeatable, no secret
    name = "petrol-two-packs.yaml"  # half as long as the others
    whole = (EXAMPLES / "studies" / name).read_text(encoding="utf-8")
    text = whole
    uri = client.open(folder / name, text)
    before = client.told(uri, 1)
    assert before
    signs = ["{", "}", "]", ": ", "\n", "\r\n", "'", "- ", "é\U0001f6e9", "#", "8.4 V", "1..9", ""]
    for version in range(2, 1002):
        start = chance.randrange(len(text) + 1)
        while text[start - 1 : start + 1] == "\r\n":
            start -= 1
        end = min(len(text), start + chance.choice([0, 0, 1, 3]))
        while text[end - 1 : end + 1] == "\r\n":
            end += 1
        new = chance.choice(signs)
        ends = {"start": utf16(text, start), "end": utf16(text, end)}
        text = text[:start] + new + text[end:]
        client.change(uri, [{"range": ends, "text": new}], version)
        if version % 50 == 0:
            for method in ("hover", "completion", "definition"):
                client.at(uri, method, utf16(text, min(start, len(text))))
    client.change(uri, [{"range": {"start": utf16(text, 0), "end": utf16(text, len(text))},
                         "text": whole}], 1002)  # fmt: skip
    assert client.told(uri, 1002) == before
    symbols = client.request("textDocument/documentSymbol", {"textDocument": {"uri": uri}})
    assert symbols[0]["name"] == "holdshort"


def utf16(text: str, offset: int) -> Json:
    """Return the position of an offset: lines end at CR LF, CR or LF, columns in UTF-16 units."""
    lines = re.split(r"\r\n|\r|\n", text[:offset])
    return {"line": len(lines) - 1, "character": len(lines[-1].encode("utf-16-le")) // 2}
