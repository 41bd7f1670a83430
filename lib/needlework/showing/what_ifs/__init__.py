"""Every what-if of the course: sliders bound to the library's functions and to pictures that answer at once.

A what-if is a function of its sliders that returns what the faces show. Moving a slider calls it again; the
browser draws. Under the live picture stands its still twin, for print and for a notebook opened without a
kernel; it is out of sight as long as the live one is there.
"""

from needlework.showing.what_ifs.arcs import arc
from needlework.showing.what_ifs.descending import descent
from needlework.showing.what_ifs.going_around import missed
from needlework.showing.what_ifs.intercepting import intercept
from needlework.showing.what_ifs.passage import station_passage
from needlework.showing.what_ifs.scene import Knob, Scene, WhatIf

__all__ = ["Knob", "Scene", "WhatIf", "arc", "descent", "intercept", "missed", "station_passage"]
