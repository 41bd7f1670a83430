"""What a lesson's notebook imports; everything behind it may move without touching a learner's copy."""

from needlework.course.lesson.verbs import (
    ask,
    begin,
    check,
    flight_of,
    fly,
    hint,
    numbers,
    recap,
    reveal,
    review,
    score,
)

__all__ = ["ask", "begin", "check", "flight_of", "fly", "hint", "numbers", "recap", "reveal", "review", "score"]
