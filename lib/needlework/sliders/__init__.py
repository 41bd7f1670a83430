"""Every what-if of the course: sliders bound to the library's functions and to pictures that answer at once.

A what-if is a function of its sliders that returns what the faces show. Moving a slider calls it again; the
browser draws. Under the live picture stands its still twin, for print and for a notebook opened without a
kernel; it is out of sight as long as the live one is there.
"""

from needlework.sliders.arcs import arc
from needlework.sliders.base import Knob, Scene, WhatIf
from needlework.sliders.descending import descent
from needlework.sliders.going_around import missed
from needlework.sliders.intercepting import intercept
from needlework.sliders.passage import station_passage

__all__ = ["Knob", "Scene", "WhatIf", "arc", "descent", "intercept", "missed", "station_passage"]
