"""How long a recording takes to be read and judged, and how much memory: ``python tests/benchmarks/debrief.py FILE``.

Prints seconds of processor time for reading and for judging against Saltmarsh, and the peak memory of the process
in MB. A six-hour file of a sample a second is meant to take less than 2 s and 150 MB.
"""

import resource
import sys
import time

from needlework.basis.errors import BadData
from needlework.debrief import debrief
from needlework.flying import tracklog
from needlework.world import procedure


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
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"samples {len(track)}, reading {read - begun:.2f} s, judging {done - read:.2f} s, memory in MB {peak:.0f}")


if __name__ == "__main__":
    main(sys.argv[1])
