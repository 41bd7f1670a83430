"""The live panel: a flight flown by hand, on needles, flags, DME, heading and clock alone.

Each room knows only those before it: ``controls`` and ``keys`` are the buttons and what stands for them, ``hands``
what is not held for the pilot, ``cockpit`` the state being flown, ``task`` what is to be flown, ``pages`` what is
said afterwards, ``shown`` what is seen of a cockpit, ``widget`` the panel that flies it, ``exercise`` the door
through which a lesson asks for one.
"""

from needlework.showing.panel.controls import CONTROLS
from needlework.showing.panel.exercise import fly
from needlework.showing.panel.task import Task
from needlework.showing.panel.widget import Panel

__all__ = ["CONTROLS", "Panel", "Task", "fly"]
