"""Fingerprints against SHA-256 as another program computes it.

Source: FIPS 180-4 (from memory) by the coreutils program `sha256sum`; canonical JSON written out
by hand below.
"""

import hashlib
import json
import shutil
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis.proof import fingerprint

PROOFS = [
    ({}, "{}"),
    (
        {"radio": {"sense roll": "longer"}, "channel 3": {"travel": "90 %", "drives": "elevator"}},
        '{"channel 3":{"drives":"elevator","travel":"90 %"},"radio":{"sense roll":"longer"}}',
    ),
    ({"surface \"é\"": {"a": "\\ \u202e"}}, '{"surface \\"\\u00e9\\"":{"a":"\\\\ \\u202e"}}'),
]  # fmt: skip


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs the program sha256sum")
@pytest.mark.parametrize(("proved", "canonical"), PROOFS)
def test_a_fingerprint_is_the_beginning_of_sha256_of_canonical_json(
    proved: dict[str, dict[str, str]], canonical: str
) -> None:
    done = subprocess.run(
        ["sha256sum"], input=canonical.encode("ascii"), capture_output=True, check=True
    )
    assert fingerprint(proved) == done.stdout.decode()[:16]


texts = st.text(max_size=6) | st.text(alphabet='ab"\\\n\x00\x7f\u2028Ω\U0001f600', max_size=6)


@given(st.dictionaries(texts, st.dictionaries(texts, texts, max_size=3), max_size=3))
def test_any_proof_is_written_as_the_standard_librarys_json(
    proved: dict[str, dict[str, str]],
) -> None:
    canonical = json.dumps(proved, sort_keys=True, separators=(",", ":"))
    digest = hashlib.sha256(canonical.encode("ascii")).hexdigest()
    assert fingerprint(proved) == digest[:16]


def test_the_known_answer_for_an_empty_proof() -> None:
    # SHA-256 of the two characters {} as published in many places (from memory).
    assert fingerprint({}) == "44136fa355b3678a"
