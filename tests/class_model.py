"""A class with known abilities, by an item response model: who knows more has a question right more often.

The chance of a right answer is ``c + (1 - c) / (1 + exp(-a (ability - b)))``: Birnbaum's model of three parameters
(Lord and Novick, Statistical Theories of Mental Test Scores, 1968, chapter 17; from memory, not seen). ``a`` says how
sharply a question parts those who know from those who do not, ``b`` how hard it is, ``c`` how often a guess is right.
"""

from dataclasses import dataclass

import numpy as np

RIGHT_KEY, WRONG_KEY = 1.0, -1.0


@dataclass(frozen=True)
class Questions:
    """What a lesson of questions is: one number each."""

    a: np.ndarray
    b: np.ndarray
    c: np.ndarray


def good(rng, count):
    """Draw good questions: most part well, some are hard, some easy, three in ten can be guessed."""
    return Questions(
        rng.lognormal(0.1, 0.3, count), rng.normal(0.0, 1.0, count), np.where(rng.random(count) < 0.3, 0.25, 0.0)
    )


def with_a_bad_one(questions, a=WRONG_KEY):
    """Add a question at the end that goes the wrong way (its key is wrong), or with ``a = 0`` nowhere."""
    return Questions(
        *(np.append(each, new) for each, new in zip(vars(questions).values(), (a, 0.0, 0.0), strict=True))
    )


def marks(rng, questions, students):
    """Draw the marks of a class, 0 or 1, of shape (students, questions)."""
    ability = rng.normal(size=students)[:, None]
    chance = questions.c + (1.0 - questions.c) / (1.0 + np.exp(-questions.a * (ability - questions.b)))
    return (rng.random(chance.shape) < chance).astype(float)


def handed_in(rng, drawn, off=10.0, slips=0.5):
    """Turn marks into what the desk knows of hand-ins: rows of marks, and what the judge told.

    Every student has a right value of their own in each question. Of the wrong answers a share is a named mistake,
    the others lie anywhere; in the last question all of them are ``off`` by the same.
    """
    rows, told = [], {}
    last = drawn.shape[1] - 1
    for number, line in enumerate(drawn):
        student = f"pilot-{number:03d}"
        names = [f"q-{n:02d}" for n in range(len(line))]
        rows.append({"student": student, "mark": float(line.sum()), "out_of": float(len(line)), "look_at": ""})
        rows[-1] |= dict(zip(names, line, strict=True))
        told[student] = {"worked": {}, "told": {}}
        for n, (name, mark) in enumerate(zip(names, line, strict=True)):
            part = {"label": "", "outcome": "PASS", "slip": "", "said": ""}
            if not mark:
                right = float(rng.uniform(50.0, 300.0))
                named = n < last and rng.random() < slips
                got = right + off if n == last else float(rng.uniform(0.0, 500.0))
                part |= {
                    "outcome": "SLIP" if named else "WRONG",
                    "slip": "RECIP" if named else "",
                    "said": f"{got:.1f}",
                }
                part |= {
                    "got": round(got, 1),
                    "right": right,
                    "within": 0.5,
                    "circle": False,
                    "unit": "NM",
                    "text": "",
                }
            told[student]["told"][name] = {"outcome": part["outcome"], "parts": [part]}
    return rows, told
