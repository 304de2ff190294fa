"""``holdshort lint --output``, ``--only-ours``, and the formats for CI from the shell."""

import json
import os
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import yaml

from holdshort.fixlist.formats import FORMATS

ROOT = Path(__file__).resolve().parents[2]
GOOD = """holdshort: 1
aircraft:
  name: Wren
  mass: {ready: 7 kg}
"""
HEAVY = GOOD.replace("7 kg", "26 kg").replace("Wren", "Condor")
TIME = re.compile(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}")
HOSTILE = '"<script>\\n::error::%0A' + "x" * 1900 + '"'


@pytest.fixture
def condor(here: Path) -> Path:
    path = here / "condor.yaml"
    path.write_text(HEAVY, encoding="utf-8")
    return path


def results(file: Path) -> Any:
    return json.loads(file.read_text(encoding="utf-8"))["runs"][0]["results"]


@pytest.mark.parametrize("form", FORMATS)
def test_every_format_is_printed_and_written_alike(
    run: Any, condor: Path, here: Path, form: str
) -> None:
    printed = run("lint", "--format", form, "condor.yaml")
    assert (printed.code, printed.err) == (1, "")
    written = run("lint", f"--output={form}=out{FORMATS[form].ending}", "condor.yaml")
    assert (written.code, written.err) == (1, "")
    assert written.out.startswith("Fix list for Condor")
    text = (here / f"out{FORMATS[form].ending}").read_text(encoding="utf-8")
    assert "It weighs 26 kg." in text
    assert TIME.sub("", text) == TIME.sub("", printed.out)


def test_several_files_in_one_run(run: Any, condor: Path, here: Path) -> None:
    result = run(
        "lint", "condor.yaml", "--format", "annotations",
        "--output", "sarif=a.sarif", "--output", "junit=b.xml", "--output", "text=c.txt",
    )  # fmt: skip
    assert (result.code, result.err) == (1, "")
    assert result.out.startswith("::error file=condor.yaml,line=4,endLine=4,col=10,")
    assert [one["ruleId"] for one in results(here / "a.sarif")] == ["aircraft-too-heavy"]
    suite = ET.parse(here / "b.xml").getroot()[0]  # noqa: S314  - our own
    assert suite.get("failures") == "1"
    # Two rules of the pack fit this aircraft, one of which found something; and the form is clean.
    passed = [case.get("name") for case in suite.findall("testcase") if not len(case)]
    assert passed == ["form of the file", "name-that-hurts"]
    assert (here / "c.txt").read_text(encoding="utf-8").startswith("Fix list for Condor\n")
    assert sorted(path.name for path in here.iterdir()) == [
        "a.sarif", "b.xml", "c.txt", "condor.yaml",
    ]  # fmt: skip


def test_an_older_file_is_replaced(run: Any, condor: Path, here: Path) -> None:
    for _ in range(2):
        assert run("lint", "condor.yaml", "--output", "json=out.json").code == 1
    condor.write_text(GOOD, encoding="utf-8")
    assert run("lint", "condor.yaml", "--output", "json=out.json").code == 0
    assert json.loads((here / "out.json").read_text())["tally"]["held"]["flight"]["warning"] == 0


def test_rules_of_the_pack_are_described(run: Any, condor: Path) -> None:
    driver = json.loads(run("lint", "--format=sarif", condor).out)["runs"][0]["tool"]["driver"]
    assert [rule["id"] for rule in driver["rules"]] == [
        "aircraft-too-heavy", "battery-without-resistance", "name-that-hurts",
    ]  # fmt: skip
    assert "Why **mass** matters." in driver["rules"][0]["help"]["markdown"]
    # The page of this one is no text.
    assert driver["rules"][2]["help"] == {"text": "A rule that fails at a certain name"}


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("sarif", "`--output` takes a format and a file"),
        ("sarif=", "`--output` takes a format and a file"),
        ("pdf=a.pdf", "`pdf` is none of text, json, sarif"),
        ("sarif=-", "`--format sarif` prints it"),
        ("sarif=folder", "is not a file that can be replaced"),
        ("sarif=new/", "names a folder, not a file"),
        ("text=club-rules.yaml", "is a file of rules"),
        ("text=broken-rules.yaml", "is a file of rules"),
        ("json=condor.yaml", "is a setup file"),
        ("json=./condor.yaml", "is a setup file"),
        ("json=link.json", "is a setup file"),
        ("json=shelf.yaml", "is a setup file, a file of parts"),
        ("json=hangar.yaml", "or a hangar file"),
        ("json=no-document.yaml", "is a setup file"),
        ("text=read.yaml", "is read by this run"),
    ],
)
def test_what_may_not_be_written_is_said_before_anything_is_judged(
    run: Any, condor: Path, here: Path, asked: str, says: str
) -> None:
    (here / "folder").mkdir()
    (here / "link.json").symlink_to(condor)
    (here / "shelf.yaml").write_text("holdshort-parts: 1\nparts: {}\n", encoding="utf-8")
    (here / "hangar.yaml").write_text("holdshort-hangar: 1\n", encoding="utf-8")
    (here / "no-document.yaml").write_text("holdshort: [1\n", encoding="utf-8")
    (here / "read.yaml").write_text("a: 1\n", encoding="utf-8")
    (here / "club-rules.yaml").write_text("holdshort-rules: 1\nrules: []\n", encoding="utf-8")
    (here / "broken-rules.yaml").write_text("# ours\nholdshort-rules : [1\n", encoding="utf-8")
    before = {path: path.read_bytes() for path in here.iterdir() if path.is_file()}
    result = run(
        "lint", "condor.yaml", "read.yaml", "--output", "sarif=good.sarif", "--output", asked
    )
    assert (result.code, result.out) == (2, "")
    assert says in result.err
    assert {path: path.read_bytes() for path in here.iterdir() if path.is_file()} == before


def test_one_file_for_two_outputs_is_refused(run: Any, condor: Path, here: Path) -> None:
    result = run("lint", condor, "--output", "json=a", "--output", "sarif=./a")
    assert (result.code, result.out) == (2, "")
    assert "a is named by two outputs." in result.err
    assert not (here / "a").exists()


def test_one_file_by_two_names_is_refused(run: Any, condor: Path, here: Path) -> None:
    (here / "b").symlink_to("a")
    result = run("lint", condor, "--output", "json=a", "--output", "sarif=b")
    assert (result.code, result.out) == (2, "")
    assert "b is named by two outputs." in result.err
    assert not (here / "a").exists()


def test_what_cannot_be_written_is_said_and_the_rest_is_done(
    run: Any, condor: Path, here: Path
) -> None:
    condor.write_text(GOOD, encoding="utf-8")
    result = run("lint", condor, "--output", "json=nowhere/a.json", "--output", "sarif=b.sarif")
    assert result.code == 2
    assert "nowhere/a.json could not be written: No such file or directory." in result.err
    assert result.out.startswith("Fix list for Wren")
    assert results(here / "b.sarif") == []


def test_an_output_below_a_folder_that_is_judged_is_not_judged(run: Any, here: Path) -> None:
    (here / "hangar").mkdir()
    (here / "hangar/condor.yaml").write_text(HEAVY, encoding="utf-8")
    command = ("lint", "hangar", "--output", "json=hangar/fix-list.yaml")
    for _ in range(2):
        assert run(*command).code == 1
        data = json.loads((here / "hangar/fix-list.yaml").read_text(encoding="utf-8"))
        assert [file["file"] for file in data["files"]] == ["hangar/condor.yaml"]


def test_a_hostile_name_stays_a_name(run: Any, here: Path) -> None:
    text = HEAVY.replace("Condor", HOSTILE)
    (here / "x.yaml").write_text(text, encoding="utf-8")
    command = [f"--output={form}={form}.out" for form in FORMATS]
    assert run("lint", "x.yaml", *command).code == 1
    suite = ET.parse(here / "junit.out").getroot()[0]  # noqa: S314  - our own
    values = {one.get("name"): one.get("value", "") for one in suite.iter("property")}
    assert values["aircraft"].startswith("<script>\\n::error::%0Axxx")
    assert len(values["aircraft"]) == 1000
    (result,) = results(here / "sarif.out")
    assert result["properties"]["aircraft"].startswith("<script>\\n::error::%0A")
    told = (here / "annotations.out").read_text(encoding="utf-8").splitlines()
    assert [line.startswith("::error file=x.yaml,") for line in told] == [True, False, False]


def test_mistakes_and_failed_rules_reach_every_format(run: Any, here: Path) -> None:
    text = HEAVY.replace("Condor", "hurt") + "devices: {main: {part: nix}}\n"
    (here / "x.yaml").write_text(text, encoding="utf-8")
    command = [f"--output={form}={form}.out" for form in FORMATS]
    assert run("lint", "x.yaml", *command).code == 2
    for form in FORMATS:
        written = (here / f"{form}.out").read_text(encoding="utf-8")
        assert "nix" in written
        assert "name-that-hurts" in written
    log = json.loads((here / "sarif.out").read_text(encoding="utf-8"))
    assert not log["runs"][0]["invocations"][0]["executionSuccessful"]


def test_only_ours_passes_other_files_by(run: Any, condor: Path, here: Path) -> None:
    (here / "ci.yaml").write_text("jobs: [a, b]\n", encoding="utf-8")
    (here / "broken.yaml").write_text("a: [\n", encoding="utf-8")
    assert run("lint", "ci.yaml").code == 2
    result = run("lint", "--only-ours", "ci.yaml", "condor.yaml", "broken.yaml")
    assert (result.code, result.err) == (1, "")
    assert result.out.count("Fix list for") == 1
    alone = run("lint", "--only-ours", "ci.yaml", "broken.yaml")
    assert (alone.code, alone.out) == (0, "")
    assert "None of the files named is one of ours: nothing was judged." in alone.err


def test_only_ours_still_tells_what_is_not_there_and_what_is_broken(run: Any, here: Path) -> None:
    (here / "broken.yaml").write_text("holdshort: 1\naircraft: [\n", encoding="utf-8")
    assert run("lint", "--only-ours", "nix.yaml").code == 2
    assert run("lint", "--only-ours", "broken.yaml").code == 2
    assert run("lint", "--only-ours", "-", stdin=HEAVY.encode()).code == 1
    assert run("lint", "--only-ours", ".").code == 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_only_ours_opens_no_pipe(run: Any, here: Path) -> None:
    os.mkfifo(here / "pipe.yaml")
    result = run("lint", "--only-ours", "pipe.yaml")
    assert result.code == 2
    assert "is neither a file nor a folder" in result.out


def test_the_hooks_call_what_there_is(run: Any, condor: Path, here: Path) -> None:
    hooks: Any = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert [hook["id"] for hook in hooks] == ["holdshort", "holdshort-all"]
    (here / "ci.yaml").write_text("jobs: [a, b]\n", encoding="utf-8")
    for hook in hooks:
        program, *words = hook["entry"].split()
        given = hook.get("args", [])
        files = ["condor.yaml", "ci.yaml"] if hook.get("pass_filenames", True) else []
        assert program == "holdshort"
        result = run(*words, *given, *files)
        assert (result.code, result.err) == (1, "")
        assert "It weighs 26 kg." in result.out
