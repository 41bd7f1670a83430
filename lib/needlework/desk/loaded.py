"""Loads what judging needs; the process that is forked for each worker imports this."""

import needlework.desk.marking
import needlework.flying.pilot
import needlework.flying.plan
import needlework.world.aircraft  # noqa: F401
