"""How many answers it takes to keep what was learned: the course's schedule against a fixed rule of three days.

``python tests/benchmarks/coming_back.py [--learners 20] [--days 365] [--apart 0.2]``. Learners are drawn from the
model itself: each recalls with the chance that the model gives. With ``--apart 0`` all have its published parameters,
as the schedule has; else each has its own, changed by up to that share, and the schedule knows nothing of it. Real
learners may differ. Both rules meet the same learners and the same questions, those of one lesson a week. Prints
retention (share of answers that were right, and chance of recall averaged over all days), answers, and their ratio.
"""

import argparse
import datetime
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from fsrs import Rating, Scheduler
from fsrs.scheduler import DEFAULT_PARAMETERS, LOWER_BOUNDS_PARAMETERS, UPPER_BOUNDS_PARAMETERS
from needlework.exercises import schedule
from needlework.exercises.catalogue import LESSONS

FIRST = datetime.date(2026, 1, 5)
FIXED = 3


def a_learner(dice, apart):
    """A memory of its own: the published parameters, each changed a little within what the model allows."""
    bounds = zip(DEFAULT_PARAMETERS, LOWER_BOUNDS_PARAMETERS, UPPER_BOUNDS_PARAMETERS, strict=True)
    own = [(each * dice.uniform(1 - apart, 1 + apart), least, most) for each, least, most in bounds]
    changed = [min(most, max(least, each)) for each, least, most in own]
    return Scheduler(changed, learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def taken(learner, dice, days, due_after):
    """Let one learner live by a rule; give answers, right ones, and the mean chance of recall on any day."""
    questions = [(key, n) for n, lesson in enumerate(LESSONS.values()) for key in lesson.questions]
    answers = right = 0
    chances = []
    for _, lesson in questions:
        begun = FIRST + datetime.timedelta(days=7 * lesson)
        truth = held = schedule.fresh_memory(begun)
        due = begun
        for number in range(days):
            day = FIRST + datetime.timedelta(days=number)
            noon = datetime.datetime.combine(day, datetime.time(12), datetime.UTC)
            chance = learner.get_card_retrievability(truth.card, noon) if truth.card.last_review else 0.0
            if day > begun:
                chances.append(chance)
            if day < due or day < begun:
                continue
            # New questions are got right in two cases of three, as by readers of the lessons.
            recalled = dice.random() < (chance if day > begun else 2 / 3)
            if day > begun:
                answers += 1
                right += recalled
            rating = Rating.Good if recalled else Rating.Again
            card, _ = learner.review_card(truth.card, rating, noon)
            truth = schedule.Memory(card)
            held = held.rated(rating, day)
            due = due_after(held, day)
    return answers, right, sum(chances) / len(chances)


def main():
    words = argparse.ArgumentParser()
    words.add_argument("--learners", type=int, default=20)
    words.add_argument("--days", type=int, default=365)
    words.add_argument("--apart", type=float, default=0.2)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    rules = {
        "the course's schedule": lambda held, day: held.due,
        f"every {FIXED} days": lambda held, day: day + datetime.timedelta(days=FIXED),
    }
    counted = {}
    for name, rule in rules.items():
        found = []
        for number in range(asked.learners):
            learner = a_learner(random.Random(f"{asked.seed}|{number}"), asked.apart)
            found.append(taken(learner, random.Random(f"{asked.seed}|{number}|dice"), asked.days, rule))
        answers, right = (sum(each[place] for each in found) for place in (0, 1))
        chance = sum(each[2] for each in found) / len(found)
        counted[name] = answers
        print(
            f"{name:22}: {answers / asked.learners:8.0f} answers a learner in {asked.days} days, "
            f"{right / answers:.3f} of them right, recall on any day {chance:.3f}"
        )
    course, fixed = counted.values()
    print(f"ratio: {course / fixed:.3f} answers for one of the fixed rule")


if __name__ == "__main__":
    main()
