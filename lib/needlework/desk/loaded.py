"""Loads what judging needs; the process that is forked for each worker imports this."""

import gc

import needlework.desk.marking
import needlework.exercises.goals.common
import needlework.exercises.lesson_values
import needlework.exercises.making
import needlework.flying.pilot
import needlework.flying.plan
import needlework.world.aircraft
import needlework.world.procedure  # noqa: F401

# A worker's collector would write to every object here, and so copy all the memory that workers share.
gc.collect()
gc.freeze()
