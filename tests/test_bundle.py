"""What a lesson's cells show as data: every kind of question, and a strict way back."""

import ast
import copy
import dataclasses
import json
import re
import typing
from pathlib import Path

import nbformat
import needlework
import pytest
from IPython.core.interactiveshell import InteractiveShell
from needlework.basis.errors import BadData
from needlework.course.lesson import outputs, session
from needlework.course.lesson import verbs as lesson
from needlework.exercises import bundle, catalogue, judging, kinds, progress, recording, rules, telling
from needlework.exercises.bundle import Bundle
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.kinds import Text
from needlework.exercises.verdicts import Outcome
from needlework.showing import pictures
from needlework.showing.panel import widget

PACKAGE = Path(needlework.__file__).parent
STUDENTS = ["", "Finch 12"]
KINDS = typing.get_args(bundle.Kind)


@pytest.fixture
def shown(monkeypatch, tmp_path):
    """The data of everything displayed, as a notebook's output holds it; the learner's folder is a fresh one."""
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path))
    monkeypatch.delenv("NEEDLEWORK_GRADING", raising=False)
    monkeypatch.setattr(session, "current", session.Session())
    seen = []
    monkeypatch.setattr(outputs, "_display", lambda data: seen.append(json.loads(json.dumps(data))))
    monkeypatch.setattr(lesson, "_picture", lambda name, values: None)
    monkeypatch.setattr(lesson.buttons, "button", lambda *_, **__: None)
    return seen


def read(data):
    return bundle.read({"output_type": "display_data", "data": data, "metadata": {}})


def of(marks):
    """What a verdict says as data, after a round trip through a file."""
    return read(json.loads(json.dumps(marks._repr_mimebundle_())))


def one_of_each_kind():
    by_kind = {}
    for question in QUESTIONS.values():
        kind = telling.asked(question, judging.draw(question)).kind
        by_kind.setdefault((kind, question.task), question)
    return [pytest.param(question, id=f"{kind}{'-task' * task}") for (kind, task), question in by_kind.items()]


EACH_KIND = one_of_each_kind()


def test_the_course_asks_every_kind():
    """Definition: each kind that can stand in the data is one that lessons ask."""
    assert {telling.asked(question, judging.draw(question)).kind for question in QUESTIONS.values()} == set(KINDS)


@pytest.mark.parametrize("student", STUDENTS)
@pytest.mark.parametrize("key", LESSONS)
def test_a_question_is_told_whole(shown, key, student):
    """Definition: what is asked, with one learner's numbers, comes back from its data as it was."""
    lesson.begin(key, student)
    for question in catalogue.bank(key).values():
        shown.clear()
        lesson.ask(question.key)
        givens, asked = lesson.numbers(question.key), read(shown[0]).question
        assert Bundle.from_data(Bundle(question=asked).as_data()).question == asked
        assert (asked.key, asked.lesson, asked.title, asked.task) == (
            question.key,
            key,
            question.title,
            question.task,
        )
        words = question.fill(question.prompt, givens)
        if asked.kind == "flight":
            # Whoever flies knows beforehand everything that is judged.
            words += f"\n\n**Judged:** {'; '.join(goal.label for goal in question.goals)}."
        assert asked.prompt == words and asked.prompt in shown[0]["text/plain"]
        assert asked.points == question.points and asked.hints == (0 if question.task else 4)
        if asked.given:
            assert asked.given.replace("**", "") in shown[0]["text/plain"]
        if asked.kind == "number":
            assert (asked.unit, asked.options, asked.cells) == (question.unit, (), ())
            # Written with so many decimals the right answer must pass.
            right = round(question.right(givens) / asked.precision) * asked.precision
            assert abs(right - question.right(givens)) <= asked.precision / 2 + 1e-9
        if asked.kind in ("choice", "order"):
            assert "".join(option.letter for option in asked.options)
            assert all(option.text in shown[0]["text/plain"] for option in asked.options)
            assert set(question.right(givens)) <= set("".join(option.letter for option in asked.options))
        if asked.kind == "rule":
            rules.read_rule(question.right(givens), asked.symbols)
        if asked.kind in ("table", "plan"):
            assert [cell.label for cell in asked.cells] == list(question.right(givens))
            for cell, right in zip(asked.cells, question.right(givens).values(), strict=True):
                assert cell.kind == "choice" or not isinstance(right, str)
                assert cell.kind != "choice" or right in [option.letter for option in cell.options]


@pytest.mark.parametrize("question", EACH_KIND)
def test_a_verdict_is_told_whole(shown, question):
    """Definition: what was understood and what came of it are in the data, and agree with the marks."""
    lesson.begin(question.lesson, "Finch 12")
    givens = lesson.numbers(question.key)
    waits = isinstance(question, Text)
    good = Outcome.WAITS if waits else Outcome.PASS
    for answer, outcome in ((question.right(givens), good), (None, Outcome.NOT_ATTEMPTED)):
        marks = lesson.score(question.key, answer)
        said = of(marks)
        assert said.answer.key == said.verdict.key == question.key
        assert said.verdict.outcome is outcome
        assert (said.verdict.marks, said.verdict.points) == (float(marks), question.points)
        assert said.verdict.share == (0.0 if answer is None or waits else 1.0)
        assert said.answer.blank is (answer is None) and said.answer.readable
        assert bool(said.answer.given) is (answer is not None)
        told = question.fill(question.why, givens) if answer is not None else judging.model_answer(question, givens)
        assert told in said.verdict.explanation
    unread = of(lesson.score(question.key, object()))
    assert not unread.answer.readable and not unread.answer.blank
    assert unread.verdict.outcome is Outcome.ERROR and unread.verdict.text


def first_mistake(question, givens):
    """The first named mistake, and an answer with it and nothing else wrong."""
    slip, wrong = question.mistakes(givens)[0]
    return slip, {**question.right(givens), **wrong} if isinstance(wrong, dict) else wrong


def with_slips(question):
    return question.slips or isinstance(question, kinds.Table)


@pytest.mark.parametrize("question", [each for each in EACH_KIND if with_slips(each.values[0])])
def test_the_first_slip_is_told(shown, question):
    """Definition: a named mistake stands in the data by its code, in the whole and in its cell."""
    lesson.begin(question.lesson, "Finch 12")
    givens = lesson.numbers(question.key)
    if isinstance(question, kinds.Table):
        label, cell = next((label, cell) for label, cell in question.cells(givens).items() if cell.mistakes(givens))
        slip, wrong = first_mistake(cell, givens)
        said = of(lesson.score(question.key, {**question.right(givens), label: wrong}))
        (judged,) = (cell for cell in said.verdict.cells if cell.outcome is not Outcome.PASS)
        assert (judged.label, judged.slip, judged.share) == (label, slip.code, 0.0)
    else:
        slip, wrong = first_mistake(question, givens)
        said = of(lesson.score(question.key, wrong))
    assert (said.verdict.outcome, said.verdict.slip) == (Outcome.SLIP, slip.code)
    assert said.answer.readable and said.verdict.marks < question.points


def test_cells_are_told_one_by_one(shown):
    """Definition: of a table the data say which cells are blank and which cannot be read."""
    lesson.begin("station-passage", "Finch 12")
    question = QUESTIONS["sp-flags"]
    right = question.right(lesson.numbers("sp-flags"))
    labels = list(right)
    said = of(lesson.check("sp-flags", {**right, labels[1]: None, labels[2]: "sideways"}))
    assert [cell.label for cell in said.answer.cells] == labels
    assert [cell.blank for cell in said.answer.cells] == [False, True, False, False]
    assert [cell.readable for cell in said.answer.cells] == [True, True, False, True]
    assert not said.answer.readable and not said.answer.blank
    assert [cell.outcome for cell in said.verdict.cells] == ["PASS", "NOT_ATTEMPTED", "ERROR", "PASS"]
    assert said.verdict.marks == pytest.approx(question.points / 2)  # two of four cells


def test_the_progress_file_holds_what_was_told(shown):
    """Definition: what is kept of a try is what its data say of it."""
    lesson.begin("station-passage", "Finch 12")
    question = QUESTIONS["sp-recall-course"]
    _, wrong = question.mistakes(lesson.numbers(question.key))[0]
    for answer in (wrong, question.right(lesson.numbers(question.key))):
        said = of(lesson.check(question.key, answer))
        kept = json.loads((progress.folder() / progress.FILE_NAME).read_text(encoding="utf-8").splitlines()[-1])
        told = {"key": question.key, "outcome": said.verdict.outcome, "share": said.verdict.share}
        told |= {"slip": said.verdict.slip, "given": said.answer.given, "student": "finch 12"}
        assert {name: kept[name] for name in told} == told
    assert progress.read().record(question.key).slips == [question.mistakes(lesson.numbers(question.key))[0][0].code]


def test_a_task_that_is_noted_tells_no_verdict(shown):
    """Definition: before it is handed in a task says in its data what was understood, and not how good it is."""
    lesson.begin("station-passage", "Finch 12")
    right = QUESTIONS["sp-task"].right(lesson.numbers("sp-task"))
    for answer in (right, dict.fromkeys(right, 1)):
        data = lesson.check("sp-task", answer)._repr_mimebundle_()[bundle.MIME]
        assert set(data) == {"version", "answer"}
        said = json.dumps(data)
        assert not any(word in said for word in ("outcome", "share", "slip", "PASS", "Right"))
    assert of(lesson.check("sp-task", None)).verdict.outcome is Outcome.NOT_ATTEMPTED


def test_a_stopped_answer_cell_is_told(shown):
    """Definition: where the answer cell itself stopped, nothing was read."""
    lesson.begin("station-passage")
    session.current.stopped = {"sp-predict"}
    said = of(lesson.check("sp-predict", "B"))
    assert not said.answer.readable and said.verdict.outcome is Outcome.ERROR


def test_begin_hint_and_recap_are_told(shown):
    """Definition: what stands on these pages stands in their data, and in their plain lines."""
    lesson.begin("station-passage", " FINCH  12")
    begun = read(shown[-1]).lesson
    assert (begun.key, begun.student, begun.passed) == ("station-passage", "finch 12", 0)
    assert begun.questions == len(LESSONS["station-passage"].questions)
    lesson.check("sp-predict", "B")
    for rung in (1, 2):
        lesson.hint("sp-cone")
        hint = read(shown[-1]).hint
        assert (hint.key, hint.rung, hint.of) == ("sp-cone", rung, 4)
        assert f"{hint.name} (hint {rung} of 4): {hint.text}" == shown[-1]["text/plain"]
    lesson.hint("sp-task")
    assert (read(shown[-1]).hint.rung, read(shown[-1]).hint.of) == (0, 0)
    lesson.check("sp-task", QUESTIONS["sp-task"].right(lesson.numbers("sp-task")))
    lesson.recap("station-passage")
    stands = read(shown[-1]).standing
    rows = {row.key: row for row in stands.rows}
    assert list(rows) == list(LESSONS["station-passage"].questions)
    assert rows["sp-predict"].outcome is Outcome.PASS and rows["sp-predict"].marks == stands.marks == 1.0
    assert rows["sp-cone"].outcome is Outcome.NOT_ATTEMPTED
    assert rows["sp-task"].noted and not rows["sp-predict"].noted
    assert stands.points == sum(outline.points for outline in LESSONS["station-passage"].outlines)
    keys = list(LESSONS)
    assert stands.next.key == keys[keys.index("station-passage") + 1]
    last = list(LESSONS)[-1]
    lesson.recap(last)
    assert read(shown[-1]).standing.next is None
    lesson.begin("station-passage")
    assert read(shown[-1]).lesson.passed == 0, "another name, other numbers"
    lesson.begin("station-passage", "Finch 12")
    assert read(shown[-1]).lesson.passed == 1


def test_a_flight_is_told_beside_its_panel(shown, monkeypatch, tmp_path):
    """Definition: the panel's still twin carries what is to be flown; the verdict carries the recording besides."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(pictures, "png_bytes", lambda *_: b"still")
    displayed = []
    monkeypatch.setattr("IPython.display.display", lambda data, **_: displayed.append(data))
    question = next(q for q in QUESTIONS.values() if telling.asked(q, judging.draw(q)).kind == "flight")
    lesson.begin(question.lesson, "Finch 12")
    made = lesson.fly(question.key)
    made._ipython_display_()
    flight = read(displayed[-1]).flight
    assert displayed[-1]["text/plain"].startswith(flight.goal)
    assert (flight.key, flight.aircraft, flight.procedure) == (question.key, made.cockpit.craft.name, question.on)
    assert [flight.course_1_deg % 360, flight.course_2_deg % 360] == made.cockpit.course_deg
    assert (flight.most_min, flight.ends_at_dme_nm) == (made.task.most_min, made.task.ends_at_dme_nm)
    made.close()
    widget._panels.clear()
    lesson.check(question.key, question.right(lesson.numbers(question.key)))
    assert recording.unpacked(shown[-1][recording.MIME]).about["exercise"] == question.key


def test_a_notebook_takes_the_data(shown):
    """Definition: nbformat accepts the output, the number stays plain, and the page is still there."""
    lesson.begin("station-passage", "Finch 12")
    marks = lesson.check("sp-predict", "B")
    data, _ = InteractiveShell.instance().display_formatter.format(marks)
    assert set(data) == {"text/plain", "text/html", bundle.MIME}
    assert data["text/plain"] == repr(float(marks)) == "1.0"
    cell = nbformat.v4.new_code_cell("check('sp-predict', 'B')")
    cell.outputs = [
        nbformat.v4.new_output("execute_result", data, execution_count=1),
        nbformat.v4.new_output("display_data", shown[0]),
    ]
    book = nbformat.v4.new_notebook(cells=[cell])
    nbformat.validate(book)
    again = nbformat.reads(nbformat.writes(book), 4)
    first, second = map(bundle.read, again.cells[0].outputs)
    assert first == of(marks) and second.lesson.key == "station-passage"


# The way back is strict ---------------------------------------------------------------------------------------------


@pytest.fixture
def sound(shown):
    """The data of one question and of its verdict."""
    lesson.begin("station-passage", "Finch 12")
    lesson.ask("sp-cone")
    return {**shown[-1][bundle.MIME], **lesson.check("sp-cone", 7000)._repr_mimebundle_()[bundle.MIME]}


def _set(data, path, value):
    changed = copy.deepcopy(data)
    *way, last = path.split(".")
    place = changed
    for step in way:
        place = place[step]
    place[last] = value
    return changed


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("version", 2, "is of version 2 and this edition of the course reads version 1"),
        ("version", "1", "is of version 1 and"),
        ("version", 1.0, "is of version 1.0 and"),
        ("version", True, "is of version True and"),
        ("question.task", "no", "question.task is no where true or false was expected"),
        ("question.points", "2", "question.points is 2 where a number was expected"),
        ("question.hints", 1.5, "question.hints is 1.5 where a whole number was expected"),
        ("question.kind", "essay", "question.kind is essay where 'number', 'choice'"),
        ("question.title", None, "question.title is None where a text was expected"),
        ("question.cells", "none", "question.cells is none where a list was expected"),
        ("question.cells", [{"label": "x"}], "question.cells.0.kind is missing"),
        ("question.answer", 40, "question.answer is not known"),
        ("answer.readable", 1, "answer.readable is 1 where true or false was expected"),
        ("verdict.outcome", "GREAT", "verdict.outcome is GREAT where 'NOT_ATTEMPTED', 'PASS'"),
        ("verdict.share", 1.5, "verdict: share = 1.5 is outside 0 to 1"),
        ("verdict.share", float("nan"), "it holds what JSON cannot hold"),
        ("verdict.marks", 99.0, "verdict: marks = 99 is outside 0 to"),
        ("verdict", [1], "verdict is [1] where an object was expected"),
        ("praise", {}, "praise is not known"),
        ("question.prompt", object(), "it holds what JSON cannot hold"),
    ],
)
def test_damaged_data_are_refused_in_one_sentence(sound, path, value, told):
    """Definition: nothing is guessed, left out or converted; one sentence says what was wrong."""
    with pytest.raises(BadData) as caught:
        Bundle.from_data(_set(sound, path, value))
    said = str(caught.value)
    assert told in said
    assert "\n" not in said and said.endswith("run the cell again.") and "pydantic" not in said


@pytest.mark.parametrize("data", [None, 3, "text", [], {}, {"question": {}}])
def test_what_is_no_bundle_is_refused(data):
    """Definition: an object with a version, or a sentence."""
    with pytest.raises(BadData, match=r"holds no data of a lesson: .* run the cell again\.$"):
        Bundle.from_data(data)


def test_every_field_is_wanted(sound):
    """Definition: a part with any of its fields left out is refused, by the field's name."""
    for part in ("question", "answer", "verdict"):
        for name in sound[part]:
            damaged = copy.deepcopy(sound)
            del damaged[part][name]
            with pytest.raises(BadData, match=rf"{part}\.{name} is missing"):
                Bundle.from_data(damaged)


def test_an_output_without_data_is_no_fault():
    """Definition: what was shown before lessons wrote data, and what others show, has none."""
    assert bundle.read({"output_type": "stream", "name": "stdout", "text": "40"}) is None
    assert bundle.read({"output_type": "display_data", "data": {"text/html": "<b>old</b>"}}) is None


def test_the_schema_is_documented():
    """Definition: each field of each part stands in its docstring, and each part in the table of the module."""
    parts = [made for made in vars(bundle).values() if dataclasses.is_dataclass(made) and isinstance(made, type)]
    assert len(parts) > 10
    for made in parts:
        for field in dataclasses.fields(made):
            assert re.search(rf"\b{field.name}\b", made.__doc__), f"{made.__name__}.{field.name}"
    for field in dataclasses.fields(Bundle):
        assert re.search(rf"^{field.name} +:class:", bundle.__doc__, re.M), field.name


# Nothing searches the page ------------------------------------------------------------------------------------------


def _searches(source):
    """The places of a program that look into a page: take it out of an output, or seek a tag or a class in a text."""
    tree = ast.parse(source)
    seeking = {"search", "match", "fullmatch", "findall", "finditer", "split", "find", "index", "count", "partition"}
    of_a_page = re.compile(r"text/html|class=|</?[a-z]|html\.parser|BeautifulSoup|needlework-unreadable")

    def holds(node):
        texts = (n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str))
        return any(of_a_page.search(text) for text in texts)

    found = []
    for node in ast.walk(tree):
        taken = isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Load) and holds(node.slice)
        asked = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        got = asked and node.func.attr in {"get", "pop"} and any(map(holds, node.args))
        sought = asked and node.func.attr in seeking and any(map(holds, node.args))
        compared = isinstance(node, ast.Compare) and (holds(node.left) or any(map(holds, node.comparators)))
        imports = (isinstance(node, ast.Import) and any("html.parser" in name.name for name in node.names)) or (
            isinstance(node, ast.ImportFrom) and (node.module or "") in {"html.parser", "bs4", "lxml"}
        )
        if taken or got or sought or compared or imports:
            found.append(f"line {node.lineno}: {ast.unparse(node)[:80]}")
    return found


@pytest.mark.parametrize(
    "source",
    [
        'if "needlework-unreadable" in str(output.data): pass',
        'page = output["data"]["text/html"]',
        'page = output.get("data", {}).get("text/html", "")',
        "re.search(r'class=\"(\\w+)\"', page)",
        "page.find('<span')",
        "from html.parser import HTMLParser",
    ],
)
def test_a_search_of_the_page_would_be_found(source):
    """Definition: the ways in which a page was or might be searched."""
    assert _searches(source)


@pytest.mark.parametrize(
    "path",
    [path for floor in ("desk", "course") for path in sorted((PACKAGE / floor).rglob("*.py"))],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_no_door_searches_a_page(path):
    """Definition: the desk and the learner's doors read the data; HTML is only ever written."""
    assert _searches(path.read_text(encoding="utf-8")) == []
