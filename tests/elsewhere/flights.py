"""Flights of simulators that share no code with the course: ``python tests/elsewhere/flights.py [--each] [--hold]``.

Each archive beside this file was written by somebody who had seen neither the debrief nor the flights of another:
recordings in the formats people have, and ``cases.json`` with what was flown wrong, what a careful pilot would tell
the debrief beside the recording (``told``), what a careless one (``plain``), and the examiner's verdict. All
of it is invented.

Printed is how far the debrief agrees; ``--each`` prints what was flown beside what was found, to be read.
``held.json`` names, for every flight whose verdict agrees, the rows that find something: the suite holds the debrief
to it. ``--hold`` writes it anew, after the difference was read.
"""

from __future__ import annotations

import argparse
import json
import sys
import tarfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from needlework.basis.errors import BadData
from needlework.course import flights
from needlework.debrief import Debrief
from needlework.world import aircraft, procedure

HERE = Path(__file__).resolve().parent
HELD = HERE / "held.json"
SETS = sorted(path.name.removesuffix(".tar.xz") for path in HERE.glob("*.tar.xz"))
WAYS = ("told", "plain")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser()
    flights.add_command(parser.add_subparsers())
    return parser


PARSER = _parser()


@dataclass(frozen=True)
class Case:
    """One recording and what is known of it."""

    path: Path
    said: dict[str, Any]

    @property
    def name(self) -> str:
        """Name without its ending."""
        return self.path.stem

    @property
    def truth(self) -> str:
        """What was flown wrong, in the words of who flew it."""
        return "; ".join(f"{fault['part']}: {fault['cause']}" for fault in self.said["faults"]) or "faultless"

    @property
    def deadly(self) -> bool:
        """Whether it could have killed."""
        return any(fault.get("deadly") for fault in self.said["faults"])

    def judged(self, way: str) -> list[Debrief]:
        """Debrief it as the command does, one report an approach. Raises BadData where it is refused."""
        options = PARSER.parse_args(["debrief", str(self.path), *self.said[way]])
        flown, craft = procedure.load(options.procedure), aircraft.load(options.aircraft)
        parts = flights.recorded(options, str(self.path), flown, craft)
        return [flights.judged(options, part, flown, craft) for part in parts]


@dataclass(frozen=True)
class Outcome:
    """What the debrief made of a recording."""

    verdict: str
    rows: tuple[str, ...]
    critical: bool
    text: str


def outcome(case: Case, way: str) -> Outcome:
    """Judge a case."""
    try:
        reports = case.judged(way)
    except BadData as refused:
        return Outcome("refused", (), False, str(refused))
    found = [finding for report in reports for finding in report.findings]
    return Outcome(
        " and ".join(report.verdict for report in reports),
        tuple(sorted({finding.row for finding in found})),
        any(finding.critical for finding in found),
        "\n".join(f"  {'!' if finding.critical else '-'} [{finding.row}] {finding.text}" for finding in found),
    )


def opened(name: str, folder: Path) -> Iterator[Case]:
    """Unpack a set into a folder, and give its cases."""
    with tarfile.open(HERE / f"{name}.tar.xz") as archive:
        archive.extractall(folder, filter="data")
    for said in json.loads((folder / "cases.json").read_text(encoding="utf-8")):
        yield Case(folder / said["file"], said)


def main(words: list[str]) -> int:
    """Judge all, and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", action="store_true", help="print what was flown beside what was found")
    parser.add_argument("--hold", action="store_true", help="write held.json anew")
    options = parser.parse_args(words)
    held: dict[str, dict[str, dict[str, list[str]]]] = {}
    for name in SETS:
        with TemporaryDirectory() as folder:
            cases = list(opened(name, Path(folder)))
            for way in WAYS:
                made = [(case, outcome(case, way)) for case in cases]
                agreed = [(case, one) for case, one in made if one.verdict == case.said["verdict"]]
                clean = [one for case, one in made if not case.said["faults"]]
                deadly = [one for case, one in made if case.deadly]
                held.setdefault(name, {})[way] = {case.name: list(one.rows) for case, one in agreed}
                flagged, silent = sum(bool(one.rows) for one in clean), sum(not one.critical for one in deadly)
                print(
                    f"{name}, {way}: verdict as the examiner's {len(agreed)} of {len(made)}; "
                    f"faultless with a finding {flagged} of {len(clean)}; "
                    f"could kill, and nothing critical {silent} of {len(deadly)}"
                )
                for case, one in made if options.each else ():
                    print(f"== {case.name}: {case.truth}\n   {case.said['verdict']} -> {one.verdict}\n{one.text}")
    if options.hold:
        HELD.write_text(json.dumps(held, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
