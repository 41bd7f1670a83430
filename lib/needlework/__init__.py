"""Needlework: arithmetic, pictures and practice for flying VOR/DME approaches on raw data.

Training aid with invented data. Not for navigation. Import the module you need, for
example ``from needlework import wind``; nothing heavy is imported here.
"""

__version__ = "0.1.0"
