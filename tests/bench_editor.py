"""Time what an editor waits for: judging after an edit, completion, hover, a fix.

Run by hand: ``python tests/bench_editor.py``. Everything happens in one warm process, as it does in
the server, with its settings of the garbage collector; the pause that the server leaves after the
last letter is not counted. Times are those of the processor, so that a busy machine changes little.
"""

import gc
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from lsprotocol.types import Position, Range, TextDocumentContentChangePartial

from holdshort.editor.completing import complete
from holdshort.editor.hovering import hover
from holdshort.editor.mending import mends
from holdshort.editor.positions import Point
from holdshort.editor.session import Session
from holdshort.editor.texts import Texts
from holdshort.rulebook import load_rulebook

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
ROUNDS = 60


def timed(work: Callable[[int], object]) -> str:
    """Return the median and the worst of many rounds, the first few left out."""
    took: list[float] = []
    for round_ in range(ROUNDS):
        started = time.process_time()
        work(round_)
        took.append(time.process_time() - started)
    warm = sorted(took[5:])
    return f"median {statistics.median(warm) * 1e3:7.2f} ms   worst {warm[-1] * 1e3:7.2f} ms"


class Bench:
    """One open aircraft, edited again and again."""

    def __init__(self, path: Path) -> None:
        self.uri = path.as_uri()
        self.session = Session(Texts(), load_rulebook())
        self.session.open(self.uri, path.read_text(encoding="utf-8"), 0)
        self.session.judge_next()
        lines = path.read_text(encoding="utf-8").split("\n")
        self.size = len(lines)
        self.line, self.column = next(
            (number, line.index("30 %") + 1) for number, line in enumerate(lines) if "30 %" in line
        )

    def edit(self, round_: int) -> None:
        """Type one figure over another, as a client tells it, and judge the text."""
        place = Range(Position(self.line, self.column), Position(self.line, self.column + 1))
        change = TextDocumentContentChangePartial(place, str(round_ % 9))
        self.session.change(self.uri, [change], round_ + 1)
        assert self.session.judge_next()

    def complete(self, _: int) -> None:
        """Ask what may stand where a part is named."""
        buffer = self.session.texts.find(self.uri)
        assert buffer is not None
        lines = buffer.lines
        number = next(n for n, line in enumerate(lines.lines) if "{part: " in line)
        column = lines.lines[number].index("{part: ") + 8
        last = self.session.last_good(self.uri)
        assert complete(lines, Point(number + 1, column), last, self.session.rulebook)

    def hover(self, round_: int) -> None:
        """Point at a device of a text that has just changed: everything is computed anew."""
        self.edit(round_)
        judged = self.session.judged(self.uri)
        assert judged is not None
        row = judged.text.split("\n").index("devices:")
        hover(judged, Point(row + 3, 4))

    def mend(self, _: int) -> None:
        """Ask for all fixes of the file, each proved by judging what it makes."""
        judged = self.session.judged(self.uri)
        buffer = self.session.texts.find(self.uri)
        assert judged is not None
        assert judged.report is not None
        assert buffer is not None
        mends(judged, list(judged.report.findings), self.session.bench, buffer.lines)


def main() -> None:
    """Print the times."""
    gc.set_threshold(100_000, 20, 20)
    for name in ("tarn-swift.yaml", "faults/gyro-mounting-mismatch.yaml"):
        bench = Bench(EXAMPLES / name)
        gc.freeze()
        print(f"{name}, {bench.size} lines, warm, {ROUNDS} rounds")
        print(f"  judge after an edit     {timed(bench.edit)}")
        print(f"  complete                {timed(bench.complete)}")
        print(f"  edit, judge and hover   {timed(bench.hover)}")
        print(f"  all fixes               {timed(bench.mend)}")


if __name__ == "__main__":
    main()
