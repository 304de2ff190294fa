"""The mass above which a single point of failure counts as a warning is the owner's to set."""

import json

import pytest

from holdshort.analysis import Aircraft
from holdshort.api import Finding, Severity
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort_rules import pack

RULE = next(rule for rule in pack.rules if rule.id == "single-failure-loses-control")
OPTION = next(option for option in RULE.options if option.name == "mass")

TREE = {
    "holdshort": 1,
    "aircraft": {"name": "Test", "propulsion": "piston", "mass": {"ready": "8 kg"}},
    "parts": {
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
        "rx": {"kind": "receiver", "ports": {"1": "servo", "supply": "supply"}},
        "servo": {"kind": "servo"},
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, "elevator": {"part": "servo"}},
    "leads": [{"from": "pack", "to": "rx.supply"}, {"from": "rx.1", "to": "elevator"}],
    "radio": {"channels": {"1": {"drives": "elevator"}}},
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


@pytest.mark.parametrize(
    ("limit", "severities"),
    [
        ("15 kg", {Severity.NOTE}),
        ("8 kg", {Severity.NOTE}),
        ("7.9 kg", {None}),
    ],
)
def test_the_owner_sets_the_mass(limit: str, severities: set[Severity | None]) -> None:
    loaded = load(read_document(json.dumps(TREE).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    own = {(RULE.id, OPTION.name): OPTION.kind.read(limit)}
    found = [one for one in RULE.check(Aircraft(loaded.setup, own)) if isinstance(one, Finding)]
    assert {finding.severity for finding in found} == severities
    assert RULE.severity is Severity.WARNING
