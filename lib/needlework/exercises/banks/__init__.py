"""The questions of the course, one module a lesson, and the lessons in their order."""

from __future__ import annotations

from needlework.exercises.banks import (
    descent_to_minimums,
    flying_an_arc,
    intercepting_a_radial,
    missed_approach,
    station_passage,
)
from needlework.exercises.kinds import Question
from needlework.exercises.lesson import Lesson

LESSONS: dict[str, Lesson] = {
    lesson.key: lesson
    for lesson in (
        station_passage.LESSON,
        intercepting_a_radial.LESSON,
        flying_an_arc.LESSON,
        descent_to_minimums.LESSON,
        missed_approach.LESSON,
    )
}
"""The lessons by key, in the order they are taken."""

QUESTIONS: dict[str, Question] = {question.key: question for lesson in LESSONS.values() for question in lesson.bank}
"""Every question of the course by key."""
