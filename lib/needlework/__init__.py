"""Needlework: arithmetic, pictures and practice for flying VOR/DME approaches on raw data.

Training aid with invented data. Not for navigation. Import the module you need, for
example ``from needlework.trade import wind``; nothing heavy is imported here.
"""

import importlib
from types import ModuleType

__version__ = "0.1.0"

_IN_NOTEBOOKS = {
    "pictures": "needlework.showing.pictures",
    "sliders": "needlework.showing.what_ifs",
    "procedure": "needlework.world.procedure",
    "plate": "needlework.showing.plate",
    "listening": "needlework.showing.listening",
    "holding": "needlework.course.earlier_copies",
}


def __getattr__(name: str) -> ModuleType:
    """Find the modules that a lesson's cells import, wherever they live; learners keep their copies for years."""
    if name in _IN_NOTEBOOKS:
        return importlib.import_module(_IN_NOTEBOOKS[name])
    raise AttributeError(f"module 'needlework' has no attribute '{name}'")
