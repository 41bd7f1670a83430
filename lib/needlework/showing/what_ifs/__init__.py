"""Every what-if of the course: sliders bound to the library's functions and to pictures that answer at once.

A what-if is a chain of three plain steps. Its knobs are a frozen dataclass, one field a slider. ``scene`` turns them
into another: what the needles, the DME, the path and the clock say at that moment, as values. From the scene come the
faces with their sentence, and the still twin for print and for a notebook opened without a kernel; the still is out
of sight as long as the live picture is there. Moving a slider runs the chain again; the browser draws.
"""

from needlework.showing.what_ifs.arcs import arc
from needlework.showing.what_ifs.descending import descent
from needlework.showing.what_ifs.going_around import missed
from needlework.showing.what_ifs.intercepting import intercept
from needlework.showing.what_ifs.passage import station_passage
from needlework.showing.what_ifs.whatif import WhatIf

__all__ = ["WhatIf", "arc", "descent", "intercept", "missed", "station_passage"]
