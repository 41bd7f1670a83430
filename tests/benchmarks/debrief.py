"""How long a recording takes to be read and judged, and how much memory: ``python tests/benchmarks/debrief.py FILE``.

Prints seconds of processor time for reading and for judging against Saltmarsh, and the peak memory of the process
in MB. A six-hour file of a sample a second is meant to take less than 2 s and 150 MB.
"""

import re
import resource
import sys
import time
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.debrief import debrief
from needlework.flying import tracklog
from needlework.world import procedure


def peak_mb():
    """Peak memory of this program; on Linux getrusage begins with that of the program that started it."""
    status = Path("/proc/self/status")
    if status.exists():
        return int(re.search(r"VmHWM:\s+(\d+) kB", status.read_text())[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main(path):
    """Read, judge, print."""
    way = procedure.load("saltmarsh")
    begun = time.process_time()
    track = tracklog.read(path)
    read = time.process_time()
    try:
        debrief(track, way)
    except BadData as refused:
        print(f"refused: {refused}")
    done = time.process_time()
    times = f"reading {read - begun:.2f} s, judging {done - read:.2f} s"
    print(f"samples {len(track)}, {times}, memory in MB {peak_mb():.0f}")


if __name__ == "__main__":
    main(sys.argv[1])
