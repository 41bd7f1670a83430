"""Loads what judging needs; the process that is forked for each worker imports this."""

import needlework.desk.marking
import needlework.flying.pilot
import needlework.flying.plan  # noqa: F401
from needlework.exercises.catalogue import ORDER, bank

for _key in ORDER:
    bank(_key)
