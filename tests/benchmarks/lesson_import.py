"""How long a kernel takes to load one lesson, against loading everything: prints seconds and ratios.

Run it as ``python tests/benchmarks/lesson_import.py``. Every time is taken in a fresh interpreter that has numpy
loaded already: one lesson's questions through the catalogue, without flying; all lessons and what builds them; the
same with every lesson read from its file, checked and tried out. They take turns, so that a busy machine slows all.
The least of each is printed beside the median.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys

from needlework.exercises.catalogue import ORDER

REPEATS = int(os.environ.get("NEEDLEWORK_REPEATS", "9"))

TIMED = """
import time
import numpy
begin = time.perf_counter()
{work}
print(time.perf_counter() - begin)
"""
ONE = "from needlework.exercises import catalogue; catalogue.bank({key!r})"
ALL = """
from needlework.building import lessons
from needlework.exercises import catalogue
for key in catalogue.ORDER:
    catalogue.bank(key)
"""
READ = ALL.rstrip() + "\n    lessons.checking.read(catalogue.folder_of(key))\n"


def seconds(work: str) -> float:
    """Run one fresh interpreter."""
    done = subprocess.run([sys.executable, "-c", TIMED.format(work=work)], capture_output=True, text=True, check=True)
    return float(done.stdout)


def main() -> None:
    """Time every lesson and everything, in turn."""
    times: dict[str, list[float]] = {key: [] for key in (*ORDER, "everything", "everything, and read")}
    for _ in range(REPEATS):
        for key in ORDER:
            times[key].append(seconds(ONE.format(key=key)))
        times["everything"].append(seconds(ALL))
        times["everything, and read"].append(seconds(READ))
    whole = statistics.median(times["everything"])
    print(f"{'':24} median   least   part of everything   ({REPEATS} fresh interpreters each)")
    for name, found in times.items():
        median = statistics.median(found)
        print(f"{name:24} {median:6.3f} s {min(found):6.3f} s {median / whole:8.0%}")


if __name__ == "__main__":
    main()
