"""What the class knows: figures against known abilities, sentences, the same wrong answers, one comment to all."""

import csv
import io
import json
import re
import shutil

import browser
import class_model
import hand_in_bank as bank
import numpy as np
import pytest
import tiny_lesson
from axe_playwright_python.sync_playwright import Axe
from needlework.basis.errors import BadData
from needlework.course import command
from needlework.desk import class_look, class_page, items, room, to_all
from needlework.desk.alike import WAYS, Answer, Given, described, grouped, part_of, places_of
from needlework.desk.homework import Desk
from scipy import stats

LESSON, CONE = bank.LESSON, bank.CONE


def seen(rows, told, questions, full=None):
    """Put a simulated class before the same eyes as a real one."""
    names = {f"q-{n:02d}": class_look.Counted(1.0, f"q-{n:02d}") for n in range(questions)}
    return class_look.seen("simulated", "Simulated", names, {}, rows, told, full or {})


def simulated(drawn, seed=1):
    rng = np.random.default_rng(seed)
    return seen(*class_model.handed_in(rng, np.asarray(drawn, dtype=float)), np.shape(drawn)[1])


# Figures ------------------------------------------------------------------------------------------------------------


def test_the_interval_is_that_of_an_independent_library():
    """SciPy, pearsonr and its confidence_interval, which states Fisher's transformation: the same to nine figures."""
    rng = np.random.default_rng(5)
    drawn = class_model.marks(rng, class_model.good(rng, 12), 60)
    for n, together in enumerate(items.with_the_rest(drawn)):
        found = stats.pearsonr(drawn[:, n], np.delete(drawn, n, axis=1).sum(axis=1))
        for level, ends in ((0.95, (together.low, together.high)), (0.99, (None, together.surely_below))):
            wanted = found.confidence_interval(level)
            assert together.r == pytest.approx(found.statistic, abs=1e-9)
            assert ends[1] == pytest.approx(wanted.high, abs=1e-6)  # the deviate has seven figures
            assert ends[0] is None or ends[0] == pytest.approx(wanted.low, abs=1e-6)


def test_the_interval_holds_what_it_should():
    """Definition of a confidence interval: of many classes about 95 in 100 hold the correlation of a very large "
    "one."""
    rng = np.random.default_rng(6)
    questions = class_model.good(rng, 20)
    wanted = [each.r for each in items.with_the_rest(class_model.marks(rng, questions, 100_000))]
    held = total = 0
    for _ in range(100):
        for each, r in zip(items.with_the_rest(class_model.marks(rng, questions, 200)), wanted, strict=True):
            held, total = held + (each.low <= r <= each.high), total + 1
    print(f"held {held} of {total}")
    assert 0.93 <= held / total <= 0.97  # marks are not normal: how well the formula does all the same


def test_the_planted_question_is_found_and_no_good_one_named():
    """A class of 200 with known abilities, forty good questions and one whose key is wrong."""
    rng = np.random.default_rng(2026)
    questions = class_model.with_a_bad_one(class_model.good(rng, 40))
    look = simulated(class_model.marks(rng, questions, 200))
    named = [one.name for one in look.asked if one.together.suspect]
    assert named == ["q-40"]
    about = [text for kind, text in look.first if kind == "wrong"]
    assert all(text.startswith("q-40: ") for text in about)
    assert any("those who know the rest do worse in it" in text for text in about)
    assert any("they are 10 NM too much" in text for text in about)
    page = class_page.page(look, lambda *_: "", "file", "today")
    assert "Surely below the others: “q-40”." in page


@pytest.mark.parametrize(("students", "most_false", "least_found"), [(200, 0.02, 0.98), (30, 0.03, 0.6)])
def test_how_often_a_good_question_is_named(students, most_false, least_found):
    """Counted over 300 simulated classes of forty good questions and one with a wrong key; the page quotes the "
    "counts."""
    rng = np.random.default_rng(students)
    false = found = 0
    for _ in range(300):
        questions = class_model.with_a_bad_one(class_model.good(rng, 40))
        *ours, bad = items.with_the_rest(class_model.marks(rng, questions, students))
        false, found = false + any(each.suspect for each in ours), found + bad.suspect
    print(f"{students} students: a good question named in {false} of 300 classes, the bad one in {found}")
    assert false / 300 <= most_false
    assert found / 300 >= least_found


# What cannot be told ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        (np.zeros((0, 5)), "Nobody's work has a mark"),
        ([[1, 0, 1, 1, 0]], "One hand-in has a mark"),
        ([[1, 0, 1, 1, 0]] * 3, "3 hand-ins have a mark: from fewer than 5 nothing can be said of a class"),
        (
            [[1, 0, 1, 1, 0], [0, 0, 1, 1, 1]] * 4,
            "From 8 hand-ins it cannot be told how a question goes with the rest",
        ),
        (np.ones((12, 5)), "Everybody has full marks"),
        (np.zeros((12, 5)), "Nobody has a single mark"),
    ],
)
def test_what_cannot_be_told_is_said(drawn, said):
    """Definition: a class from which nothing follows is told in a sentence, and the page is made all the same."""
    look = simulated(drawn)
    assert any(said in text for text in look.cannot)
    page = class_page.page(look, lambda *_: "", "file", "today")
    assert said.replace("'", "&#x27;") in page and "nan" not in page.casefold()
    assert not [text for kind, text in look.first if kind == "wrong" and "those who know" in text]
    assert class_page.table(look).startswith("question,part,title,")


def test_what_nobody_answered_is_said():
    """Definition: no share and no correlation of a question that nobody answered."""
    rng = np.random.default_rng(3)
    drawn = class_model.marks(rng, class_model.good(rng, 6), 30)
    drawn[:, 2] = 0.0
    rows, told = class_model.handed_in(rng, drawn)
    for one in told.values():
        one["told"]["q-02"] = {
            "outcome": "NOT_ATTEMPTED",
            "parts": [{"label": "", "outcome": "NOT_ATTEMPTED", "slip": ""}],
        }
    look = seen(rows, told, 6)
    assert look.asked[2].shares is None and look.asked[2].answered == 0
    assert "Of what nobody answered nothing can be told: “q-02”." in look.cannot
    assert "everybody has the same mark in it" in class_page.page(look, lambda *_: "", "file", "today")


def test_who_is_stuck():
    """Definition: little right, everything empty from a place on, and the same mistake again and again."""
    rng = np.random.default_rng(4)
    drawn = class_model.marks(rng, class_model.good(rng, 10), 30)
    drawn[7], drawn[8, 4:] = 0.0, 0.0
    rows, told = class_model.handed_in(rng, drawn)
    for name, one in told["pilot-008"]["told"].items():
        if name >= "q-04":
            one.update(outcome="NOT_ATTEMPTED", parts=[{"label": "", "outcome": "NOT_ATTEMPTED", "slip": ""}])
    for one in told["pilot-009"]["told"].values():
        one.update(outcome="NOT_ATTEMPTED", parts=[{"label": "", "outcome": "NOT_ATTEMPTED", "slip": ""}])
    told["pilot-010"] = {"told": {name: dict(one) for name, one in told["pilot-009"]["told"].items()}, "worked": {}}
    told["pilot-010"]["told"]["q-03"]["code"] = "its code ran and gave no answer"
    look = seen(rows, told, 10)
    assert look.code == [("pilot-010", ["“q-03”: its code ran and gave no answer"])]
    assert "pilot-010: “q-03”: its code ran" in class_page.page(look, lambda *_: "", "file", "today")
    assert look.empty == ["pilot-009"], "an empty file is not somebody who is stuck"
    assert "<h3>An empty file</h3><p>pilot-009: no answer" in class_page.page(look, lambda *_: "", "file", "today")
    stuck = {one.student: "; ".join(one.why) for one in look.stuck}
    assert "pilot-009" not in stuck
    assert "has less than 40 % of the marks" in stuck["pilot-007"]
    assert re.search(r"took the other end of the line, 180 degrees off in \d questions", stuck["pilot-007"])
    assert "stopped after “q-03”: the last 6 are empty" in stuck["pilot-008"]


def test_coming_late_is_no_lack_of_knowledge():
    """Definition: what is taken off for the time is put back here, and the page says so."""
    rng = np.random.default_rng(4)
    rows, told = class_model.handed_in(rng, class_model.marks(rng, class_model.good(rng, 4), 12))
    before = seen(rows, told, 4).marks
    rows[0] |= {"mark": rows[0]["mark"] - 0.5, "off": 0.5}
    look = seen(rows, told, 4)
    assert look.marks == before
    assert "The marks here are before anything was taken off for one hand-in that came late." in class_page.page(
        look, lambda *_: "", "", ""
    )


def test_hints_and_time_where_they_are_known():
    """Definition: minutes from one check to the next, a long break left out; what no notebook tells is not known."""
    rng = np.random.default_rng(4)
    rows, told = class_model.handed_in(rng, class_model.marks(rng, class_model.good(rng, 4), 12))
    for student, minutes in (("pilot-000", 4.0), ("pilot-001", 8.0)):
        told[student]["worked"] = {
            "q-00": {"at": 1000.0, "hints": 2},
            "q-01": {"at": 1000.0 + 60.0 * minutes},
            "q-02": {"at": 90_000.0},
        }
    asked = seen(rows, told, 4).asked
    assert (asked[0].hints, asked[1].hints, asked[3].hints) == ((2, 2.0, 2), (0, 0.0, 2), None)
    assert [one.minutes for one in asked] == [None, (2, 6.0), None, None]


def test_one_finding_stands_once_however_many_lines_it_is_in():
    """Definition: of a table with one mistake in three lines and of letters that many chose, each is told once."""

    def part(label, slip="", said="", outcome="SLIP"):
        return {
            "label": label,
            "outcome": outcome if slip or outcome == "WRONG" else "PASS",
            "slip": slip,
            "said": said,
        }

    rows = [{"student": f"pilot-{n:02d}", "mark": 1.0, "q-00": 0.5, "q-01": float(n % 2)} for n in range(20)]
    told = {
        row["student"]: {
            "worked": {},
            "told": {
                "q-00": {
                    "outcome": "SLIP",
                    "parts": [part(f"line {line}", "RECIP" if n < 8 + line else "") for line in (1, 2, 3)]
                    + [part("order", "", "BCEDA", "WRONG") if n < 9 else part("order", said="ABCDE")],
                },
                "q-01": {"outcome": "SLIP", "parts": [part("", "OWN", "B") if n < 10 else part("", said="A")]},
            },
        }
        for n, row in enumerate(rows)
    }
    look = seen(rows, told, 2)
    first = [text for kind, text in look.first if kind == "teach"]
    assert len(first) == 2, first
    assert "in 3 of its lines (“line 1”, “line 2”, “line 3”) up to 55 % (11 of 20) took the other end" in first[0]
    assert "made the same mistake (they gave B)" in first[1]
    page = class_page.page(look, lambda *_: "", "", "")
    assert "they gave B" in page and "For example BCEDA" not in page and "gave “BCEDA”" in page


def test_what_the_judge_names_in_a_plan_is_counted():
    """Definition: a plan is judged by goals; the mistake that its student reads of stands in what the class gave."""
    from needlework.desk.judging import _told
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS

    plan = QUESTIONS["sp-plan"]
    rows, told = [], {}
    for n in range(6):
        givens = judging.draw(plan, f"pilot-{n}")
        answer = dict(plan.right(givens)) | ({"turn when the flag shows": "TO"} if n < 4 else {})
        verdict = judging.judge(plan, givens, answer)
        assert ("waiting for TO" in verdict.text) == (n < 4)
        rows.append({"student": f"pilot-{n}", "mark": 1.0, "q-00": 1.0 + n, "q-01": 1.0})
        told[f"pilot-{n}"] = {"worked": {}, "told": {"q-00": _told(plan, givens, verdict)}}
    whole = {place.label: place for place in seen(rows, told, 2).asked[0].places}["the plan"]
    assert [(one.code, len(one.students)) for one in whole.mistakes] == [("TOFROM", 4)]
    assert (whole.answered, whole.right, whole.groups, whole.alone) == (6, 2, [], [])


# Wrong answers that are the same ------------------------------------------------------------------------------------


def wrong(rng, make, share=0.4, count=30, circle=False):
    given = []
    for n in range(count):
        right, heading = rng.uniform(50.0, 300.0), rng.uniform(10.0, 300.0)
        got = make(right, heading) if rng.random() < share else rng.uniform(0.0, 360.0 if circle else 500.0)
        numbers = {"heading_deg": heading}
        given.append(
            Given(f"s{n}", "WRONG", got=round(got, 1), right=right, within=0.5, circle=circle, numbers=numbers)
        )
    return given


@pytest.mark.parametrize(
    ("make", "circle", "said"),
    [
        (lambda right, _: right + 10.0, False, "off by +10"),
        (lambda right, _: right * 2.0, False, "times 2"),
        (lambda _right, _: 180.0, False, "is 180"),
        (lambda _right, heading: heading, False, "uses heading_deg"),
        (lambda right, _: (right + 90.0) % 360.0, True, "off by +90"),
    ],
)
def test_the_same_mistake_is_found_though_numbers_differ(make, circle, said):
    """Definition: what is comparable stands together, and its description finds all of it again."""
    given = wrong(np.random.default_rng(8), make, circle=circle)
    groups, alone = grouped(given)
    assert [str(group.answer) for group in groups] == [said]
    again = described(said)
    planted = [each for each in given if again.fits(each)]
    assert {each.student for each in planted} == {each.student for each in groups[0].given}
    assert 8 <= len(planted) <= 16 and len(alone) == 30 - len(planted)


def test_chance_makes_few_groups():
    """Of 200 classes whose wrong answers lie anywhere, none has a group, as the page says."""
    rng = np.random.default_rng(9)
    some = sum(bool(grouped(wrong(rng, None, share=0.0))[0]) for _ in range(200))
    print(f"{some} of 200 classes have a group by chance")
    assert some == 0


def test_letters_stand_together_and_the_right_never_does():
    """Definition: the same letter from two is a group; an answer that is right is of no kind."""
    given = [Given(f"s{n}", "WRONG", said=said) for n, said in enumerate(("B", "b", "C"))]
    groups, alone = grouped([*given, Given("s9", "PASS", said="B"), Given("s8", "SLIP", "LR", "B")])
    assert [(str(group.answer), len(group.given)) for group in groups] == [("is B", 2)] and len(alone) == 1
    assert not any(described(each).fits(Given("x", "PASS", "", "B", 180.0, 180.0, 1.0)) for each in WAYS.values())
    assert Answer("mistake", "LR").fits(Given("x", "SLIP", "RECIP+LR"))
    assert Answer("left out").fits(Given("x", "NOT_ATTEMPTED"))


def test_a_row_whose_label_holds_the_students_own_numbers_is_one_place():
    """Definition: the same row of everybody stands together, and a comment finds it again in each hand-in."""

    def answered(n):
        first = {"label": f"on radial {100 + 7 * n}, course {90 + n} set", "outcome": "PASS", "slip": ""}
        if n < 3:
            first |= {"outcome": "SLIP", "slip": "LR", "said": "left", "text": "Left is right."}
        last = {"label": "in the cone", "outcome": "WRONG", "slip": "", "said": f"{n}"}
        return {"q-00": {"outcome": "PARTIAL", "parts": [first, last]}}

    told = {f"pilot-{n}": {"told": answered(n), "worked": {}} for n in range(8)}
    rows = [{"student": each, "mark": 0.5, "q-00": 0.5, "off": 0.0, "late": "", "look_at": ""} for each in told]
    look = seen(rows, told, 1)
    assert [place.label for place in look.asked[0].places] == ["row 1", "in the cone"]
    page = class_page.page(look, lambda *words: " ".join(map(str, words)), "file", "today")
    assert "<b>row 1 (such as “on radial 100, course 90 set”)</b>: 3 of 8 turned the wrong way" in page
    assert "q-00 row 1 mistake LR" in page and "that nobody else made" not in page
    comment = to_all.Comment("q-00", "row 1", described("mistake LR"), "Mirror it.")
    assert [student for student in told if comment.reaches(told[student]["told"])] == [
        "pilot-0",
        "pilot-1",
        "pilot-2",
    ]
    lines = to_all.lines_for([comment], told["pilot-1"]["told"])
    assert lines == {
        "q-00": ["From your instructor, to everyone with this answer (“on radial 107, course 91 set”): Mirror it."]
    }


def test_rows_in_another_order_keep_their_labels():
    """Definition: a label that everybody has is the same place wherever it stands."""
    tables = [{"parts": [{"label": one} for one in order]} for order in (["30 NM", "20 NM"], ["20 NM", "30 NM"])]
    assert places_of(tables) == {"30 NM": "30 NM", "20 NM": "20 NM"}
    apart = [{"parts": [{"label": f"on radial {n}"}, {"label": ""}]} for n in (10, 20)]
    assert part_of(apart[0], "row 1") is None, "what was left out as a whole has no rows"


def test_a_mistake_is_told_by_more_than_its_code():
    """Definition: where no words are known for the class, the first sentence of what one of them is told."""
    text = "That is the way in to the middle. You also have to come out."
    told = class_look.told_as(class_look.Mistake("DIAM", ["a", "b"], text))
    assert told == "made one mistake (DIAM: “That is the way in to the middle.”)"
    for before in (
        "Two things at once would give this. ",
        "Two things at once would give this. One is: ",
        "It may be this, though it does not give quite this number: ",
        "It may be a slip of the sum, or this: ",
        "Worked from your own “course to set”: ",
        "Worked from your own “course to set”: Not yet. You gave 4.5 degrees magnetic. ",
        "3 of 6 cases. ",
    ):
        twice = "Right side, and twice the correction: you cross to the upwind side."
        one = class_look.Mistake("DOUBLE/two", ["a", "b"], f"{before}{twice} The nose goes there.")
        assert class_look.first_words(one) == twice
    short = class_look.Mistake("CHASE", ["a"], "Too much. The needle comes back by itself. Wait.")
    assert class_look.first_words(short) == "Too much. The needle comes back by itself."
    assert class_look.first_words(class_look.Mistake("X", ["a"], "Too much.")) == "Too much."
    own = "Two things: a cut of 30 degrees; and it leads away from the line."
    assert class_look.first_words(class_look.Mistake("X", ["a"], own)) == own
    assert class_look.told_as(class_look.Mistake("LR", ["a"], text)) == "turned the wrong way, left for right"


def test_no_bare_code_and_no_lone_hardest_on_the_page():
    """Definition: a mistake is told in its own words, a tie as a tie, a goal by what is told of it, not as unread."""
    text = "It may be this, though it does not give quite this number: Twice the width. Once is enough."
    part = {"label": "", "outcome": "SLIP", "slip": "TWICE", "said": "58", "text": text}
    goal = {"label": "over the station", "outcome": "WRONG", "slip": "", "said": "", "text": "Passed 3.4 NM beside."}
    told = {}
    for n in range(6):
        right = {"outcome": "PASS", "parts": [{"label": "", "outcome": "PASS", "slip": ""}]}
        answers = {"q-00": right, "q-01": right, "q-02": {"outcome": "PASS", "parts": [goal | {"outcome": "PASS"}]}}
        if n == 0:
            answers = {"q-00": {"outcome": "SLIP", "parts": [part]}, "q-01": right}
            answers["q-02"] = {"outcome": "WRONG", "parts": [goal]}
        told[f"p{n}"] = {"told": answers, "worked": {}}
    rows = [
        {"student": each, "mark": 3.0 - 2 * (each == "p0"), "q-00": float(each != "p0"), "q-01": 1.0}
        | {"q-02": float(each != "p0"), "off": 0.0, "late": "", "look_at": ""}
        for each in told
    ]
    page = class_page.page(seen(rows, told, 3), lambda *_: "", "file", "today")
    assert "<td>“Twice the width.” 1 of 6</td>" in page and ">TWICE" not in page
    assert "2 questions are the hardest, with 83 % each. The easiest is “q-01” with 100 %." in page
    assert "1 of 6 did not meet this" in page and "p0: “Passed 3.4 NM beside.”" in page
    assert "nothing that could be read" not in page
    assert "Nothing stands out: no mistake is made by three in ten.</p>\n<p><b>Cannot be told.</b>" in page


def test_a_question_says_which_mistakes_it_knows():
    """Definition: its own, those of its table's cells, and what students made; of a flight it cannot be told."""
    assert {"MSLH", "DIAM"} <= set(class_look.codes_of("sp-cone", []))
    assert {"ZERO", "RECIP"} <= set(class_look.codes_of("sp-task", []))
    assert "ODD" in class_look.codes_of("sp-cone", [{"parts": [{"slip": "ODD+LR"}]}])
    assert class_look.codes_of("sp-plan", []) is None and class_look.codes_of("of-somebody-else", []) is None


@pytest.mark.parametrize("text", ["", "off by much", "times", "something else", "left out 3", "is "])
def test_a_description_that_is_none(text):
    """Definition: one sentence with examples."""
    with pytest.raises(BadData, match="describes no answer: write it as the page does, “is 180”"):
        described(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("question,answer\nq,is B\n", "must name the columns question; part; answer; comment"),
        (
            "question,part,answer,comment\nnone,,is B,Look.\n",
            "In line 2 .* there is no question “none”: choose from q",
        ),
        ("question,part,answer,comment\nq,,is B,\n", "In line 2 .* the comment is missing"),
        ("question,part,answer,comment\nq,,so so,Look.\n", "In line 2 .* “so so” describes no answer"),
    ],
)
def test_a_faulty_file_of_comments(tmp_path, text, said):
    """Definition: one sentence that names the line."""
    path = tmp_path / "comments.csv"
    path.write_text(text)
    with pytest.raises(BadData, match=said):
        to_all.read(path, ["q"])


def test_comments_survive_a_spreadsheet(tmp_path):
    """Definition: what was written is read back, also with semicolons, a byte-order mark and other line ends."""
    path = tmp_path / "comments.csv"
    kept = [to_all.Comment("q", "the, second", described("off by -2.5"), "Höher; “so”, please.")]
    to_all.write(path, kept)
    assert to_all.read(path, ["q"]) == kept
    rows = list(csv.reader(io.StringIO(path.read_text("utf-8-sig"))))
    text = io.StringIO()
    csv.writer(text, delimiter=";", lineterminator="\r\n").writerows([*rows, ["", "", "", ""]])
    path.write_bytes(text.getvalue().encode("utf-8-sig"))
    assert to_all.read(path, ["q"]) == kept
    path.write_bytes(text.getvalue().encode("latin-1", "replace"))
    with pytest.raises(BadData, match="not written in UTF-8"):
        to_all.read(path, ["q"])


# On a desk ----------------------------------------------------------------------------------------------------------


def named(book, student):
    return json.loads(json.dumps(book).replace(f"student = '{bank.STUDENT}'", f"student = '{student}'"))


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Six hand-ins; three wrote 999 where every one has another right value, and no mistake explains it."""
    if not room.walls_stand():
        pytest.skip("bubblewrap is missing")
    folder = tmp_path_factory.mktemp("class")
    made = Desk(folder / "desk")
    made.hand_out(LESSON)
    for number in range(6):
        student = f"finch-{number}"
        paper = named(bank.cone(f"{bank.V} = 999") if number < 3 else bank.BASE, student)
        tiny_lesson.write(paper, folder / "in" / f"{student}.ipynb")
    (made.folder / "students.csv").write_text(
        "student,name\n" + "".join(f"finch-{n},Finch <b>{n}</b>\n" for n in range(7)), encoding="utf-8"
    )
    made.collect(LESSON, folder / "in")
    made.mark(LESSON)
    return made


@pytest.mark.slow
def test_one_comment_reaches_all_who_gave_that_answer(desk, tmp_path, capsys):
    """Definition: typed once, on their pages only, after marking again too, for a latecomer too, and taken back."""
    where = ["--desk", str(desk.folder)]
    assert command.main(["desk", "class", LESSON, *where]) == 0
    page = (desk.folder / "class" / f"{LESSON}.html").read_text(encoding="utf-8")
    assert f"--desk {desk.folder} tell-all {LESSON} {CONE} &quot;is 999&quot; &quot;YOUR COMMENT&quot;" in page
    for said in ('is x"; touch /tmp/x; "', "is $(id)", "is `id`", "is a|b"):
        assert class_look.comment_command(desk, LESSON, CONE, "", described(said)) == "", (
            "no student writes a command"
        )
    assert class_look.comment_command(desk, LESSON, CONE, "", described("is h*gs")).count('"is h*gs"') == 1
    assert "all gave 999 seconds, though every student" in page
    assert "Finch &lt;b&gt;6&lt;/b&gt;" in page, "nothing handed in, and no name is taken for markup"
    assert not re.search(r"""(?:src|href)\s*=\s*["'](?!#)""", page), "the page asks nobody for anything"
    said = "Read 9 on the clock again."
    assert command.main(["desk", "tell-all", LESSON, CONE, "is 999", said, *where]) == 0
    assert "reaches 3 students: finch-0, finch-1, finch-2." in capsys.readouterr().out

    def told():
        place, done, _ = desk.hand_back(LESSON, "marks")
        return [student for student in done if said in (place / f"{student}.html").read_text(encoding="utf-8")]

    assert told() == ["finch-0", "finch-1", "finch-2"]
    tiny_lesson.write(named(bank.cone(f"{bank.V} = 999"), "finch-6"), tmp_path / "finch-6.ipynb")
    desk.collect(LESSON, tmp_path / "finch-6.ipynb")
    desk.mark(LESSON, again=True)
    assert told() == ["finch-0", "finch-1", "finch-2", "finch-6"]
    assert command.main(["desk", "tell-all", LESSON, CONE, "is 999", "back", *where]) == 0
    assert told() == []
    shutil.rmtree(desk.folder / "submitted" / "finch-6")
    for words, why in (
        (["nothing", "is 9", "x"], "There is no question 'nothing'"),
        ([CONE, "so so", "x"], "describes no answer"),
        ([CONE, "mistake NOSUCH", "x"], f"'{CONE}' knows no mistake 'NOSUCH': choose from "),
        ([CONE, "is 9", " "], "The comment is empty"),
        ([CONE, "is 9", "back"], "There is no comment to"),
        ([CONE, "is 9", "x", "--part", "one"], "has no parts: leave --part out"),
    ):
        capsys.readouterr()
        assert command.main(["desk", "tell-all", LESSON, *words, *where]) == 2
        assert why in capsys.readouterr().err


@pytest.mark.slow
def test_work_marked_before_is_told_of(desk):
    """Definition: where only the marks are known, that is said with the command that mends it."""
    path = desk.answers_path(LESSON, "finch-1")
    before = path.read_text(encoding="utf-8")
    held = json.loads(before)
    del held["told"], held["worked"]
    path.write_text(json.dumps(held), encoding="utf-8")
    try:
        _, _, first = desk.look_at_class(LESSON)
        assert any("1 of 6 hand-ins were marked by an earlier version" in text for text in first)
    finally:
        path.write_text(before, encoding="utf-8")


@pytest.mark.browser
@pytest.mark.slow
def test_the_pages_handed_back_can_be_read_in_the_dark(desk):
    """WCAG 2.1 AA by the engine axe-core, code in an answer cell included; on paper they are light."""
    place, _, _ = desk.hand_back(LESSON)
    path = place / "finch-1.html"
    code = '<div class="highlight"><pre><span class="kn">import</span> <span class="nn">os</span></pre></div></main>'
    path.write_text(path.read_text(encoding="utf-8").replace("</main>", code), encoding="utf-8")
    executable = browser.require_browser()
    with browser.driver() as playwright:
        opened = playwright.chromium.launch(executable_path=executable, args=["--no-sandbox"])
        page = opened.new_page(viewport={"width": 1280, "height": 900}, color_scheme="dark")
        page.goto(path.as_uri())
        found = Axe().run(page, None, {"runOnly": ["wcag2a", "wcag2aa"]}).response["violations"]
        assert [(fault["id"], fault["nodes"][0]["html"][:120]) for fault in found] == []
        paper = "getComputedStyle(document.body).backgroundColor"
        dark = page.evaluate(paper)
        page.emulate_media(media="print")
        assert (dark, page.evaluate(paper)) == ("rgb(22, 24, 27)", "rgb(255, 255, 255)")
        opened.close()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_keeps_nobody_out(tmp_path, scheme):
    """WCAG 2.1 A and AA, and best practice, by the engine axe-core; nothing is asked for, and nothing sticks out."""
    rng = np.random.default_rng(2026)
    questions = class_model.with_a_bad_one(class_model.good(rng, 12))
    path = tmp_path / "class.html"
    look = simulated(class_model.marks(rng, questions, 60))
    path.write_text(class_page.page(look, lambda *_: "typed", "file", "today"), encoding="utf-8")
    executable = browser.require_browser()
    with browser.driver() as playwright:
        opened = playwright.chromium.launch(executable_path=executable, args=["--no-sandbox"])
        page = opened.new_page(viewport={"width": 1280, "height": 900}, color_scheme=scheme)
        asked = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(path.as_uri())
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]}
        found = Axe().run(page, None, rules).response["violations"]
        assert [(fault["id"], fault["nodes"][0]["html"][:120]) for fault in found] == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert asked == [path.as_uri()]
        opened.close()


def test_what_names_a_thing_is_too_high_or_low():
    """Definition: a channel is a name in figures, and not so much of something."""
    assert Answer("off by", 10.0).in_words("channel") == "give the channel 10 too high"
    assert Answer("off by", -10.0).in_words("NM") == "are 10 NM too little"
    assert Answer("is", 52.0).in_words("channel") == "all gave channel 52"
