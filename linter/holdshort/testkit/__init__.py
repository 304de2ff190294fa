"""The test kit for rule packs: run the cases that prove each rule, and sweep the pack.

A case file is ``<rule id>.yaml`` in the pack's folder of cases::

    rule: regulator-above-servo-rating
    base: {...}               # a small aircraft, or the name of one in the folder `bases`
    cases:
      - name: regulator set above what a servo takes
        change: {devices: {regulator: {output: 8.4 V}}}     # JSON Merge Patch, RFC 7396
        finds:
          - {at: devices.regulator.output, says: [8.4 V, 7.4 V]}
      - name: regulator set to what the servos take
        passes: true
      - name: the servo's rating is not known
        change: {parts: {servo: {voltage: null}}}
        cannot-judge:
          - {needs: rated to}
      - name: no servo at all
        change: {devices: {servo: null}}
        nothing-to-judge: true

``finds`` lists every finding of the rule, in the order of the fix list. One may say what its fix
changes, such as ``fixes: {devices.regulator.output: 7.4 V}``, null for what it removes and ``{}``
for no fix at all. ``limits`` sets options of the rule for one case. A rule that can always judge
says ``always-judges: true`` instead of giving a ``cannot-judge`` case.

``holdshort rules test`` runs all of this; :mod:`holdshort.pytest_plugin` hands it to pytest.
"""

from holdshort.testkit.case_files import (
    Case,
    CaseError,
    CaseFile,
    Cases,
    ExpectedFinding,
    ExpectedGap,
    read_case_file,
    read_cases,
)
from holdshort.testkit.flaws import Flaw
from holdshort.testkit.homes import pack_of_cases
from holdshort.testkit.running import CaseResult, merge_patch, run_case, run_cases
from holdshort.testkit.scaffold import TO_WRITE
from holdshort.testkit.sweeping import coverage_problems, sweep
from holdshort.testkit.trial import Trial, try_pack

__all__ = [
    "TO_WRITE",
    "Case",
    "CaseError",
    "CaseFile",
    "CaseResult",
    "Cases",
    "ExpectedFinding",
    "ExpectedGap",
    "Flaw",
    "Trial",
    "coverage_problems",
    "merge_patch",
    "pack_of_cases",
    "read_case_file",
    "read_cases",
    "run_case",
    "run_cases",
    "sweep",
    "try_pack",
]
