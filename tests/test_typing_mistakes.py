"""Mistakes of typing: each gets one plain sentence that names it, with the line it stands in."""

import json
import re
import warnings
from pathlib import Path

import pytest
from needlework.course.lesson import cells, mistakes, outputs, session, typed
from needlework.exercises import judging
from needlework.exercises.catalogue import ORDER, QUESTIONS

LESSONS = Path(__file__).parents[1] / "lessons"
NAMES = {
    "sp-cone": "cone_seconds", "sp-recall-course": "course_in", "sp-predict": "half_a_mile_out",
    "sp-rule": "cone_rule", "sp-task": "passage_brief", "sp-order": "passage_order", "sp-flags": "flags",
}  # fmt: skip


def said(key, typed_text, whole=False):
    """What is said after typing this as the answer, or as the whole cell: the sentence, and the verdict."""
    from IPython.core.inputtransformer2 import TransformerManager

    now = session.Session()
    now.begin(session.lesson_of("station-passage"), "Finch 12")
    name = NAMES[key]
    now.cell = typed_text if whole else f'ask("{key}")\n{name} = {typed_text}'
    now.typed = {key: now.cell}
    names = {"ask": lambda key: None, name: None}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            exec(compile(TransformerManager().transform_cell(now.cell), "cell", "exec"), names)
        except Exception as error:
            return mistakes.in_one_sentence(error, now), None
    verdict = judging.judge(QUESTIONS[key], now.numbers(key), names[name])
    told = [cell.text for _, cell in verdict.cells if cell.outcome == "ERROR"]
    found = [mistakes.unanswered(key, name, now) if verdict.outcome == "NOT_ATTEMPTED" else "", verdict.text, *told]
    return " ".join([*found, mistakes.doubtful(key, now)]).strip(), verdict


TYPED = [
    ("sp-cone", "44 s", "44, not 44 s"),
    ("sp-cone", "44s", "44, not 44s"),
    ("sp-cone", "44 seconds", "44, not 44 seconds"),
    ("sp-cone", "125 degrees", "125, not 125 degrees"),
    ("sp-cone", "44°", "44, not 44°"),
    ("sp-cone", "44 NM", "44, not 44 NM"),
    ("sp-cone", "44ft", "44, not 44ft"),
    ("sp-cone", "44 %", "44, not 44 %"),
    ("sp-cone", "5,8", "Decimals with a point (5.8)"),
    ("sp-cone", "1,588", "thousands without a comma (1588)"),
    ("sp-cone", "'5,8'", "Decimals have a point"),
    ("sp-cone", "'1,588'", "Thousands are written without a comma"),
    ("sp-cone", "1.588,5", "A comma makes two numbers of it"),
    ("sp-cone", "1 588", "no blank in it: 1588"),
    ("sp-cone", "= 44", "one = too many"),
    ("sp-cone", "44 = 44", "one = too many"),
    ("sp-cone", "044", "write 44, not 044"),
    ("sp-cone", "44.5.5", "two points"),
    ("sp-cone", "44?", "take the ? at its end away"),
    ("sp-cone", "44!", "take the ! at its end away"),
    ("sp-cone", "about 44", "without words"),
    ("sp-cone", "44 or 45", "Write one number"),
    ("sp-cone", "44-46", "takes one from the other"),
    ("sp-cone", "~44", "The sign ~"),
    ("sp-cone", "60^50", "60 squared is 60**2"),
    ("sp-cone", "44 +/- 1", "without plus or minus"),
    ("sp-cone", "½", "written as a division: 1/2"),
    ("sp-cone", "3÷4", "/ divides"),
    ("sp-cone", "3×4", "* multiplies"),
    ("sp-cone", "3x4", "x is not taken"),
    ("sp-cone", "2:43", "2:43 is 163 seconds"),
    ("sp-cone", "'2:43'", "2:43 is 163"),
    ("sp-cone", "44 *", "nothing stands behind that"),
    ("sp-cone", "(44", "the ) that closes the ( is missing"),
    ("sp-cone", "44)", "a ) too many"),
    ("sp-cone", "2 (3 + 4)", "A sign is missing in front of a bracket"),
    ("sp-cone", "None * 2", "still None"),
    ("sp-cone", "'44' / 2", "a number has no quotation marks"),
    ("sp-cone", "44/0", "divided by zero"),
    ("sp-cone", "1200*h/gs", "“h” stands for no number here"),
    ("sp-cone", "sqrt(44)", "“sqrt” is not known here yet. Write the number"),
    ("sp-cone", "cos(67)", "cos(radians(67))"),
    ("sp-cone", "math.cos(67)", "from math import"),
    ("sp-cone", "x", "“x” stands for no number here"),
    ("sp-cone", "none", "“None” has a capital N"),
    ("sp-cone", "‘44’", "curly"),
    ("sp-cone", '"forty"', "'forty' is text. Digits"),
    ("sp-cone", '"44 kt"', "without its unit"),
    ("sp-cone", "{44}", "One number was asked for"),
    ("sp-cone", "[44, 45]", "this is a list"),
    ("sp-cone", "True", "yes or no"),
    ("sp-recall-course", "065", "write 65, not 065"),
    ("sp-recall-course", "405", "take away 360"),
    ("sp-recall-course", "-25", "add 360"),
    ("sp-recall-course", "R065", "A radial is written as its number alone: 65"),
    ("sp-recall-course", "north", "stands for no number here"),
    ("sp-predict", "b", 'write "B"'),
    ("sp-predict", "B", 'write "B"'),
    ("sp-predict", "'B", "a quotation mark is missing"),
    ("sp-predict", "“B”", "curly"),
    ("sp-predict", "option B", "stand in quotation marks"),
    ("sp-predict", "2", "Write it in quotation marks"),
    ("sp-order", "BADCE", 'together in quotation marks: "BADCE"'),
    ("sp-order", "B,A,D,C,E", 'together in quotation marks: "BADCE"'),
    ("sp-order", '"BADCE', "a quotation mark is missing"),
    ("sp-flags", "[TO LEFT, TO RIGHT]", 'it needs quotation marks: "TO LEFT"'),
    ("sp-flags", '["TO LEFT"; "TO RIGHT"]', "between two entries stands a comma"),
    ("sp-flags", '["TO LEFT" "TO RIGHT", "FROM LEFT", "TO LEFT"]', "Between any two stands a comma"),
    ("sp-rule", "1200*h/gs", 'stands in quotation marks: cone_rule = "1200*h/gs"'),
    ("sp-rule", "1200 * h / gs kt", "a rule stands in quotation marks"),
    ("sp-rule", "'1200*h/gs", "a quotation mark is missing"),
    ("sp-rule", "'1200 h/gs'", "Put * between 1200 and h"),
    ("sp-rule", "'1200h/gs'", "Put * between 1200 and h"),
    ("sp-rule", "'1200(h)/gs'", "Put * between 1200 and the bracket"),
    ("sp-rule", "'t=1200*h/gs'", "Leave out the '='"),
    ("sp-rule", "'1200*h:gs'", "written with /"),
    ("sp-rule", "'1200*h/gs s'", "'s' is none of the names here"),
    ("sp-rule", "'1200*height/gs'", "'height' is none of the names here"),
    ("sp-rule", "'1200*h//gs'", "'//' is not taken"),
    ("sp-rule", "'(1200*h)/(gs'", "A bracket is missing"),
    ("sp-rule", "'1200,5*h/gs'", "1200.5, not 1200,5"),
    ("sp-rule", "'01200*h/gs'", "1200, not 01200"),
    ("sp-rule", "44", "in quotation marks"),
    ("sp-task", '{\n    "lowest DME": 0,8,\n    "heading outbound": 60,\n}', "0.8, not 0,8"),
    ("sp-task", '{\n    "lowest DME": 1,588,\n    "heading outbound": 60,\n}', "1588, not 1,588"),
    ("sp-task", '{\n    "lowest DME": 0.8\n    "heading outbound": 60,\n}', "a comma is missing at its end"),
    ("sp-task", '{"lowest DME": 0.8 "heading outbound": 60}', "a comma is missing between two entries"),
    ("sp-task", '{\n    "lowest DME" = 0.8,\n}', "stands a colon, not ="),
    ("sp-task", '{\n    "lowest DME": = 0.8,\n}', "one = too many"),
    ("sp-task", '{\n    "lowest DME": 0.8 NM,\n}', "0.8, not 0.8 NM"),
    ("sp-task", '{\n    "lowest DME": 08,\n}', "write 8, not 08"),
    ("sp-task", '{\n    "lowest DME": ,\n}', "nothing stands behind it"),
    ("sp-task", '{\n    "lowest DME: 0.8,\n}', "a quotation mark is missing"),
    ("sp-task", "{\n    lowest DME: 0.8,\n}", "the label has lost its quotation marks"),
    ("sp-task", '{\n    "lowest DME": 0.8,\n', "the } that closes the { is missing"),
    ("sp-task", '{\n    "5 NM": 3,7,\n    "lowest DME": 0.8,\n}', "3.7, not 3,7"),
    ("sp-task", '{\n    "lowest": 0.8,\n}', "“lowest” is not a cell of this table"),
    ("sp-task", "{45, 0.8, 60, 70}", "A table was asked for"),
]
WHOLE = [
    ('ask("sp-cone")\ncone_seconds = None\n125', "Your 125 stands on a line of its own"),
    ('ask("sp-cone")\n125', "as in cone_seconds = 125"),
    ('ask("sp-cone")\ncone_seconds = None\n  125', "let it begin at the left edge"),
    ('ask("sp-cone")\n  cone_seconds = 125', "let it begin at the left edge"),
    ('ask("sp-cone")\ncone_seconds == 125', "Two = only compare"),
    ('ask("sp-cone")\ncone_seconds 125', "the = is missing: cone_seconds = 125"),
    ('ask("sp-cone")\ncone_seconds: 125', "stands =, not a colon"),
    ('ask("sp-cone")\n125 = cone_seconds', "stands in front of the ="),
    ('ask("sp-cone")\ncone seconds = 125', "no blank in it: cone_seconds"),
    ('ask("sp-cone")\ncone_second = 125', "has changed: it is cone_seconds"),
    ('ask("sp-cone"\ncone_seconds = 125', "the ) that closes the ( is missing"),
    ("ask(sp-cone)\ncone_seconds = 125", "needs its quotation marks"),
    ('Ask("sp-cone")\ncone_seconds = 125', "written with small letters: ask"),
]
FORBIDDEN = re.compile(
    r"line \d|traceback|exception|syntax|object|operand|variable|string|float|\bint\b|\bdict", re.I
)


@pytest.mark.parametrize(("key", "text", "expected"), TYPED)
def test_a_mistake_of_typing_is_named(key, text, expected):
    """Definition: what was typed wrongly, and how it is written; no line numbers, no words of programming."""
    sentence, verdict = said(key, text)
    assert expected in sentence
    assert "\n" not in sentence
    assert not FORBIDDEN.search(sentence)
    assert verdict is None or verdict.outcome != "PASS"


@pytest.mark.parametrize(("cell", "expected"), WHOLE)
def test_a_cell_that_lost_its_form_is_named(cell, expected):
    """Definition: an answer that stands elsewhere than behind its name is told so."""
    sentence, _ = said("sp-cone", cell, whole=True)
    assert expected in sentence
    assert not FORBIDDEN.search(sentence)


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("sp-cone", "'{}'"), ("sp-cone", "[{}]"), ("sp-cone", "{},"), ("sp-cone", "{}.0"), ("sp-cone", "({})"),
        ("sp-cone", "{};"), ("sp-cone", "{}  # seconds"),
    ],
)  # fmt: skip
def test_a_right_answer_in_another_form_counts(key, text):
    """Definition: in quotation marks, alone in a list, with a comma too many: it is the same answer."""
    now = session.Session()
    now.begin(session.lesson_of("station-passage"), "Finch 12")
    right = round(QUESTIONS[key].right(now.numbers(key)))
    assert said(key, text.replace("{}", str(right)))[1].outcome == "PASS"


def test_a_direction_in_three_digits_counts():
    """Definition: "065" in quotation marks is how a heading is spoken; a rule's thousands may have their comma."""
    right = round(QUESTIONS["sp-recall-course"].right(judging.draw(QUESTIONS["sp-recall-course"], "Finch 12")))
    assert said("sp-recall-course", f'"{right:03d}"')[1].outcome == "PASS"
    assert said("sp-rule", '"1,200 * h / gs"')[1].outcome == "PASS"


def answer_cells():
    """The answer cells as they are handed out."""
    for key in ORDER:
        book = json.loads((LESSONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))
        for cell in book["cells"]:
            if cell["metadata"].get("nbgrader", {}).get("solution"):
                yield cell["metadata"]["nbgrader"]["grade_id"], "".join(cell["source"])


def test_nothing_is_wrong_with_a_cell_as_it_was():
    """Definition: filled in as asked, no answer cell of the course has a fault; nor does one that is untouched."""
    for grade_id, source in answer_cells():
        for value in ("None", "45", "0.8", '"TO"', '"A"', "-3", "65 + 180", '"1200 * h / gs"'):
            assert typed.fault(source.replace("None", value)) == ("", ""), (grade_id, value)
            assert not typed.doubtful(source.replace("None", value)), (grade_id, value)
        name = re.search(r"(?m)^(\w+) = ", source)
        assert typed.not_given(source, name[1]) == "", grade_id


MUTATIONS = [
    ("0,8", "0.8, not 0,8"), ("45 kt", "45, not 45 kt"), ("045", "write 45, not 045"), ("“A”", "curly"),
    ('"A', "a quotation mark is missing"), ("= 45", "one = too many"), ("12 45", "no blank in it"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "expected"), MUTATIONS)
def test_in_every_answer_cell_of_the_course(value, expected):
    """Definition: the usual mistakes are named whatever the cell looks like."""
    for grade_id, source in answer_cells():
        if "None" not in source or "flight_of" in source:
            continue
        cell = source.replace("None", value, 1).replace("None", "45")
        if value == "0,8" and "{" not in cell and "[" not in cell:
            continue  # two numbers, which can be read: judged as such
        assert expected in typed.fault(cell)[0], (grade_id, cell)


def test_that_the_first_cell_is_missing_is_told_at_length_once():
    """Definition: nineteen cells below a first one that stopped do not say the same nineteen times."""
    now = session.Session()
    told = []
    for _ in range(3):
        with pytest.raises(session.LessonError) as caught:
            now.question("sp-cone")
        told.append(str(caught.value))
    assert "Run the first code cell" in told[0]
    assert told[1] == told[2] == "As said above: the first code cell comes first."


def test_the_text_of_an_answer_cell_is_remembered(monkeypatch):
    """Definition: whoever runs the cell of the verdict learns what stood in the cell of the answer."""
    from types import SimpleNamespace

    from needlework import lesson

    monkeypatch.setattr(session, "current", session.Session())
    monkeypatch.setattr(outputs, "show", lambda page, text, said: None)
    lesson.begin("station-passage")
    cells.before(SimpleNamespace(raw_cell='ask("sp-cone")\ncone_seconds = None\n125'))
    cells.before(SimpleNamespace(raw_cell='check("sp-cone", cone_seconds)'))
    assert "Your 125 stands on a line of its own" in lesson.check("sp-cone", None)._repr_html_()
    cells.before(SimpleNamespace(raw_cell='ask("sp-cone")\ncone_seconds = 60^5'))
    cells.before(SimpleNamespace(raw_cell='check("sp-cone", cone_seconds)'))
    assert "60 squared is 60**2" in lesson.check("sp-cone", 60 ^ 5)._repr_html_()
