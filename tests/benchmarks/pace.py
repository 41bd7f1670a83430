"""What each lesson asks, counted, and the minutes that makes at the stated paces.

Run it as ``python tests/benchmarks/pace.py [LESSON ...]``. For each sitting: the minutes it claims, words read,
choices, values, lines of plans, cards, texts, rules, what-ifs and plates, minutes flown, and the estimate for a
learner.
For each lesson the way of a rated pilot from "Already sure?" through the task, with its estimate.
"""

from __future__ import annotations

import sys

from needlework.building import checking, pace
from needlework.exercises.catalogue import FOLDER, ORDER

NAMES = "words choices values lines cards texts rules what-ifs flown"


def row(head: str, asked: pace.Asked, minutes: float) -> str:
    counts = [asked.words, asked.choices, asked.values, asked.lines, asked.cards, asked.texts]
    counts += [asked.rules, asked.what_ifs]
    return f"{head:<42}" + "".join(f"{each:>9}" for each in counts) + f"{asked.flown_min:>9.1f}{minutes:>9.1f}"


def main() -> None:
    print(f"learner {pace.LEARNER}\nrated   {pace.RATED}\n")
    print(f"{'':<42}" + "".join(f"{each:>9}" for each in [*NAMES.split(), "minutes"]))
    for key in sys.argv[1:] or ORDER:
        lesson, _ = checking.read(FOLDER / key.replace("-", "_"))
        for number, (claimed, asked) in enumerate(zip(lesson.sittings, pace.sittings(lesson), strict=True), 1):
            print(row(f"{key} {number}, claims {claimed}", asked, asked.minutes(pace.LEARNER)))
        asked = pace.proof(lesson)
        print(row(f"{key}: already sure, the task", asked, asked.minutes(pace.RATED)))


if __name__ == "__main__":
    main()
