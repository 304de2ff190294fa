"""The evidence on an aircraft sheet: each test with what its sign-off is worth, and the record."""

from collections.abc import Iterator

from holdshort import __version__
from holdshort.analysis.proof import Judged
from holdshort.fixlist.record import says
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Pairs, Part, Words, listed_parts, table
from holdshort.fixlist.sign_text import standing_words
from holdshort.fixlist.text import file_argument, file_named, hold_point
from holdshort.rulebook import Hold

_HEADS = ("test", "what its sign-off is worth", "on", "by", "figures", "before", "fingerprint")


def evidence_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return each test that is asked of the aircraft, in the order of the work, with its sign-off.

    A file that signs for nothing yet has no such section: its tests are not told as failed.
    """
    if "sign-offs" not in facts.setup.sections:
        return ()
    evidence = facts.aircraft.evidence
    words = Words(
        "A sign-off says that somebody did a test and what was set then. It counts while the file "
        "still says the same."
    )
    rows = [tuple(_row(judged)) for judged in evidence.standings]
    left_out = [f"{name}: {why}" for name, why in evidence.left_out.items()]
    unknown = sorted({one.sign_off.test for one in evidence.unknown})
    return (
        words,
        table("Tests, in the order in which they are done", _HEADS, rows, "<<<<<<<"),
        *listed_parts("Not asked of this aircraft", left_out),
        *listed_parts("Signed for, and no test that is known", unknown),
    )


def _row(judged: Judged) -> Iterator[Cell | str]:
    test, sign_off = judged.test, judged.signed.sign_off if judged.signed else None
    yield test.name
    words = standing_words(judged).replace("`", "")  # cells are set as they are
    yield Cell(words) if judged.standing.counts else Cell(words, "outside")
    if sign_off is None:
        yield from ("", "", "")
    else:
        yield sign_off.on
        yield f"{sign_off.by} and {sign_off.second}" if sign_off.second else sign_off.by
        yield ", ".join(f"{name} {value}" for name, value in (sign_off.figures or {}).items())
    yield hold_point(next(hold for hold in Hold if hold.word == test.before))
    yield (sign_off.fingerprint or "") if sign_off else ""


def record_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what a release record of this aircraft begins with, and how one is made and checked.

    The fingerprints themselves stand in the record alone: a sheet reads no file.
    """
    report = facts.report
    file = file_argument(file_named(report.file))
    pairs = (
        ("Judged as of", facts.made.isoformat()),
        ("Tool", f"holdshort {__version__}"),
        ("Rule packs", ", ".join(pack.name for pack in facts.settings.packs) or "none"),
        ("Codes followed", ", ".join(facts.setup.follows) or "none"),
    )
    return (
        Words(says(report, facts.aircraft.evidence.standings)),
        Pairs(pairs),
        Words(
            f"`holdshort record {file} -o record.json` writes the fingerprints of the files, the "
            "rule packs and the proofs beside it; `holdshort verify record.json` tells whether "
            "anything has changed since. A fingerprint is no signature.",
            quiet=True,
        ),
    )
