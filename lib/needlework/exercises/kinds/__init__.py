"""Kinds of questions: what each asks, what passes, which mistakes it knows; plain functions over plain data."""

from needlework.exercises.kinds.asked import Givens, Question, Slip
from needlework.exercises.kinds.number import DIGITS, Number, digits_exchanged
from needlework.exercises.kinds.picked import Choice, Order, Text
from needlework.exercises.kinds.table import Table, labelled

__all__ = [
    "DIGITS",
    "Choice",
    "Givens",
    "Number",
    "Order",
    "Question",
    "Slip",
    "Table",
    "Text",
    "digits_exchanged",
    "labelled",
]
