"""Whoever works a question by the parts and rules that its lesson teaches is right, whatever numbers were drawn."""

import math
import re

import pytest
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.verdicts import Outcome

STUDENTS = 80
VARIATION_DEG = 13


def turned(from_deg, to_deg):
    """The shorter way round from one direction to another, right positive."""
    return (to_deg - from_deg + 180.0) % 360.0 - 180.0


def part(angle_deg):
    """The part of the wind across, as the lessons have it: 30 half, 45 0.7, 60 0.9, 90 all, estimated between."""
    angle = min(angle_deg, 180.0 - angle_deg)
    if angle < 30.0:
        return angle / 60.0
    for (low, a), (high, b) in (((30, 0.5), (45, 0.7)), ((45, 0.7), (60, 0.9)), ((60, 0.9), (90, 1.0))):
        if angle <= high:
            return a + (b - a) * (angle - low) / (high - low)
    raise AssertionError(angle_deg)


def by_the_lesson(course_deg, tas_kt, wind_magnetic_deg, wind_kt):
    """Heading: the course, and 60 times the crosswind over the airspeed into the wind, in whole degrees."""
    off = turned(course_deg, wind_magnetic_deg)
    correction = round(60.0 * part(abs(off)) * wind_kt / tas_kt)
    return round(course_deg + math.copysign(correction, off)) % 360 or 360


def speed_by_the_lesson(course_deg, tas_kt, wind_magnetic_deg, wind_kt):
    """Ground speed: the airspeed less the part of the wind along the course, or plus it with the wind behind."""
    off = abs(turned(course_deg, wind_magnetic_deg))
    along = part(abs(90.0 - off)) * wind_kt
    return round(tas_kt - along if off < 90.0 else tas_kt + along)


def true_wind(givens, course="course_deg"):
    """Course, airspeed and the wind turned to magnetic."""
    return (
        givens[course],
        givens["tas_kt"],
        (givens["wind_true_deg"] + VARIATION_DEG) % 360,
        givens["wind_kt"],
    )


def on_the_circle(direction_deg):
    """As a pilot writes it."""
    return direction_deg % 360 or 360


@pytest.mark.slow
@pytest.mark.parametrize(
    ("key", "label"),
    [
        ("sp-outbound", ""),
        ("sp-task", "heading outbound"),
        ("ir-wind", "roll-out heading"),
        ("ir-task", "roll-out heading"),
    ],
)
def test_a_heading_by_the_parts_taught_is_right(key, label):
    """Independent method: the sum of the lesson, and one degree either side of it."""
    question = QUESTIONS[key]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        cell = question.cells(givens)[label] if label else question
        names = {**givens, "set_deg": givens["course_deg"]}
        heading = by_the_lesson(*true_wind(givens))
        for off in (-1, 0, 1):
            verdict = judging.judge(cell, names, on_the_circle(heading + off))
            assert verdict.outcome is Outcome.PASS, (givens, heading + off, verdict.text)


@pytest.mark.slow
@pytest.mark.parametrize(("key", "label"), [("ir-wind", "ground speed"), ("ir-task", "ground speed on course")])
def test_a_ground_speed_by_the_parts_taught_is_right(key, label):
    """Independent method: the sum of the lesson, and two knots either side of it."""
    question = QUESTIONS[key]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        names = {**givens, "set_deg": givens["course_deg"]}
        speed = speed_by_the_lesson(*true_wind(givens))
        for off in (-1, 0, 1):
            verdict = judging.judge(question.cells(givens)[label], names, speed + off)
            assert verdict.outcome is Outcome.PASS, (givens, speed + off, verdict.text)


def test_a_final_by_the_parts_taught_is_right():
    """Independent method: the sums of the lessons for a wind that is magnetic already, one either side of them."""
    question = QUESTIONS["wa-wind"]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        known = (givens["final_deg"], givens["tas_kt"], givens["wind_from_deg"], givens["wind_kt"])
        cells = question.cells(givens)
        for off in (-1, 0, 1):
            heading, speed = by_the_lesson(*known) + off, speed_by_the_lesson(*known) + off
            for label, answer in (("heading", on_the_circle(heading)), ("ground speed", speed)):
                verdict = judging.judge(cells[label], givens, answer)
                assert verdict.outcome is Outcome.PASS, (givens, answer, verdict.text)


@pytest.mark.slow
@pytest.mark.parametrize("key", ["arc-wind", "arc-task"])
def test_a_leg_by_the_parts_taught_is_right(key):
    """Independent method: square to the middle of the step, the sum of the lesson, one degree either side."""
    question = QUESTIONS[key]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        on = 1 if givens["turn"] == "right" else -1
        begin = givens["begin_deg"] if key == "arc-wind" else givens["radial_deg"]
        for gone in (0, 35, 84) if key == "arc-wind" else (0, 30):
            still = begin + on * (gone + 95)
            heading = by_the_lesson(still, givens["tas_kt"], givens["wind_deg"], givens["wind_kt"])
            label = (
                f"leg from radial {on_the_circle(begin + on * gone):03d}"
                if key == "arc-wind"
                else f"heading, leg {gone // 10 + 1}"
            )
            for off in (-1, 0, 1):
                verdict = judging.judge(question.cells(givens)[label], givens, on_the_circle(heading + off))
                assert verdict.outcome is Outcome.PASS, (givens, label, heading + off, verdict.text)


@pytest.mark.slow
def test_a_plan_by_the_parts_taught_has_no_mistake():
    """Independent method: no line of a plan worked by the lesson's own sums is called a mistake."""
    for number in range(STUDENTS):
        plan = QUESTIONS["sp-plan"]
        givens = judging.draw(plan, f"reader {number}")
        filled = {
            **plan.right(givens),
            "heading inbound": float(by_the_lesson(*true_wind(givens, "inbound_deg"))),
            "heading outbound": float(by_the_lesson(*true_wind(givens))),
        }
        assert plan.slip_in(givens, filled) is None, givens
        assert plan._off_on_paper(givens, filled) == [], givens
        plan = QUESTIONS["ir-plan"]
        givens = judging.draw(plan, f"reader {number}")
        lead = 60 * 0.5 * givens["gs_kt"] / 200 / givens["meets_nm"] + 0.5
        side = 1 if turned(givens["wanted_deg"], givens["radial_deg"]) > 0 else -1
        filled = {
            **plan.right(givens),
            "heading after the turn": float(by_the_lesson(*true_wind(givens))),
            "turn begins at radial": on_the_circle(round(givens["wanted_deg"] + side * lead)),
        }
        filled["turn begins at radial"] = float(filled["turn begins at radial"])
        assert plan.slip_in(givens, filled) is None, givens
        assert plan._off_on_paper(givens, filled) == [], givens


def test_a_plan_of_a_whole_arc_by_the_parts_taught_passes():
    """Independent method: every leg by the lesson's sum, and the other end of the first radial; flown."""
    plan = QUESTIONS["arc-plan"]
    for student in ("reader 1", "reader 2"):
        givens = judging.draw(plan, student)
        filled = {**plan.right(givens), "course 2 before the turn": 140.0}
        for leg in range(8):
            heading = by_the_lesson(310 + 95 + 10 * leg, givens["tas_kt"], givens["wind_deg"], givens["wind_kt"])
            filled[f"heading to radial {on_the_circle(320 + 10 * leg):03d}"] = float(heading)
        verdict = judging.judge(plan, givens, filled)
        assert verdict.outcome is Outcome.PASS, [cell.text for _, cell in verdict.cells]


def test_two_minutes_by_the_rule_in_the_head_are_right():
    """Independent method: a second and a half more for each knot from ahead, one less for each from behind."""
    question = QUESTIONS["wa-outbound"]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        seconds = 120 + givens["along_kt"] * (1.5 if givens["along"] == "headwind" else -1.0)
        assert judging.judge(question, givens, seconds).outcome is Outcome.PASS, givens


def test_a_speed_with_or_without_what_the_nose_takes_is_right():
    """Independent method: the part of the wind along the final alone, and what it says is said of the exact speed."""
    question = QUESTIONS["wa-wind"]
    for number in range(STUDENTS):
        givens = judging.draw(question, f"reader {number}")
        off = math.radians(givens["wind_from_deg"] - givens["final_deg"])
        alone = givens["tas_kt"] - givens["wind_kt"] * math.cos(off)
        across = givens["wind_kt"] * math.sin(off)
        exact = math.sqrt(givens["tas_kt"] ** 2 - across**2) - givens["wind_kt"] * math.cos(off)
        cell = question.cells(givens)["ground speed"]
        for speed in (alone, exact, 0.5 * (alone + exact)):
            assert judging.judge(cell, givens, round(speed)).outcome is Outcome.PASS, (givens, speed)


_WRITTEN = r"\(?\d[\d,]*(?:\.\d+)?\)?(?: degrees)?"
SUM = re.compile(
    rf"(?<![\d.,])(?<![x/+-] )({_WRITTEN}(?: [x/+-] {_WRITTEN})+) (?:=|is about|is) (\d[\d,]*(?:\.\d+)?)"
)
"""A sum that is written out with its result, as worked answers have it."""


def sums_written_in(text):
    """Each sum of a text, what it gives, and what is printed as its result, as it is written."""
    for found in SUM.finditer(text):
        plain = found[1].replace(",", "").replace(" degrees", "").replace("x", "*")
        plain = re.sub(r"(?<![\d.])0+(?=\d)", "", plain)
        yield found[0], eval(plain, {"__builtins__": {}}), found[2].replace(",", "")


def test_a_sum_that_is_printed_gives_the_result_printed_with_it():
    """Independent method: the sum is read off the worked answer and worked out, for forty students."""
    found = set()
    for key, question in QUESTIONS.items():
        if not re.search(r" [x/+-] .*(=|\bis\b)", f"{question.model} {question.why}", re.DOTALL):
            continue
        for number in range(40):
            givens = judging.draw(question, f"reader {number}")
            text = f"{judging.model_answer(question, givens)} {question.fill(question.why, givens)}"
            for written, gives, printed in sums_written_in(text):
                found.add(key)
                half_a_step = 0.5 * 10 ** -len(printed.partition(".")[2])
                assert abs(gives - float(printed)) <= half_a_step + 1e-9, (key, written, gives)
    assert {"ir-recall-width", "ir-lead-faded", "ma-climb-faded", "ma-lost-dme", "wa-setting"} <= found


def test_what_the_rule_gives_and_what_it_is_exactly_are_both_right():
    """Independent method: the rule of sixty and the sine, worked out here for every draw."""
    question = QUESTIONS["ir-recall-width"]
    apart = 0
    for dme_nm in (10, 12, 14, 16):
        for dots in (2, 3, 4):
            givens = {"dme_nm": dme_nm, "dots": dots}
            text = judging.model_answer(question, givens)
            told = [float(each) for each in re.findall(r"(\d\.\d) NM", text)]
            assert told[0] == round(2 * dots * dme_nm / 60, 1)
            assert told[-1] == round(dme_nm * math.sin(math.radians(2 * dots)), 1)
            apart += len(told) == 2
            for each in told:
                assert judging.judge(question, givens, each).outcome is Outcome.PASS, (givens, each)
    assert apart
