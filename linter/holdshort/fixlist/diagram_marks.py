"""Which findings and open questions stand at which device or lead of a wiring diagram."""

from collections.abc import Iterable, Iterator
from typing import Final, Literal, NamedTuple

from holdshort.document import show_path
from holdshort.fixlist.diagram_drawing import Mark
from holdshort.fixlist.report import FileReport, PlacedFinding, Spot
from holdshort.setup import Place, Setup

NOT_CHECKED: Final = "not checked"
QUESTION: Final = "?"


class Target(NamedTuple):
    """A device by its name, or a lead by its place in the list of leads."""

    kind: Literal["device", "lead"]
    device: str | int


class MarkTargets:
    """Finds what in a wiring diagram a place in the files is about."""

    def __init__(self, setup: Setup) -> None:
        """Hold the places of the devices, leads, parts, failsafes and surfaces of ``setup``."""
        self._targets: dict[tuple[str, str], dict[Target, None]] = {}
        for device in setup.devices.values():
            target = Target("device", device.name)
            self._add(device.place, target)
            for place in (device.part_root, *device.origins.values()):
                self._add(place, target)
            self._add(setup.place("failsafe", device.name), target)
        for cable in setup.cables:
            self._add(cable.place, Target("lead", cable.index))
        for name, surface in setup.surfaces.items():
            for servo in surface.servo:
                if servo in setup.devices:
                    self._add(setup.place("surfaces", name), Target("device", servo))

    def _add(self, place: Place, target: Target) -> None:
        key = (place.file, show_path(place.path))
        self._targets.setdefault(key, {})[target] = None

    def at(self, spot: Spot) -> tuple[Target, ...]:
        """Return the devices or leads that ``spot`` is about; several for a part, often none."""
        for path in _outward(spot.path):
            found = self._targets.get((spot.file, path))
            if found:
                return tuple(found)
        return ()

    def of(self, finding: PlacedFinding) -> tuple[Target, ...]:
        """Return what a finding is about: by its place, or by the first reason that tells."""
        for spot in (finding.at, *(reason.at for reason in finding.because)):
            found = self.at(spot)
            if found:
                return found
        return ()


def _outward(path: str) -> Iterator[str]:
    """Yield a path in words and the paths it lies under, innermost first."""
    yield path
    for at in range(len(path) - 1, 0, -1):
        if path[at] in ".[":
            yield path[:at]


def marks_of(setup: Setup, report: FileReport, *, questions: bool = False) -> tuple[Mark, ...]:
    """Return a mark for each finding of ``report`` at each device or lead it is about.

    They are numbered from 1 in the order of the fix list, and lead to ``finding-1`` and so on; one
    that is about neither a device nor a lead has none. With ``questions``, each device and lead
    also has one mark for all that was not checked there, which leads to ``not-checked``.
    """
    targets = MarkTargets(setup)
    marks = [
        Mark(*target, found.severity.word, str(number), f"finding-{number}", found.title)
        for number, found in enumerate(report.findings, 1)
        for target in targets.of(found)
    ]
    return (*marks, *_open_questions(targets, report)) if questions else tuple(marks)


def _open_questions(targets: MarkTargets, report: FileReport) -> Iterable[Mark]:
    needs: dict[Target, dict[str, None]] = {}
    for question in report.not_checked:
        for target in targets.at(question.at):
            needs.setdefault(target, {})[question.needs] = None
    for target, texts in needs.items():
        title = f"needs {'; needs '.join(texts)}"
        yield Mark(*target, NOT_CHECKED, QUESTION, "not-checked", title)
