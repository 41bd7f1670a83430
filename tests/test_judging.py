"""The engine that judges answers, on small questions made here."""

import json
import re
from dataclasses import replace

import class_maker
import pytest
from needlework.building import release
from needlework.course.lesson import boxes
from needlework.desk import judging as at_the_desk
from needlework.desk import whose
from needlework.desk.hand_in import Given, Sheet
from needlework.exercises import bundle, progress
from needlework.exercises.answers import Unreadable
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.judging import draw, judge
from needlework.exercises.kinds import Choice, Number, Order, Slip, Table
from needlework.exercises.rules import Rule, read_rule
from needlework.exercises.verdicts import Outcome, Verdict

HEADING = Number(
    key="h", lesson="l", title="t", prompt="p", answer=lambda g: 2.0, unit="degrees magnetic", tolerance=2, close=4,
    circle=True, hints=("look", "rule", "first"), slips=(Slip("RECIP", lambda g: 182.0, "The other end."),),
)  # fmt: skip
SECONDS = Number(
    key="s", lesson="l", title="t", prompt="p", answer=lambda g: 50.0, unit="seconds", tolerance=2, close=5,
    hints=("Look at the width.", "rule", "first"), slips=(Slip("DIAM", lambda g: 25.0, "Half."),),
)  # fmt: skip
ORDER = Order(
    key="o", lesson="l", title="t", prompt="p", cards={"A": "turn", "B": "time", "C": "talk", "D": "twist"},
    correct="BADC", free=("AD",), because={"BA": "Clock first."}, hints=("look", "r", "f"),
)  # fmt: skip
CHOICE = Choice(
    key="c", lesson="l", title="t", prompt="p", options={"A": "a", "B": "b", "C": "c"}, correct=("B", "C"),
    slips=(Slip("X", lambda g: "A", "No."),),
)  # fmt: skip
TABLE = Table(
    key="t", lesson="l", title="t", prompt="p", cells=lambda g: {"one": SECONDS, "two": HEADING, "three": CHOICE}
)


@pytest.mark.parametrize(
    ("answer", "outcome", "share"),
    [
        (2, Outcome.PASS, 1), (0, Outcome.PASS, 1), (360, Outcome.PASS, 1), (358, Outcome.CLOSE, 0.5),
        (362, Outcome.ERROR, 0), (182, Outcome.SLIP, 0), (181, Outcome.SLIP, 0), (90, Outcome.WRONG, 0),
    ],
)  # fmt: skip
def test_directions_compare_on_the_circle(answer, outcome, share):
    """Definition: 358 and 002 are four degrees apart."""
    verdict = judge(HEADING, {}, answer)
    assert (verdict.outcome, verdict.share) == (outcome, share)


@pytest.mark.parametrize(
    ("answer", "read_back"), [(65, "065 "), (0, "360 "), (360.0, "360 "), (90, "090 "), (65.5, "65.5 ")]
)
def test_directions_are_read_back_as_spoken(answer, read_back):
    """Common practice, no source: directions have three digits, and north is 360."""
    assert f" {read_back}degrees magnetic" in judge(HEADING, {}, answer).text


def test_wrong_says_direction_or_size():
    """Definition: direction or size, never the value."""
    assert "far too large" in judge(SECONDS, {}, 90).text
    assert "that is too small" in judge(SECONDS, {}, 40).text
    assert "left" in judge(HEADING, {}, 330).text
    assert "Look at the width." in judge(SECONDS, {}, 40).text
    assert judge(SECONDS, {}, 54).outcome is Outcome.CLOSE
    assert judge(SECONDS, {}, 25).slip == "DIAM"


def test_order_names_the_first_pair():
    """Definition: what comes before what is said with its reason, a card alone is named; free pairs may swap."""
    assert judge(ORDER, {}, "BADC").outcome is Outcome.PASS
    assert judge(ORDER, {}, " b, d, a, c ").outcome is Outcome.PASS
    assert judge(ORDER, {}, ["B", "A", "D", "C"]).outcome is Outcome.PASS
    verdict = judge(ORDER, {}, "ABDC")
    assert verdict.outcome is Outcome.WRONG
    assert verdict.text.endswith("B (“time”) comes before A (“turn”), not after it. Clock first.")
    assert "Only B stands wrong, too late: B (" in judge(ORDER, {}, "ADCB").text
    assert judge(ORDER, {}, "DABC").outcome is Outcome.WRONG
    assert judge(ORDER, {}, "CABD").outcome is Outcome.WRONG
    assert "missing: C" in judge(ORDER, {}, "BAD").text
    assert "given twice: B" in judge(ORDER, {}, "BBAD").text
    assert "unknown: Z" in judge(ORDER, {}, "BADZ").text


def test_choice_takes_two_letters_and_refuses_others():
    """Definition: where two answers are acceptable, both pass."""
    assert judge(CHOICE, {}, "b").outcome is Outcome.PASS
    assert judge(CHOICE, {}, "C)").outcome is Outcome.PASS
    assert judge(CHOICE, {}, "A").slip == "X"
    assert judge(CHOICE, {}, "E").outcome is Outcome.ERROR
    assert judge(CHOICE, {}, 2).outcome is Outcome.ERROR


def test_table_shares_the_marks():
    """Definition: each cell counts the same; unreadable and blank cells score nothing and say so."""
    verdict = judge(TABLE, {}, {"one": 50, "two": 358, "three": "A"})
    assert verdict.share == pytest.approx((1 + 0.5 + 0) / 3)
    assert [cell.outcome for _, cell in verdict.cells] == [Outcome.PASS, Outcome.CLOSE, Outcome.SLIP]
    assert verdict.slip == "X"
    assert judge(TABLE, {}, [50, 2, "B"]).outcome is Outcome.PASS
    verdict = judge(TABLE, {}, {"ONE": 50})
    assert verdict.share == pytest.approx(1 / 3)
    assert verdict.outcome is Outcome.CLOSE
    assert judge(TABLE, {}, {"one": "fifty", "two": None}).cells[0][1].outcome is Outcome.ERROR
    assert "not a cell" in judge(TABLE, {}, {"four": 1}).text
    assert "2 entries where 3" in judge(TABLE, {}, [1, 2]).text
    assert judge(TABLE, {}, 7).outcome is Outcome.ERROR
    assert judge(TABLE, {}, {"one": None}).outcome is Outcome.NOT_ATTEMPTED


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1200 * h / gs", 24),
        ("1200×h÷gs", 24),
        ("h^2 + -1", 3),
        ("sqrt(h*2)", 2),
        ("60*tan(45)", 60),
        ("atan(1)", 45),
    ],
)
def test_a_rule_is_plain_arithmetic(text, value):
    """Definition: arithmetic as on a kneepad, angles in degrees."""
    assert read_rule(text, ["h", "gs"])({"h": 2.0, "gs": 100.0}) == pytest.approx(value)


@pytest.mark.parametrize(
    "text",
    ["__import__('os')", "h.real", "(lambda: 1)()", "[h]", "h if gs else 1", "speed", "h = 3", "9**9**9**9", "h gs",
     "'a'", "True", "1" * 400, "sqrt(h, gs)", "sqrt(x=h)", "h // gs", "1/0", "f'{h}'", "h := 3", "(" * 200],
)  # fmt: skip
def test_a_rule_is_nothing_but_arithmetic(text):
    """Definition: anything else is refused in one sentence and never run."""
    with pytest.raises(Unreadable):
        read_rule(text, ["h", "gs"])({"h": 2.0, "gs": 100.0})


def test_rule_outcomes():
    """Definition: all cases right passes; a known slip is named; some right earns a part."""
    rule = Rule(
        key="r", lesson="l", title="t", prompt="p", symbols=("h",), truth=lambda c: 10 * c["h"], within=0.05,
        case=lambda r: {"h": r.randrange(10, 100)}, example="10*h", unit="s", hints=("look", "r", "f"),
        slips=(Slip("HALF", lambda g: "5*h", "Half."),),
    )  # fmt: skip
    givens = draw(rule)
    assert judge(rule, givens, "10.2 * h").outcome is Outcome.PASS
    assert judge(rule, givens, "5.05 * h").slip == "HALF"
    assert judge(rule, givens, "20 * h").outcome is Outcome.WRONG
    assert "too large" in judge(rule, givens, "20 * h").text
    part = judge(rule, givens, "500 + 0.0001 * h")
    assert 0 <= part.share < 0.5
    assert judge(rule, givens, 10).outcome is Outcome.ERROR
    assert "no number" in judge(rule, givens, "1 / (h - h)").text


def test_a_question_whose_slips_collide_is_refused():
    """Definition: numbers that hide a slip are never drawn; a question that has no others is at fault."""
    bad = Number(
        key="b", lesson="l", title="t", prompt="p", answer=lambda g: 5.0, unit="NM", tolerance=1,
        slips=(Slip("NEAR", lambda g: 6.0, "Near."),),
    )  # fmt: skip
    with pytest.raises(RuntimeError, match="keep its slips apart"):
        draw(bad)


def test_a_hostile_object_gains_nothing():
    """Definition: answers become plain data before they are compared."""

    class Sly(float):
        def __eq__(self, other):
            return True

        def __sub__(self, other):
            return 0.0

        __rsub__ = __sub__
        __hash__ = None

    assert judge(SECONDS, {}, Sly(7)).outcome is Outcome.WRONG

    class Loud(str):
        def strip(self, *_):
            return "B"

        def upper(self):
            return "B"

    assert judge(CHOICE, {}, Loud("A")).slip == "X"


def _renamed_table():
    """A table whose cell has another label than in copies handed out before, and which asks one thing less."""
    from dataclasses import replace

    return replace(
        TABLE, cells=lambda g: {"one": replace(SECONDS, formerly=("first",)), "two": HEADING}, gone=("three",)
    )


def test_answers_under_the_labels_of_an_earlier_copy_count():
    """Definition: a copy handed out before holds old labels; what is asked no more is left alone."""
    table = _renamed_table()
    assert judge(table, {}, {"First": 50, "two": 2, "Three": "A"}).outcome is Outcome.PASS
    assert judge(table, {}, {"one": 50, "two": 2}).outcome is Outcome.PASS
    assert "“four” is not a cell" in judge(table, {}, {"four": 1}).text


# ---------------------------------------------------------------- what follows rightly from a wrong cell


def chained(slips=()):
    """A table of three cells: a ground speed, and a rate and a time that follow from it."""
    from types import SimpleNamespace

    from needlework.exercises.making import questions_of

    functions = SimpleNamespace(
        a_leg=lambda random: {"tas_kt": 90, "wind_kt": 20, "dist_nm": 30.0},
        ground_speed=lambda *, tas_kt, wind_kt: tas_kt - wind_kt,
        rate=lambda *, gs_kt: 5 * gs_kt,
        seconds=lambda *, gs_kt, dist_nm: dist_nm / gs_kt * 3600,
        minutes=lambda *, gs_kt, dist_nm: dist_nm / gs_kt * 60,
    )
    number = {"kind": "number", "unit": "kt", "to": 1, "compare": "plain"}
    cells = [
        {**number, "key": "ground speed", "right": {"call": "ground_speed"}, "accept": 1, "gives": "gs_kt"},
        {**number, "key": "rate", "right": {"call": "rate"}, "accept": 5, "unit": "fpm"},
        {**number, "key": "time", "right": {"call": "seconds"}, "accept": 2, "unit": "s",
         "slips": [{"slip": "MINUTES", "value": {"call": "minutes"}, "says": "Those are minutes."}]},
    ]  # fmt: skip
    table = {"kind": "table", "key": "t", "title": "t", "draw": "a_leg", "cells": cells}
    return questions_of({"key": "l", "questions": [table]}, functions)["t"]


@pytest.mark.parametrize(
    ("answers", "shares"),
    [
        ([70, 350, 1543], (1, 1, 1)),
        ([90, 450, 1200], (0, 1, 1)),  # all of it from the airspeed
        ([90, 350, 1200], (0, 1, 1)),  # one cell from the right value, one from the learner's own
        ([90, 450, 1543], (0, 1, 1)),
        ([90, 400, 1000], (0, 0, 0)),
        ([0, 0, 5], (0, 0, 0)),  # from nothing at all nothing follows
        ([None, 450, 1200], (0, 0, 0)),
        (["?", 450, 1200], (0, 0, 0)),
    ],
)
def test_a_cell_worked_rightly_from_a_wrong_one_earns_its_marks(answers, shares):
    """Definition: judged with the right value first, then with the learner's own."""
    table = chained()
    givens = draw(table)
    verdict = judge(table, givens, answers)
    assert tuple(cell.share for _, cell in verdict.cells) == shares
    assert verdict.share == pytest.approx(sum(shares) / 3)
    assert (verdict.outcome is Outcome.PASS) is (sum(shares) == 3)
    own = [answer not in right for answer, right in zip(answers, ([70], [350], [1543]), strict=True)]
    for (_, cell), theirs in zip(verdict.cells, own, strict=True):
        if cell.share:
            said = "Right from your own “ground speed”; correct that one."
            assert cell.text == said if theirs else cell.text.startswith("Right: ")
    assert table.right(givens) == {"ground speed": 70.0, "rate": 350.0, "time": pytest.approx(1542.86, abs=0.01)}


def test_what_the_learner_rounded_is_told_as_such():
    """Definition: a right cell is not to be mended, however it was rounded; and nothing but its own value is used."""
    table = chained()
    givens = draw(table)
    cells = dict(judge(table, givens, [71, 363, 1521]).cells)
    assert cells["ground speed"].outcome is Outcome.PASS
    assert cells["rate"].outcome is Outcome.WRONG
    assert cells["time"].outcome is Outcome.PASS
    cells = dict(judge(table, givens, [69.2, 341, 1561]).cells)
    assert cells["time"].text.startswith("Right")
    assert "mend" not in cells["rate"].text


def test_a_mistake_is_found_from_the_learner_s_own_value_too():
    """Definition: a named mistake made with an earlier wrong value is named, and said to be worked from there."""
    table = chained()
    cells = dict(judge(table, draw(table), [90, 450, 20]).cells)
    assert cells["time"].slip == "MINUTES"
    text = cells["time"].text
    assert text.startswith("Not yet. You gave 20") and text.count("Not yet") == 1
    assert "Worked from your own “ground speed”: Those are minutes." in text
    told = bundle.GivenVerdict(
        key="x",
        outcome=Outcome.SLIP,
        share=0.0,
        marks=0.0,
        points=1.0,
        slip="MINUTES",
        text=text,
        cells=(),
        explanation="",
    )
    with progress.at_the_desk():
        assert "Not yet" not in boxes.verdict(told)
        shown = boxes.verdict(replace(told, text="Not yet, though close. You gave 20. It may be a slip of the sum."))
    assert "Not yet" not in shown and "Not right, though close. You gave 20." in shown


def test_a_table_of_letters_takes_them_in_a_row():
    """Definition: "ABC" is A, B and C, as in a question that asks for letters in order."""
    from dataclasses import replace

    table = replace(TABLE, cells=lambda g: {"first": CHOICE, "second": replace(CHOICE, correct="B")})
    assert judge(table, {}, "CB").outcome is Outcome.PASS
    assert judge(table, {}, "c, b").outcome is Outcome.PASS
    assert "3 entries where 2" in judge(table, {}, "CBA").text


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ({"minutes": 1, "seconds": 50}, "1 minute and 50 seconds"),
        ({"minutes": 2, "seconds": 1.5}, "2 minutes and 1.5 seconds"),
    ],
)
def test_what_is_counted_has_its_number(names, said):
    """Definition: one minute, two minutes."""
    from needlework.exercises import wording

    assert wording.filled("{minutes:#minute} and {seconds:#second}", names) == said


def test_a_whole_number_in_a_text_has_no_decimals():
    """Definition: 450.0 claims more than is known; a number that has decimals keeps them."""
    from needlework.exercises import wording

    assert wording.filled("{limit} ft, {dist} NM, {dme:.1f}", {"limit": 450.0, "dist": 0.5, "dme": 3.0}) == (
        "450 ft, 0.5 NM, 3.0"
    )


@pytest.mark.parametrize(
    ("value", "decimals", "said"),
    [
        (150.0, 2, "150"), (1.5e5, 0, "150,000"), (0.10998678, 2, "0.11"), (0.0042, 2, "0.004"),
        (-0.001, 1, "-0.001"),
        (63.43923, 2, "63.44"), (1e20, 2, "a number of 21 digits"), (0.0, 2, "0"), (float("inf"), 2, "no number"),
    ],
)  # fmt: skip
def test_numbers_in_sentences_are_a_pilot_s(value, decimals, said):
    """Definition: no powers of ten, thousands apart, no decimals that say nothing."""
    from needlework.exercises import wording

    assert wording.number(value, decimals) == said


# ---------------------------------------------------------------- what is seen in an answer that no slip explains


def test_a_mistake_and_exchanged_digits_that_come_to_one_number_are_both_named():
    """Definition: 108 typed as 180, where miles a minute times 100 are 180 as well: nobody can tell which."""
    hundred = Slip("HUNDRED", lambda g: 180.0, "Times 100.")
    speed = replace(SECONDS, unit="kt", answer=lambda g: 108.0, slips=(hundred,))
    said = judge(speed, {}, 180).text
    assert "Two mistakes come to this. Either: Times 100. Or: Have two of its digits changed places?" in said
    assert "digits" not in judge(replace(speed, answer=lambda g: 109.0), {}, 180).text


def test_a_line_that_shows_a_mistake_for_certain_decides_what_another_may_come_from():
    """Definition: one line fits two mistakes, the other one of them alone; where neither does, both stay."""
    slips = (Slip("HALF", lambda g: 26.0, "Half way."), Slip("AIRSPEED", lambda g: 26.0, "The airspeed.", rare=True))
    where = replace(SECONDS, unit="NM", slips=slips)
    rate = replace(SECONDS, unit="fpm", answer=lambda g: 200.0, slips=(Slip("AIRSPEED", lambda g: 250.0, "Speed."),))
    both = replace(TABLE, cells=lambda g: {"where": where, "rate": rate})
    told = dict(judge(both, {}, {"where": 26, "rate": 250}).cells)
    assert (told["where"].slip, told["where"].text) == ("AIRSPEED", "Not yet. You gave 26 NM. The airspeed.")
    told = dict(judge(both, {}, {"where": 26, "rate": 150}).cells)
    assert "Either: Half way. Or: The airspeed." in told["where"].text


@pytest.mark.parametrize(("right", "typed"), [(41.4, 69), (81.0, 135), (81.0, 95)])
def test_decimals_of_a_minute_read_as_seconds_are_told(right, typed):
    """Definition: 0.69 minutes typed as 69 seconds; 1.35 minutes as 135, or as one minute and 35 seconds."""
    asked = replace(SECONDS, answer=lambda g: right, slips=())
    assert "The decimals of a minute were read as seconds." in judge(asked, {}, typed).text
    assert "decimals of a minute" not in judge(asked, {}, typed + 2).text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("25 s", "Read as 25 it is not right yet: Half."),
        ("0:25", "Read as 25 it is not right yet: Half."),
        ("25,0", "Read as 25 it is not right yet: Half."),
        ((25, 0), "Read as 25 it is not right yet: Half."),
        ("500 s", "Ten times too much: has the decimal point moved?"),
    ],
)
def test_a_mistyped_number_is_told_what_else_is_wrong_with_it(typed, said):
    """Definition: typing and mistake are told at once; in a task only the typing, before it is handed in."""
    assert said in judge(SECONDS, {}, typed).text
    assert said in dict(judge(TABLE, {}, {"one": typed, "two": 2, "three": "B"}).cells)["one"].text
    for asked in (replace(SECONDS, task=True), replace(TABLE, task=True)):
        answer = typed if asked.key == "s" else {"one": typed, "two": 2, "three": "B"}
        verdict = judge(asked, {}, answer)
        assert "Read as" not in verdict.text + "".join(cell.text for _, cell in verdict.cells)
    assert "Read as" not in judge(SECONDS, {}, "50 s").text, "nothing else is wrong with it"


FEET = Number(
    key="f", lesson="l", title="t", prompt="p", answer=lambda g: 1588.0, unit="ft", tolerance=5,
    shown="{high_ft} ft above", hints=("Look up.", "rule", "first"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (1858, "Have two of its digits changed places?"),
        (1855, "Have two of its digits changed places?"),  # 1585 passes as well
        (1488, "A hundred too few"),
        (158.8, "A tenth of it"),
        (-1588, "the sign is the other one"),
        (794, "Half of it"),
        (95280, "Sixty times too much"),
        (1.588, "Thousands are written without one: 1588"),
        (2400, "That number stands in the question itself"),
        (1390, "; that is too small. Look up."),
    ],
)
def test_a_number_of_unknown_cause_is_looked_at(answer, said):
    """Definition: what an answer is to the right one is said where it is more than chance; it earns nothing."""
    verdict = judge(FEET, {"high_ft": 2400}, answer)
    assert said in verdict.text
    assert (verdict.outcome, verdict.share, verdict.slip) == (Outcome.WRONG, 0.0, "")


@pytest.mark.parametrize(
    ("answer", "said"), [(12, "Ten degrees too many"), (92, "square to it"), (102, "A hundred degrees too many")]
)
def test_a_direction_of_unknown_cause_is_looked_at(answer, said):
    """Definition: a ten lost, or a direction square to the right one, is said beside which way it is off."""
    text = judge(HEADING, {}, answer).text
    assert said in text
    assert "too far right" in text


def heights(**values):
    """A table of numbers of one unit."""

    def cell(label, right):
        return replace(FEET, key=label, answer=lambda g: right, slips=(Slip("LOW", lambda g: right - 300.0, "Low."),
                       Slip("NEAR", lambda g: 980.0, "Near.", rare=True)))  # fmt: skip

    return replace(TABLE, cells=lambda g: {label: cell(label, right) for label, right in values.items()})


def test_lines_are_looked_at_together():
    """Definition: values of other lines, one value everywhere, and one cause for all are told as such."""
    asked = heights(one=1000.0, two=1150.0, three=1280.0)
    told = dict(judge(asked, {}, [1150, 1000, 1280]).cells)
    assert "belongs to “two”" in told["one"].text
    assert "belongs to “one”" in told["two"].text
    same = judge(asked, {}, [1070, 1070, 1070])
    assert all("The same value stands in every line." in cell.text for _, cell in same.cells)
    alone = dict(judge(asked, {}, [1000, 1150, 980]).cells)["three"]
    assert "Two mistakes come to this." in alone.text
    together = judge(asked, {}, [1000, 850, 980])
    assert [cell.text.partition("ft. ")[2] for _, cell in together.cells[1:]] == ["Low.", "Low."]


def test_a_rule_is_told_which_quantity_does_not_act_as_it_should():
    """Definition: each quantity is doubled in turn; where all act rightly it is the number in the rule."""
    rule = Rule(
        key="r", lesson="l", title="t", prompt="p", symbols=("h", "gs"), truth=lambda c: 1200.0 * c["h"] / c["gs"],
        case=lambda random: {"h": float(random.randrange(1, 6)), "gs": 90.0}, within=0.1, example="1200*h/gs",
        unit="s", hints=("Look.", "r", "f"),
    )  # fmt: skip
    assert (
        "Twice as much gs halves the answer; in this rule it doubles the answer."
        in judge(rule, {"seed": ""}, "h*gs").text
    )
    assert (
        "h and gs act as they should; the number in the rule is too small."
        in judge(rule, {"seed": ""}, "300*h/gs").text
    )


def test_a_number_with_its_unit_and_a_comma_is_still_looked_at():
    """Definition: what is wrong with the number besides its typing is told with that."""
    long = replace(SECONDS, answer=lambda g: 3400.0, slips=(Slip("NEXT", lambda g: 3000.0, "The next floor."),))
    for typed in ("3,000 ft", "3000 ft", "3,000"):
        assert judge(long, {}, typed).text.endswith("Read as 3,000 it is not right yet: The next floor.")
    typed_only = judge(long, {}, "3,400 ft")
    assert typed_only.outcome is Outcome.ERROR and "not right yet" not in typed_only.text


def test_a_second_pair_out_of_order_is_told():
    """Definition: two places where neighbours stand the wrong way round are two mistakes."""
    four = replace(ORDER, cards=dict.fromkeys("ABCD", "x"), correct="ABCD", free=(), because={"CD": "Talk first."})
    assert judge(four, {}, "BADC").text.endswith("And C (“x”) comes before D (“x”). Talk first.")
    assert "And " not in judge(four, {}, "BACD").text


def as_asked(part, givens):
    right = part.right(givens)
    return round(right / part.to) * part.to if isinstance(part, Number) else right


def test_answers_of_a_neighbour_are_found_by_place_and_as_they_are_written():
    """Independent method: one student's rights, rounded, under their own labels or in lists, come from another."""
    key = "flying-an-arc"
    source = json.loads((release.SOLUTIONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))
    sheet = Sheet(key, source, class_maker.released(key))

    def answers(name):
        made = {}
        for cell, one in sheet.marked.items():
            question = QUESTIONS[one.question]
            givens = draw(question, name)
            if isinstance(question, Number):
                made[cell] = as_asked(question, givens)
            elif isinstance(question, Table):
                made[cell] = {label: as_asked(part, givens) for label, part in question.cells(givens).items()}
        return made

    def facts(third):
        given = [Given(begun=name, answers=each) for name, each in third.items()]
        said = dict(zip(third, at_the_desk.judge_all(sheet, given), strict=True))
        ledger = {name: {"named": name, "marked": True, "hand_in": name} for name in third}
        return whose.facts(ledger, said)

    own = {name: answers(name) for name in ("finch", "robin")}
    assert facts({**own, "wren": answers("wren")}) == []
    (told,) = facts({**own, "wren": own["finch"]})
    assert re.match(r"\d+ answers of wren that are not right .* are right for those of “finch”: ", told)
    assert "arc-task" in told
    lists = {cell: list(each.values()) if isinstance(each, dict) else each for cell, each in own["finch"].items()}
    assert facts({**own, "wren": lists}) == [told]
    assert facts({**own, "wren": {"arc-task": own["finch"]["arc-task"]}}) == [], "one question may be one mistake"


def test_how_goals_become_marks_is_told():
    """Arithmetic: weights times shares, of the marks; and what is left of it where more was taken."""
    plan = QUESTIONS["sp-plan"]
    half = [(goal.label, Verdict(Outcome.CLOSE, 0.5, "")) for goal in plan.goals]
    came = plan.points / 2
    text = at_the_desk._in_marks(plan, Verdict(Outcome.CLOSE, 0.5, "", cells=tuple(half)), came)
    assert text.endswith(f"here that is {came:g} of {plan.points:g}.")
    text = at_the_desk._in_marks(plan, Verdict(Outcome.WRONG, 0.25, "", cells=tuple(half)), came / 2)
    assert text.endswith(f"takes marks besides: {came / 2:g} {'is' if came == 2 else 'are'} left.")
    assert at_the_desk._in_marks(plan, Verdict(Outcome.PASS, 1.0, "", cells=tuple(half)), plan.points) == ""


def test_a_pair_without_words_of_its_own_is_told_by_what_stands_between():
    """Definition: B before A and A before C are told; so B before C is, by both."""
    cards = {"A": "turn", "B": "time", "C": "talk"}
    because = {"BA": "Clock first.", "AC": "Talk last."}
    order = replace(ORDER, cards=cards, correct="BAC", free=("BA", "AC"), because=because)
    text = judge(order, {}, "CBA").text
    assert text.endswith("“time” before “turn”: Clock first. “turn” before “talk”: Talk last.")
    assert "Clock first" not in judge(order, {}, "BCA").text


def test_a_second_card_in_the_wrong_place_is_told_and_one_alone_is_not():
    """Definition: where no single card moved puts all right, another pair is told with its reason."""
    cards = {"A": "turn", "B": "time", "C": "talk"}
    order = replace(ORDER, cards=cards, correct="BAC", free=(), because={"BA": "Clock first.", "AC": "Talk last."})
    assert "And B (“time”) comes before A (“turn”). Clock first." in judge(order, {}, "CAB").text
    assert "And " not in judge(order, {}, "ACB").text


@pytest.mark.parametrize(
    ("wanted", "typed", "how"),
    [(102.0, 142.0, "one behind the other"), (30.0, 0.3, "with a point"), (102.0, 1.42, "with a point")],
)
def test_minutes_and_seconds_typed_for_seconds_are_told(wanted, typed, how):
    """Arithmetic: 1:42 is 102 seconds, and 0:30 is 30."""
    assert how in judge(replace(SECONDS, answer=lambda g: wanted, slips=()), {}, typed).text
    assert "typed" not in judge(replace(SECONDS, answer=lambda g: wanted, slips=()), {}, wanted * 1.7).text


def test_a_number_read_with_two_digits_exchanged_is_asked_for():
    """Arithmetic: 60 - 14 is 46, where 60 - 41 is 19."""
    lap = replace(SECONDS, answer=lambda g: 60.0 - g["inbound_s"], shown="inbound {inbound_s} seconds", slips=())
    assert "with 14 in place of 41" in judge(lap, {"inbound_s": 41}, 46).text
    assert "in place of" not in judge(lap, {"inbound_s": 41}, 47).text


def test_one_part_of_the_right_value_in_every_line_is_one_cause():
    """Definition: a tenth everywhere is one mistake, whatever a line by itself may come from."""
    lines = {n: replace(SECONDS, answer=lambda g, n=n: 100.0 * n, unit="degrees", slips=()) for n in (1, 2, 3)}
    slipped = replace(lines[2], slips=(Slip("X", lambda g: 20.0, "Another."),))
    table = replace(TABLE, cells=lambda g: {"1": lines[1], "2": slipped, "3": lines[3]})
    assert all("In every line" in told.text for _, told in judge(table, {}, {"1": 10, "2": 20, "3": 30}).cells)
    assert not any("In every line" in told.text for _, told in judge(table, {}, {"1": 10, "2": 20, "3": 31.5}).cells)


def test_a_mistake_that_only_comes_near_is_not_claimed():
    """Definition: a cause is told as one where the number is its own; near to it, it is only what it may be."""
    asked = replace(FEET, tolerance=20.0, slips=(Slip("LOW", lambda g: 850.0, "Low."),))
    assert judge(asked, {}, 850).text.endswith("You gave 850 ft. Low.")
    near = judge(asked, {}, 860)
    assert near.slip == "LOW"
    assert near.text.endswith("It may be this, though it does not give quite this number: Low.")
    two = replace(asked, slips=(*asked.slips, Slip("OTHER", lambda g: 870.0, "Other.", rare=True)))
    assert "It may be one of these, though none gives quite this number. Either: " in judge(two, {}, 860).text


def test_one_cause_that_every_line_only_comes_near_is_not_claimed():
    """Definition: a mistake is the cause where a line has its own number, and what it may be where none has."""

    def cell(right):
        slips = (
            Slip("LOW", lambda g: right - 300.0, "Low."),
            Slip("HIGH", lambda g: right - 260.0, "High.", rare=True),
        )
        return replace(FEET, answer=lambda g: right, tolerance=20.0, slips=slips)

    table = replace(TABLE, cells=lambda g: {"one": cell(1000.0), "two": cell(1150.0)})
    near = [said.text for _, said in judge(table, {}, [708, 858]).cells]
    assert all(text.endswith("It may be this, though it does not give quite this number: Low.") for text in near)
    own = [said.text for _, said in judge(table, {}, [720, 850]).cells]
    assert all(text.endswith("ft. Low.") for text in own), own


FLOWN = replace(
    SECONDS, answer=lambda g: 3600.0 * g["width_nm"] / g["gs_kt"], slips=(),
    shown="width {width_nm} NM, {gs_kt} kt, later {later_kt} kt",
)  # fmt: skip


def test_a_number_of_the_question_taken_for_another_goes_before_a_guess_of_typing():
    """Definition: 1.2 NM are 43 seconds at 100 kt and 53 at 81; ten too many is what the second also is."""
    givens = {"width_nm": 1.2, "gs_kt": 100, "later_kt": 81}
    assert "It comes out so with 81 kt in place of 100 kt" in judge(FLOWN, givens, 53).text
    assert "in place of" not in judge(FLOWN, givens, 63).text
    alone = replace(FLOWN, key="one", shown="", prompt="one")
    table = replace(TABLE, cells=lambda g: {"one": alone}, shown=FLOWN.shown)
    assert "It comes out so with 81 kt in place of 100 kt" in judge(table, givens, {"one": 53}).cells[0][1].text


WIND_MAGNETIC = replace(
    HEADING, answer=lambda g: (g["wind_true_deg"] + g["variation_deg"] + g["half_angle_deg"]) % 360, slips=(),
    shown="wind {wind_true_deg}° true, variation {variation_deg}°, half angle {half_angle_deg}°, course {course_deg}",
)  # fmt: skip


def test_only_numbers_of_the_same_kind_are_taken_for_one_another():
    """Definition: 13 degrees of variation are no direction; two directions are of one kind, as two sizes are."""
    givens = {"wind_true_deg": 310, "variation_deg": 13, "half_angle_deg": 45, "course_deg": 70}
    for wind, variation, half, said in (
        (13, 13, 45, ""),
        (310, 70, 45, ""),
        (70, 13, 45, "070° in place of 310°"),
        (310, 45, 45, "45° in place of 13°"),
    ):
        text = judge(WIND_MAGNETIC, givens, (wind + variation + half) % 360).text
        assert (f"It comes out so with {said}" if said else "Not yet") in text, text
        assert said or "in place of" not in text, text


@pytest.mark.parametrize(
    ("unit", "right", "typed", "said"),
    [
        ("m", 2593.0, 1.4, "right in NM, and metres are asked for"),
        ("NM", 5.8, 35241, "right in feet, and nautical miles are asked for"),
        ("ft", 6076.0, 1852, "right in metres, and feet are asked for"),
        ("ft", 3400.0, 3.4, "Thousands are written without one: 3400."),
    ],
)
def test_a_right_answer_in_another_unit_is_told_so(unit, right, typed, said):
    """Definition: a nautical mile is 1,852 m, a foot 0.3048 m; this comes before what a point may have meant."""
    asked = replace(FEET, unit=unit, answer=lambda g: right, named_by=lambda g, answer: "LOW" if answer < 9 else None)
    assert said in judge(asked, {}, typed).text


def test_a_column_of_yes_and_no_turned_round_is_told_as_one():
    """Definition: with two things to choose from, each where the other is right, in three lines or more."""
    yes = Choice(key="y", lesson="l", title="t", prompt="p", options={"YES": "", "NO": ""}, correct="YES", slips=())
    no = replace(yes, correct="NO")
    table = replace(TABLE, cells=lambda g: {"one": yes, "two": no, "three": yes})
    assert "All 3 are turned round: YES where it is NO" in judge(table, {}, ["NO", "YES", "NO"]).text
    assert "turned round" not in judge(table, {}, ["NO", "YES", "YES"]).text


def test_two_answers_are_told_as_two():
    """Definition: of two one says both, neither and the other."""
    yes = Choice(key="y", lesson="l", title="t", prompt="p", options={"YES": "", "NO": ""}, correct="YES", slips=())
    table = replace(TABLE, cells=lambda g: {"one": yes, "two": yes})
    assert judge(table, {}, ["YES", "YES"]).text == "Right: both answers."
    assert "1 of 2 answers is right. Read what is said beside the other." in judge(table, {}, ["NO", "YES"]).text
    assert judge(table, {}, ["NO", "NO"]).text.startswith("Neither answer is right yet.")


def test_a_close_answer_of_the_same_cause_is_told_so_and_keeps_its_marks():
    """Definition: what all wrong lines come from is said of a close one that comes from it as well."""

    def cell(right):
        return replace(FEET, answer=lambda g: right, tolerance=2.0, close=30.0,
                       slips=(Slip("LESS", lambda g: 0.9 * right, "A tenth less."),))  # fmt: skip

    table = replace(TABLE, cells=lambda g: {"one": cell(200.0), "two": cell(900.0), "three": cell(1500.0)})
    told = dict(judge(table, {}, [180, 810, 1350]).cells)
    assert told["two"].slip == told["three"].slip == "LESS"
    assert (told["one"].outcome, told["one"].slip) == (Outcome.SLIP, "LESS")
    rare = replace(cell(200.0), slips=(Slip("LESS", lambda g: 180.0, "A tenth less.", rare=True),))
    mixed = replace(TABLE, cells=lambda g: {"one": rare, "two": cell(900.0), "three": cell(1500.0)})
    close = dict(judge(mixed, {}, [180, 810, 1350]).cells)["one"]
    assert (close.outcome, close.share) == (Outcome.CLOSE, 0.5)
    assert "As in the other lines: A tenth less." in close.text


def test_one_wrong_line_tells_a_close_one_where_the_mistake_went_into_both():
    """Arithmetic: a wind of 279 true taken as it stands gives 140 kt in place of 136, and that is close."""
    table = QUESTIONS["ir-wind"]
    day = {"course_deg": 80, "tas_kt": 108, "wind_true_deg": 279, "wind_kt": 34, "variation_deg": 13}
    told = dict(judge(table, day, {"roll-out heading": 74, "ground speed": 140}).cells)
    assert told["roll-out heading"].slip == "TRUEWIND"
    assert (told["ground speed"].outcome, told["ground speed"].share) == (Outcome.CLOSE, 0.5)
    assert "As in “roll-out heading”: The wind was taken as it stands, in true" in told["ground speed"].text
    alone = dict(judge(table, day, {"roll-out heading": 70, "ground speed": 140}).cells)
    assert "As in" not in alone["ground speed"].text


def test_a_point_moved_is_seen_where_moved_back_it_would_pass():
    """Definition: ten times what passes, not only ten times the exact value."""
    asked = replace(FEET, answer=lambda g: 1.12, tolerance=0.15, to=0.1, decimals=1, unit="NM", slips=())
    assert "has the decimal point moved?" in judge(asked, {}, 10.7).text
    assert "has the decimal point moved?" not in judge(asked, {}, 7.7).text


def test_minutes_and_seconds_that_do_not_exist_are_explained():
    """Definition: a minute has 60 seconds, so 1:64 is a decimal of a minute in another dress."""
    said = judge(SECONDS, {}, "1:64").text
    assert "A minute has 60 seconds" in said
    assert "written as seconds: 2:43 is 163" in judge(SECONDS, {}, "1:54").text


def test_a_mistake_that_comes_out_below_nought_is_known_without_its_minus():
    """Definition: 0.8 less 1.64 miles is -0.84; who writes 0.84 took off what is added."""
    question = QUESTIONS["dm-vdp"]
    number = next(
        n for n in range(60) if (g := draw(question, f"reader {n}"))["threshold_nm"] == 0.8 and "falls" in g["way"]
    )
    givens = draw(question, f"reader {number}")
    miles = (givens["mda_ft"] - givens["threshold_ft"] - givens["crossing_ft"]) / 318
    verdict = judge(question, givens, round(miles - 0.8, 2))
    assert verdict.slip == "DMESGN"
    assert "the minus was left out" in verdict.text
    # A number of the question itself is told as that.
    assert "minus" not in judge(question, givens, 0.8).text


def test_one_cause_for_all_wrong_choices_is_named_alone():
    """Independent method: entries for turns to the other side, by the sectors; a line alone fits other causes too."""
    from needlework.trade import holding

    question = QUESTIONS["ma-entries"]
    for number in range(20):
        givens = draw(question, f"reader {number}")
        other = "left" if givens["side"] == "right" else "right"
        letters = [
            str(holding.entry(heading_deg=heading, inbound_course_deg=givens["inbound_deg"], side=other))[0].upper()
            for heading in givens["headings"]
        ]
        wrong = [cell.slip for _, cell in judge(question, givens, letters).cells if cell.outcome is not Outcome.PASS]
        assert set(wrong) == {"MIRROR"}, (givens, wrong)
