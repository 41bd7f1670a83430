"""The instructor's desk: a folder of its own, and what can be done with it.

Each step has a room of its own: handing out (``given``), collecting (``taken``, ``versions``), marking (``marked``),
marks (``marks``), the class (``of_the_class``) and handing back (``handed_back``), on the folder (``place``).
"""

from needlework.desk.homework.given import Given
from needlework.desk.homework.handed_back import HandedBack
from needlework.desk.homework.marked import Marked
from needlework.desk.homework.of_the_class import OfTheClass
from needlework.desk.homework.place import default_desk, settings_for
from needlework.desk.homework.taken import Taken

__all__ = ["Desk", "default_desk", "settings_for"]


class Desk(Given, Taken, Marked, OfTheClass, HandedBack):
    """One desk: ``source``, ``release``, ``submitted``, ``autograded``, ``feedback``, a gradebook, and the results.

    It is made as :class:`~needlework.desk.homework.place.Place` is.
    """
