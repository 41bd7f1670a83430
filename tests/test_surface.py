"""The page in front of a lesson, in a real browser: fields, verdicts, what runs by itself and what does not."""

from __future__ import annotations

import ast
import contextlib
import json
import os
import re
import shutil
import signal
import time

import nbformat
import pytest
import surface
from axe_playwright_python.sync_playwright import Axe
from needlework.basis.errors import BadData
from needlework.building import page_stamp, release
from needlework.course import command
from needlework.desk.hand_in import Sheet, parsed, worked
from needlework.exercises import coming_back, judging, progress
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Order, Table, Text
from needlework.exercises.rules import Rule
from surface import Card

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("surface")]
PASSAGE = "station-passage"
COPIES = (release.SOLUTIONS, release.LESSONS)


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    root = tmp_path_factory.mktemp("course")
    with surface.course(root) as running:
        yield running


def anew(served):
    """Put a fresh copy of the first lesson there, of which neither journal nor browser knows an answer."""
    (served.root / progress.FILE_NAME).unlink(missing_ok=True)
    surface.again(served.root, PASSAGE)
    served.forget()


def saved(served, lesson=PASSAGE):
    """Read the file as it lies there; None while it is being written."""
    try:
        return nbformat.read(served.root / lesson / f"{lesson}.ipynb", as_version=4)
    except nbformat.reader.NotJSONError:
        return None


def holds(served, line):
    book = saved(served)
    return book is not None and any(line in cell.source for cell in book.cells)


def until(page, said, seconds=90):
    """Wait for something to become true that no element of the page shows."""
    deadline = time.monotonic() + seconds
    while not said():
        assert time.monotonic() < deadline, f"it did not come about: {page.locator('body').inner_text()[:400]}"
        page.wait_for_timeout(50)


def test_stamp_is_current():
    """Definition: the name under which a browser keeps the page changes with any of its files."""
    assert page_stamp.stamp(check=True) == []


def slips(question):
    """Give every mistake of a question, as the value it leads to; of a table one after the other in all cells."""
    givens = judging.draw(question)
    if isinstance(question, Table):
        right = question.right(givens)
        wrong = {
            label: whole(cell, [value for _, value in cell.mistakes(givens)])
            for label, cell in question.cells(givens).items()
        }
        most = max(map(len, wrong.values()))
        return [
            {label: each[n] if n < len(each) else right[label] for label, each in wrong.items()} for n in range(most)
        ]
    return whole(question, [value for _, value in question.mistakes(givens)])


def in_cell(card, values):
    """Put answers into a field, one after the other, and give what its cell holds after each, as data."""
    question = QUESTIONS[card.key]
    rows = [typed(question, value) for value in values]
    sources = card.sources(
        [[str(each) for each in (row.values() if isinstance(row, dict) else [row])] for row in rows]
    )
    return [answer_in(source) for source in sources]


def answer_in(source):
    """Read the one answer of a cell; a sum of numbers is no mistake's value."""
    (given,) = [each for each in ast.parse(source).body if isinstance(each, ast.Assign)]
    return ast.literal_eval(given.value)


def whole(question, values):
    """Round wrong values to what is typed: a direction in whole degrees."""
    if "magnetic" in getattr(question, "unit", ""):
        return [round(value) for value in values]
    # What is typed in thousands has no decimals.
    return [
        (float(f"{value:.6g}") if abs(value) < 1000 else float(round(value))) if isinstance(value, float) else value
        for value in values
    ]


def told_of(verdict):
    return verdict.outcome, verdict.slip, [(label, cell.outcome, cell.slip) for label, cell in verdict.cells]


def typed(question, value):
    if isinstance(value, dict):
        cells = question.cells(judging.draw(question)) if isinstance(question, Table) else {}
        return {label: typed(cells.get(label), each) for label, each in value.items()}
    return surface.typed(value, getattr(question, "unit", ""))


@pytest.fixture(scope="module")
def one_lab(served):
    with served.page("start.ipynb", ready=False) as page:
        yield page


@pytest.fixture
def lab_page(one_lab):
    """One JupyterLab for all who open what they need in it; nothing is open in it before and after."""
    one_lab.bring_to_front()
    one_lab.close_all()
    one_lab.errors.clear()
    one_lab.outside.clear()
    yield one_lab
    one_lab.close_all()


@pytest.fixture
def start_page(lab_page, served):
    """The start page as it is for somebody who has not begun; a test that needs it otherwise opens it anew."""
    anew(served)
    lab_page.open("start.ipynb")
    lab_page.locator("[data-start=ready]").wait_for()
    return lab_page


class TestFields:
    @pytest.mark.parametrize("lesson", list(LESSONS))
    def test_a_lesson_through_its_fields(self, served, lab_page, lesson):
        """Definition: right, wrong and nonsense get through the field what they get in the notebook; no code seen.
        WCAG 2.1 A and AA, and best practice, by the engine axe-core: no fault in any sitting, with verdicts in it."""
        surface.again(served.root, lesson)
        page = lab_page
        page.open(f"{lesson}/{lesson}.ipynb")
        page.locator(surface.READY).wait_for()
        if page.locator(".nl-plates button:visible").count():
            a_plate_beside_its_question(page)
        # Editors of code are out of sight in the whole lesson.
        assert not page.locator(".jp-CodeCell .jp-Cell-inputWrapper:visible").count()
        shown = set()
        for key in LESSONS[lesson].questions:
            question = QUESTIONS[key]
            # What is flown is tried elsewhere, and a text waits for a person.
            if isinstance(question, (FlownByHand, Text)):
                continue
            card = Card(page, key)
            card.show()
            # A rule may be any text.
            if not isinstance(question, Rule):
                before = card.source()
                assert card.refused("abc;") in (before, None), key
            wrong = slips(question)
            givens = judging.draw(question)
            for value, held in zip(wrong, in_cell(card, wrong), strict=True):
                # What the notebook's cell is judged by: the same judge, and no picture to wait for.
                if held == value:
                    continue
                got, wanted = judging.judge(question, givens, held), judging.judge(question, givens, value)
                assert told_of(got) == told_of(wanted), (key, value, held)
            # One of each kind is seen to be told on the page as the judge says it.
            for value in [] if question.task or type(question) in shown else wrong[:1]:
                shown.add(type(question))
                card.fill(typed(question, value))
                said, wanted = card.check()["verdict"], judging.judge(question, judging.draw(question), value)
                assert (said["outcome"], said["slip"]) == (wanted.outcome, wanted.slip), (key, value)
                told = [(cell["outcome"], cell["slip"]) for cell in said["cells"]]
                assert told == [(cell.outcome, cell.slip) for _, cell in wanted.cells], (key, value)
            card.fill(surface.answer_for(question))
            said = card.check()
            if question.task:
                assert said["answer"]["readable"] and not said["answer"]["blank"], key
                assert not any(cell["blank"] for cell in said["answer"]["cells"]), key
            else:
                assert said["verdict"]["outcome"] == "PASS", (key, said["verdict"]["text"], card.source())
        page.set_viewport_size({"width": 1280, "height": 800})
        for sitting in page.locator(".nl-sittings .nl-button").all():
            sitting.click()
            all_fit_the_room(page)
            if lesson == "whole-approach":
                # Every flight of it is flown by a plate, wherever that is drawn.
                page.get_by_role("button", name="Plate beside").wait_for()
            assert faults_for_everyone(page, ".nl-lesson", ".nl-away") == [], (lesson, sitting.inner_text())
        # What points at a name means one thing, in whichever sitting it stands.
        assert page.evaluate(GIVEN_TWICE) == []
        page.set_viewport_size({"width": 1280, "height": 900})
        assert page.complaints() == []


GIVEN_TWICE = """() => {
  const names = [...document.querySelectorAll('.nl-lesson [id]')].map((each) => each.id);
  return names.filter((name, n) => names.indexOf(name) !== n);
}"""


def all_fit_the_room(page):
    """Wait until no what-if and no panel in sight is higher than what the window shows of the lesson."""
    page.wait_for_function(
        "() => { const room = document.querySelector('.nl-lesson .jp-NotebookPanel-notebook').clientHeight;"
        " return [...document.querySelectorAll('.nw-whatif, .nw-board[tabindex]')]"
        ".filter((each) => each.offsetParent).every((each) => each.offsetHeight <= room); }",
        timeout=10_000,
    )


def a_plate_beside_its_question(page):
    """Definition: by key, touch and mouse the plate stands beside or over a question, whose place stays."""
    first = page.locator(".jp-Cell.nl-ask:visible:has(input[type=text], input[type=radio])").first
    field = first.locator("input").first
    for width, height in ((1280, 800), (1024, 768), (640, 400)):
        page.set_viewport_size({"width": width, "height": height})
        first.scroll_into_view_if_needed()
        field.focus()
        page.keyboard.press("F2")
        plate = page.locator(".nl-beside img")
        plate.wait_for()
        page.at_rest()
        assert field.evaluate("each => each === document.activeElement")
        box, room = field.bounding_box(), page.locator(".nl-beside").bounding_box()
        assert box["y"] >= 0 and box["y"] + box["height"] <= height, (width, "the field is in sight")
        if width >= 900:
            assert box["x"] + box["width"] <= room["x"] and room["width"] > 0.45 * width
        else:
            assert box["y"] >= room["y"] + room["height"] - 1
        before = plate.bounding_box()["width"]
        page.get_by_role("button", name="Larger").click()
        assert plate.bounding_box()["width"] > 1.2 * before
        page.keyboard.press("Escape")
        page.locator(".nl-beside").wait_for(state="hidden")
        assert field.evaluate("each => each === document.activeElement"), "back to where one was"
        page.get_by_role("button", name="Plate beside").click()
        page.get_by_role("button", name="Put the plate away").click()
        assert not page.locator(".nl-beside").is_visible()
    page.set_viewport_size({"width": 1920, "height": 1080})
    page.get_by_role("button", name="Plate beside").click()
    # Nothing covers the bar where the notebook's own buttons push the page down.
    page.get_by_role("button", name="Show code").click()
    page.get_by_role("button", name="Hide code").click()
    names = page.locator(".nl-beside-names button")
    assert len(set(names.all_inner_texts())) == names.count()
    for cell in page.locator(".jp-Cell.nl-ask:visible:has(input)").all():
        cell.locator("input").first.focus()
        about = {name for name in names.all_inner_texts() if name.split(":")[0] in cell.inner_text()}
        assert not about or page.locator(".nl-beside-names [aria-pressed=true]").inner_text() in about
    page.get_by_role("button", name="Put the plate away").click()
    page.set_viewport_size({"width": 1280, "height": 900})


KEPT = "Object.keys(localStorage).some((key) => /unsaved.*station-passage/.test(key))"
"""Whether the browser keeps anything of the lesson that its file has not got."""


def read_on(page):
    """Press Enter as long as a text or a picture is read; count the screens, each of which begins in sight."""
    screens = 0
    while page.locator(".nl-stop:focus").count():
        box = page.locator(".nl-stop:focus").bounding_box()
        assert box["y"] < page.viewport_size["height"] * 0.3 and page.locator(".nl-onward").is_visible()
        screens += 1
        page.keyboard.press("Enter")
    return screens


@pytest.fixture(scope="class")
def begun(served):
    """A fresh copy of the first lesson, opened once, with Enter pressed all the while it gets ready."""
    anew(served)
    with served.page(f"{PASSAGE}/{PASSAGE}.ipynb", ready=False) as page:
        page.wait_for_function("() => document.querySelector('.nl-lesson') && !document.querySelector('.nl-veil')")
        pressed = 0
        while not page.locator(surface.READY).count():
            page.keyboard.press("Enter")
            pressed += 1
            page.wait_for_timeout(20)
        assert pressed > 5
        shown = "document.querySelector('.nl-sittings [aria-current=true]').dataset.sitting"
        page.stood = page.evaluate(f"[{shown}, Boolean(document.activeElement.closest('.nl-foot'))]")
        yield page


class TestFromTheBeginning:
    """A lesson of which nothing is answered, opened once."""

    def test_running_on_by_enter_stays_where_it_is_ready_and_turns_nothing(self, begun):
        """Definition: Enter while a lesson gets ready leaves no sitting; at a flight it presses no key."""
        assert begun.stood == ["0", False]
        Card(begun, "sp-hand").show()
        begun.locator(".nw-board[tabindex]").first.wait_for()
        faces, said = begun.locator(".nw-board[tabindex] .nw-face"), "all => all.map((each) => each.ariaLabel)"
        before = faces.evaluate_all(said)
        begun.evaluate("document.activeElement.blur()")
        reached = False
        for _ in range(60):
            begun.keyboard.press("Enter")
            # What a key would turn is told by the kernel, and drawn.
            begun.kernel_done()
            reached = reached or begun.evaluate("document.activeElement.matches('.nw-board')")
        assert reached
        assert faces.evaluate_all(said) == before

    def test_a_pilot_by_keyboard_alone(self, begun, served):
        """Definition: letters pick, Enter asks for the verdict, Enter again goes on; sources hold what was typed."""
        begun.locator(".nl-sittings .nl-button").first.click()
        begun.locator(".nl-begun input").focus()
        begun.keyboard.press("Enter")
        # What stands before the question is read first, a screen at a time.
        assert read_on(begun) >= 1, "what stands before it"
        assert begun.evaluate("document.activeElement.type") == "radio"
        # What is typed over a text that is read goes into the field it leads to.
        begun.locator(".nl-begun input").focus()
        begun.keyboard.press("Enter")
        assert begun.locator(".nl-stop:focus").count()
        begun.keyboard.press("b")
        assert begun.evaluate("document.activeElement.value") == "B"
        # There is nothing before the first question: one stays there.
        begun.keyboard.press("Shift+Enter")
        assert begun.evaluate("document.activeElement.type") == "radio"
        begun.keyboard.press("a")
        begun.keyboard.press("Enter")
        assert Card(begun, "sp-recall-flag").verdict()["verdict"]["key"] == "sp-recall-flag"
        begun.keyboard.press("Enter")
        read_on(begun)
        course = surface.right("sp-recall-course")
        begun.keyboard.type(f"{course:03.0f}")
        begun.keyboard.press("Enter")
        card = Card(begun, "sp-recall-course")
        assert card.verdict()["verdict"]["outcome"] == "PASS"
        assert f"course_in = {course:g}  # degrees" in card.source()
        # Letters typed in a lesson are answers; the notebook beneath has as many cells as before.
        assert begun.evaluate("window.jupyterapp.shell.currentWidget.content.widgets.length") == len(
            saved(served).cells
        )
        begun.keyboard.press("Control+z")
        assert begun.evaluate("document.activeElement.value") != f"{course:03.0f}"


def kernel_pid(page):
    """The process that works the answers out."""
    return page.evaluate(
        """async () => { const kernel = window.jupyterapp.shell.currentWidget.context.sessionContext.session.kernel;
        const said = { pid: "__import__('os').getpid()" };
        const asked = kernel.requestExecute({ code: '', silent: true, user_expressions: said });
        return Number((await asked.done).content.user_expressions.pid.data['text/plain']); }"""
    )


NONSENSE = {
    "sp-recall-course": ("abc", "12:30", "1e3", "1.588,5", "12 ft", "0x2d", "import os", "__import__('os')", "5;6"),
    "sp-what-if": ("NM", "12 kt", "2:43", "1,2,3"),
}


READINGS = [
    ("sp-recall-course", "045", "45"), ("sp-recall-course", "045°", "45"), ("sp-what-if", "1,588 ft", "1588"),
    ("sp-what-if", "1 588", "1588"), ("sp-cone", "44 s", "44"), ("sp-cone", "2:43", "163"), ("sp-cone", "5,8", "5.8"),
    ("sp-cone", "60*45/90", "60*45/90"), ("sp-cone", "+7", "7"), ("sp-cone", "", "None"),
]  # fmt: skip


class Tab:
    """The first lesson in a page that is closed and opened again."""

    def __init__(self, served):
        self.served, self.page, self.open_ones = served, None, contextlib.ExitStack()

    def open(self):
        self.page = self.open_ones.enter_context(self.served.page(f"{PASSAGE}/{PASSAGE}.ipynb", ready=False))
        self.page.locator(surface.READY).wait_for()
        return self.page

    def there(self):
        return self.open() if self.page is None or self.page.is_closed() else self.page

    def end(self):
        """Close the page, and end what works its answers out."""
        self.open_ones.close()


@pytest.fixture(scope="class")
def tab(served):
    anew(served)
    made = Tab(served)
    yield made
    made.end()


class TestClosed:
    """Every test has its own questions, and leaves the lesson open."""

    def test_a_verdict_that_was_asked_for_comes(self, tab, served):
        """Definition: the kernel dies, the page is closed at once: each pressed verdict comes, counted once."""
        page = tab.there()
        flag = Card(page, "sp-recall-flag")
        flag.show()
        os.kill(kernel_pid(page), signal.SIGKILL)
        flag.field.locator("input[value=B]").evaluate("each => each.click()")
        flag.field.locator("input[value=B]").press("Enter")
        page.locator(".nl-banner", has_text="answers are as they were").wait_for(timeout=120_000)
        assert flag.verdict()["verdict"]["outcome"] == "PASS"
        assert not page.locator(".nl-verdict.nl-stale:not(.nl-blank)").count()
        until(page, lambda: progress.read(served.root).record("sp-recall-flag").tries == 1)
        until(page, lambda: not page.evaluate(KEPT))
        card = Card(page, "sp-cone")
        card.show()
        card.fill("50")
        card.field.locator("input").press("Enter")
        page.wait_for_timeout(100)
        page.close()
        page = tab.open()
        again = Card(page, "sp-cone")
        assert again.field.is_visible(), "opened in another sitting"
        until(page, lambda: again.verdict()["verdict"]["outcome"] != "NOT_ATTEMPTED")
        until(page, lambda: not page.evaluate(KEPT))
        page.locator(".nl-verdict:not(.nl-blank):not(.nl-stale)", has_text="50").first.wait_for()
        assert progress.read(served.root).record("sp-cone").tries == 1

    def test_an_answer_given_as_the_page_is_closed_is_there_again(self, tab, served):
        """Definition: what was pressed and what is half typed comes back, unless the file is newer."""
        page = tab.there()
        Card(page, "sp-cone-faded").field.locator("input").fill("04")
        page.locator(".nl-begun input").fill("Fin")
        page.locator(".nl-field:has(#nl-title-sp-predict) input[value=B]").evaluate("each => each.click()")
        tab.end()
        assert not holds(served, 'half_a_mile_out = "B"'), "closed before it could be saved"
        page = tab.open()
        assert Card(page, "sp-predict").field.locator("input[value=B]").is_checked()
        assert Card(page, "sp-cone-faded").field.locator("input").input_value() == "04"
        page.locator(".nl-banner", has_text="they are there again").wait_for()
        name = page.locator(".nl-begun input")
        assert name.input_value() == "Fin"
        until(page, lambda: holds(served, 'half_a_mile_out = "B"') and holds(served, "cone_seconds_1 = 4 "))
        until(page, lambda: holds(served, 'student = ""'))  # there again, and nothing drawn from it
        name.fill("")
        until(page, lambda: not page.evaluate(KEPT))
        Card(page, "sp-predict").fill("A")
        tab.end()
        surface.again(served.root, PASSAGE)
        later = time.time() + 60
        os.utime(served.root / PASSAGE / f"{PASSAGE}.ipynb", (later, later))
        page = tab.open()
        assert not page.locator(".nl-field:has(#nl-title-sp-predict) input:checked").count()
        assert page.complaints() == []


def test_foreign_code_does_not_run_by_itself(lab_page, served, tmp_path):
    """Definition: a cell that is not the course's waits for the learner, and the page says so."""
    surface.again(served.root, PASSAGE)
    book = saved(served)
    left = tmp_path / "was-here"
    book.cells.insert(3, nbformat.v4.new_code_cell(f"open({str(left)!r}, 'w').close()"))
    answer = next(cell for cell in book.cells if 'ask("sp-cone")' in cell.source)
    answer.source = f'ask("sp-cone")\ncone_seconds_2 = open({str(left)!r}, "w").close() or 5'
    nbformat.write(book, served.root / PASSAGE / f"{PASSAGE}.ipynb")
    page = lab_page
    page.open(f"{PASSAGE}/{PASSAGE}.ipynb")
    page.locator(surface.READY).wait_for()
    assert not left.exists()
    assert "not the course's" in page.locator(".nl-banner").inner_text()
    # The answer with code of the learner's own is asked, shown as it is, and has a button of its own.
    card = Card(page, "sp-cone")
    card.show()
    assert card.field.locator(".nl-run").is_visible() and not card.field.locator("input").first.is_visible()
    card.field.locator(".nl-run").click()
    assert card.verdict()["verdict"]["key"] == "sp-cone"
    assert left.exists()


def test_an_unknown_lesson_is_opened_and_not_run(lab_page, served):
    """Definition: a lesson that nobody here knows runs only when the learner says so."""
    surface.again(served.root, PASSAGE)
    book = saved(served)
    book.metadata["needlework"] = {"lesson": "from-elsewhere"}
    place = served.root / "mailed.ipynb"
    nbformat.write(book, place)
    page = lab_page
    page.open("mailed.ipynb")
    page.locator(surface.READY).wait_for()
    assert "neither the course's" in page.locator(".nl-banner").inner_text()
    assert not page.locator(".nl-ask").count()
    page.get_by_role("button", name="Run it all the same").click()
    page.locator(".nl-ask .nl-field").first.wait_for()
    page.close_all()
    place.unlink()


def worked_of(served):
    """Read what the saved notebook says of hints and checks, as the desk reads it."""
    path = served.root / PASSAGE / f"{PASSAGE}.ipynb"
    try:
        book = parsed(path.read_bytes())
    except BadData:
        return {}
    return worked(
        Sheet(PASSAGE, *(json.loads((each / PASSAGE / path.name).read_text("utf-8")) for each in COPIES)), book
    )


def test_start_page_is_true_while_the_course_is_open(start_page, served):
    """Definition: what was answered since the course was opened counts on the page at once."""
    page = start_page
    assert page.get_by_role("button", name="Begin", exact=True).is_visible()
    question = QUESTIONS["sp-recall-flag"]
    progress.note_try(question.key, "PASS", 1.0, where=served.root)
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.get_by_role("button", name="Go on", exact=True).wait_for()
    assert page.get_by_text(f"1 of {len(LESSONS[PASSAGE].questions)} questions right").count()
    shutil.copy(served.root / PASSAGE / f"{PASSAGE}.ipynb", served.root / "homework-3.ipynb")
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.get_by_text("homework-3.ipynb").wait_for()
    # The same with the sign of a desk is homework, and stands first.
    signed = json.loads((served.root / "homework-3.ipynb").read_text(encoding="utf-8"))
    for cell in signed["cells"]:
        source = "".join(cell["source"])
        cell["source"] = source.replace(", student)", ', student, homework="bcdf")') if "begin(" in source else source
    due = {
        "cell_type": "markdown",
        "id": "due",
        "metadata": {},
        "source": "**Due:** Friday 3 May 2030, 18:00 (UTC).",
    }
    signed["cells"].insert(1, due)
    (served.root / "homework-3.ipynb").write_text(json.dumps(signed), encoding="utf-8")
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.get_by_text("due Friday 3 May 2030, 18:00 (UTC)").wait_for()
    assert page.locator(".nl-sheet section h2").first.inner_text() == "Homework"
    (served.root / "homework-3.ipynb").unlink()
    progress.note_try("sp-recall-course", "SLIP", 0.0, where=served.root)
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.get_by_text(re.compile(r"You go on at question 2 of \d+: its answer is not right yet\.")).wait_for()
    page.get_by_role("button", name="Go on", exact=True).click()
    page.locator(surface.READY).wait_for()
    # The first question that is not right yet, whole, with its field ready and the text above it.
    card = page.locator(".jp-Cell:has(#nl-title-sp-recall-course)")
    page.wait_for_function("document.activeElement.closest('.jp-Cell')?.querySelector('#nl-title-sp-recall-course')")
    page.at_rest()
    box = card.bounding_box()
    assert box["y"] > 50 and box["y"] + box["height"] <= page.viewport_size["height"]
    with page.expect_response(re.compile("needlework/overview")):
        page.go_back()
    page.locator(".nl-page").wait_for()
    # What is new while a button is held down is shown when it was let go, and the button is pressed.
    page.get_by_role("button", name="Go on", exact=True).hover()
    page.mouse.down()
    progress.note_try(list(LESSONS["station-passage"].questions)[2], "PASS", 1.0, where=served.root)
    with page.expect_response(re.compile("needlework/overview")) as told:
        page.evaluate("window.dispatchEvent(new Event('focus'))")
    told.value.finished()
    page.evaluate("async () => { for (let n = 0; n < 3; n++) await new Promise(requestAnimationFrame); }")
    page.mouse.up()
    card.wait_for()
    page.get_by_role("button", name="All lessons").click()
    page.locator(".nl-page").wait_for()
    assert page.complaints() == []


LABS_OWN = ("jp-WindowedPanel-viewport", "data-windowed-list-index")
"""What JupyterLab itself writes round a lesson: its list of cells, and the cells."""


def faults_for_everyone(page, place, without=""):
    """List what an accessibility engine finds in a part of the page that is ours, one line each.

    ``without`` names what is hidden and need not be looked through: it is taken out of the page meanwhile.
    """
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(Axe().axe_script)
    found = page.evaluate(
        """([place, without]) => {
        const hidden = without ? [...document.querySelectorAll(without)] : [];
        if (hidden.some((node) => node.offsetParent)) throw new Error("what is left out is in sight");
        const held = hidden.map((node) => [node, new Comment()]);
        for (const [node, mark] of held) node.replaceWith(mark);
        const back = () => { for (const [node, mark] of held) mark.replaceWith(node); };
        return axe.run({ include: [[place]] }, { resultTypes: ['violations'],
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] })
        .then((said) => said.violations).finally(back); }""",
        [place, without],
    )
    return [
        f"{fault['id']}: {node['html'][:200]}"
        for fault in found
        for node in fault["nodes"]
        if not any(own in node["html"].split(">")[0] for own in LABS_OWN)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["JupyterLab Light", ""])
def test_nothing_keeps_anybody_out(served, theme):
    """As above, for the start page, and in the dark, where only colours differ, for a lesson as it is opened.
    Definition: where nothing was chosen it is dark on a dark computer, until something is chosen."""
    with served.page("start.ipynb", ready=False, theme=theme) as page:
        page.locator("[data-start=ready]").wait_for()
        if not theme:
            page.wait_for_function("document.body.dataset.jpThemeName === 'JupyterLab Dark'")
        assert faults_for_everyone(page, ".nl-page") == []
        if not theme:
            # As homework, whose name was given in another lesson of the folder: it is there, and says why.
            surface.again(served.root, PASSAGE)
            book = saved(served)
            begin = next(cell for cell in book.cells if cell.source.startswith("from needlework.lesson import"))
            begin.source = begin.source.replace(", student)", ', student, homework="bcdfg")')
            nbformat.write(book, served.root / PASSAGE / f"{PASSAGE}.ipynb")
            place = f"needlework:name:http://{served.address}/|{served.root}|"
            page.evaluate("place => localStorage.setItem(place, 'Finch')", place)
            page.open(f"{PASSAGE}/{PASSAGE}.ipynb")
            page.locator(surface.READY).wait_for()
            assert page.locator(".nl-begun input").input_value() == "Finch"
            assert "given in another lesson here" in page.locator(".nl-begun").inner_text()
            assert holds(served, 'student = "Finch"')
            assert faults_for_everyone(page, ".nl-lesson") == []
            page.get_by_role("button", name="Light", exact=True).click()
            page.wait_for_function("document.body.dataset.jpThemeName === 'JupyterLab Light'")


def test_notebook_shows_the_same_page(served):
    """Definition: the page works in Notebook too, and adds no complaint to those that Notebook has by itself."""
    surface.again(served.root, PASSAGE)
    module = "async () => () => ({__esModule: true, default: []})"
    nothing = f"(window._JUPYTERLAB ??= {{}}).needlework = {{init() {{}}, get: {module}}}"
    complaints = []
    for without in (True, False):
        with served.bare_page() as page:
            if without:
                page.route("**/entry.js*", lambda route: route.fulfill(body=nothing, content_type="text/javascript"))
            page.goto(f"http://{served.address}/notebooks/{PASSAGE}/{PASSAGE}.ipynb?token={served.token}")
            if without:
                # Without the page the notebook is as it always was.
                page.locator(".jp-CodeCell .jp-InputArea-editor", has_text="sp-recall-flag").first.wait_for()
            else:
                page.locator(surface.READY).wait_for()
                field = page.locator(".nl-field:has(#nl-title-sp-recall-course) input")
                field.fill("045")
                field.press("Enter")
                page.locator(".nl-verdict:not(.nl-blank)").first.wait_for()
            complaints.append(set(page.complaints()))
    assert complaints[1] <= complaints[0]


def test_a_debrief_keeps_nobody_out(served, tmp_path, monkeypatch):
    """As above, for the page of a debriefed flight with its replay, by day and by night."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path))
    assert command.main(["fly", "saltmarsh", "--wind", "240/25", "--laps", "1"]) == 0
    with served.bare_page() as page:
        page.goto((tmp_path / "fly-saltmarsh.html").as_uri())
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.locator("main").wait_for()
            assert faults_for_everyone(page, "body") == [], scheme


@pytest.fixture(scope="class")
def shared(served):
    """The first lesson, opened once for a class of tests."""
    anew(served)
    with served.page(f"{PASSAGE}/{PASSAGE}.ipynb", ready=False) as page:
        # An impatient hand: in a notebook these make a heading of a text, open it and cut it.
        for key in ("1", "Enter", "x", "Escape", "2", "d", "d"):
            page.keyboard.press(key)
        page.locator(surface.READY).wait_for()
        yield page


def test_no_page_asks_whether_jupyterlab_is_to_be_built(lab_page):
    """Definition: nobody here builds it; the answer would start Node, where there is one, for every page."""
    told = "JSON.parse(document.getElementById('jupyter-config-data').textContent)"
    assert lab_page.evaluate(f"[{told}.buildCheck, {told}.buildAvailable]") == [False, False]


@pytest.mark.slow
class TestOneOpening:
    """Every test uses its own questions, or leaves them as any other may find them: the lesson is opened once."""

    def test_what_is_typed_while_it_opens_changes_nothing(self, shared):
        """Definition: every text is as it was released, and read, not edited; the name is still empty."""
        released = nbformat.read(command.ROOT / "lessons" / PASSAGE / f"{PASSAGE}.ipynb", as_version=4)
        shown = "window.jupyterapp.shell.currentWidget.content.widgets"
        texts = shared.evaluate(f"{shown}.map((cell) => cell.model.sharedModel.getSource())")
        assert texts == [cell.source for cell in released.cells]
        assert shared.evaluate(f"{shown}.every((cell) => cell.model.type !== 'markdown' || cell.rendered)")

    def test_undo_outside_a_field_leaves_what_was_judged(self, shared):
        """Definition: the notebook's own undo never swaps an answer under its verdict."""
        card = Card(shared, "sp-dme-speed")
        for answer in (7, surface.right("sp-dme-speed")):
            card.show()
            card.fill(typed(QUESTIONS["sp-dme-speed"], answer))
            card.check()
        before = card.source()
        shared.evaluate("document.activeElement.blur()")
        card.field.locator("xpath=ancestor::*[contains(@class, 'jp-Cell')]").click(position={"x": 3, "y": 3})
        for key in ("Control+z", "Control+z", "Control+Shift+z", "Control+y"):
            shared.keyboard.press(key)
        assert card.source() == before

    def test_words_within_contents_open_them(self, shared):
        """Definition: wherever the button is clicked, on its words for a narrow screen too."""
        shared.set_viewport_size({"width": 480, "height": 450})
        shared.locator(".nl-where").click()
        shared.locator(".nl-list").wait_for()
        shared.keyboard.press("Escape")
        shared.locator(".nl-list").wait_for(state="hidden")
        shared.set_viewport_size({"width": 1280, "height": 900})

    def test_what_is_written_during_a_save_is_saved_too(self, served, shared):
        """Definition: JupyterLab takes it for saved with the rest; the file has it soon all the same."""
        held, context = [], "window.jupyterapp.shell.currentWidget.context"
        shared.route(
            f"**/api/contents/**/{PASSAGE}.ipynb*",
            lambda route: held.append(route) if route.request.method == "PUT" and not held else route.continue_(),
        )

        def said():
            book = saved(served)
            return book and book.metadata.get("said")

        shared.evaluate(f"() => {{ {context}.model.setMetadata('said', 'before'); {context}.save(); }}")
        while not held:
            shared.wait_for_timeout(20)
        shared.evaluate(f"() => {context}.model.setMetadata('said', 'meanwhile')")
        held[0].continue_()
        until = time.monotonic() + 10.0
        while said() != "meanwhile" and time.monotonic() < until:
            shared.wait_for_timeout(50)
        shared.unroute(f"**/api/contents/**/{PASSAGE}.ipynb*")
        assert said() == "meanwhile"
        shared.wait_for_function(f"() => !{context}.model.dirty")

    def test_a_course_that_was_stopped_says_so_and_loses_nothing(self, served, shared):
        """Definition: no dialog of JupyterLab's; what is given meanwhile is saved when somebody answers again."""
        card, arrived = Card(shared, "sp-recall-passage"), []
        banner = shared.locator(".nl-banner", has_text="The course does not answer.")
        card.show()

        def nobody(route):
            route.abort()

        def nobody_after_a_save(route):
            if arrived:
                return route.abort()
            if route.request.method == "PUT" and ".ipynb" in route.request.url:
                arrived.append(route)
            return route.continue_()

        # What was saved, and is not known to be, is no other's work.
        for given, then, answers in (("A", "B", nobody), ("C", "A", nobody_after_a_save)):
            shared.route("**/api**", answers)
            card.fill(given)
            banner.wait_for()
            assert shared.locator(".jp-Dialog").all_inner_texts() == []
            assert holds(served, f'first_action = "{given}"') == bool(arrived)
            shared.unroute("**/api**")
            card.fill(then)
            until(shared, lambda: holds(served, card.source().strip().splitlines()[-1]))
            banner.wait_for(state="hidden")
        shared.errors.clear()  # the browser's own, of what was held back

    def test_two_tabs_with_answers_to_different_questions_come_together(self, shared, served):
        """Definition: what only one of the two has an answer to counts, and nothing is asked."""
        lying = served.root / PASSAGE / f"{PASSAGE}.ipynb"
        Card(shared, "sp-one-dot").fill("B")
        until(shared, lambda: holds(served, 'one_dot_right = "B"'))
        book = saved(served)
        for cell in book.cells:
            cell.source = re.sub("outbound_heading = None", "outbound_heading = 108", cell.source)
        nbformat.write(book, lying)
        Card(shared, "sp-moment").fill("A")
        until(shared, lambda: holds(served, 'passed_at = "A"'))
        assert holds(served, "outbound_heading = 108")
        assert holds(served, 'one_dot_right = "B"')
        assert Card(shared, "sp-outbound").field.locator("input").input_value() == "108"
        shared.locator(".nl-banner", has_text="what was answered there is taken in").wait_for()
        assert [each.name for each in lying.parent.glob("*.ipynb")] == [lying.name]
        assert shared.locator(".jp-Dialog").all_inner_texts() == []

    def test_what_cannot_be_read_gets_one_sentence_and_changes_nothing(self, shared):
        """Definition: one sentence under the field, tied to it; the cell keeps what it held, and no try counts."""
        for key, texts in NONSENSE.items():
            card = Card(shared, key)
            card.show()
            before = card.source()
            for text in texts:
                field = card.field.locator("input")
                field.fill(text)
                field.press("Enter")
                line = card.field.locator(".nl-read.nl-wrong")
                line.wait_for()
                assert field.get_attribute("aria-invalid") == "true"
                assert line.get_attribute("id") in field.get_attribute("aria-describedby").split()
                assert line.inner_text().count("\n") == 0 and line.inner_text().endswith(".")
                assert card.source() == before

    def test_what_pilots_type(self, shared):
        """Definition: numbers as pilots write them become the number that was meant."""
        for key, text, literal in READINGS:
            card = Card(shared, key)
            card.show()
            card.field.locator("input").fill(text)
            card.field.locator("input").blur()
            assert f"= {literal} " in card.source(), (text, card.source())

    def test_hints_and_the_task_at_the_end(self, shared, served):
        """Definition: hints come one by one; a button judges the task; the notebook keeps what was done."""
        card = Card(shared, "sp-cone")
        card.show()
        shared.set_viewport_size({"width": 1024, "height": 520})
        hint = card.field.get_by_role("button", name="Hint")
        hint.evaluate("each => each.scrollIntoView({block: 'end'})")
        for rung in range(1, 5):
            hint.press("Enter" if rung % 2 else "Space")
            card.field.locator(".nl-hint").nth(rung - 1).wait_for()
            assert hint.evaluate("each => each === document.activeElement"), rung
        assert hint.is_disabled()
        # On a tablet, with the buttons at its lower edge, the last hint is in sight.
        shared.at_rest()
        last = card.field.locator(".nl-hint").last.bounding_box()
        assert last["y"] + last["height"] <= shared.viewport_size["height"]
        shared.set_viewport_size({"width": 1280, "height": 900})
        card = Card(shared, "sp-task")
        card.show()
        card.fill(surface.answer_for(QUESTIONS["sp-task"]))
        before = time.time() - 1
        card.check()
        until(shared, lambda: "at" in worked_of(served).get("sp-task", {}))
        said = worked_of(served)
        assert said["sp-cone"] == {"hints": 4}
        assert before < said["sp-task"]["at"] < time.time() + 1
        shared.get_by_role("button", name="Judge my task").click()
        shared.locator(".nl-verdict ~ .jp-CodeCell", has_text="6 of 6 marks").first.wait_for()

    def test_a_verdict_keeps_nobody_out(self, shared):
        """As above, with a verdict, a hint, a sentence on what cannot be read and the list of contents in sight."""
        card = Card(shared, "sp-recall-flag")
        card.show()
        card.fill("A")
        card.check()
        card.field.get_by_role("button", name="Hint").click()
        card.field.locator(".nl-hint").wait_for()
        number = Card(shared, "sp-recall-course")
        number.field.locator("input").fill("abc")
        number.field.locator("input").press("Enter")
        shared.get_by_role("button", name="Contents").click()
        assert faults_for_everyone(shared, ".nl-lesson") == []
        assert shared.locator("[role=status]").count() == 1

    def test_arrows_choose_and_a_right_click_cuts_nothing(self, shared):
        """Definition: an arrow key chooses the next in the row; the notebook's own keys and menu stay away."""
        card = Card(shared, "sp-flags")
        card.show()
        row = card.field.locator("fieldset").first.locator("input")
        row.first.focus()
        shared.keyboard.press("ArrowRight")
        assert row.nth(1).is_checked() and row.nth(1).evaluate("each => each === document.activeElement")
        shared.keyboard.press("ArrowLeft")
        assert row.first.is_checked()
        card.field.click(button="right")
        assert not shared.locator(".lm-Menu").count()

    def test_enter_from_nowhere_leads_to_what_is_in_sight(self, shared):
        """Definition: with the focus lost, Enter goes on where one reads, and never into the name."""
        Card(shared, "sp-flags").show()
        shared.evaluate("document.activeElement.blur()")
        shared.keyboard.press("Enter")
        held = shared.evaluate_handle("document.activeElement")
        assert held.evaluate("each => Boolean(each.closest('.jp-Cell')) && !each.closest('.nl-begun')")
        assert held.as_element().is_visible()

    def test_menus_come_and_go(self, shared):
        """Definition: the menus of JupyterLab are there to be pressed, and away again, each time."""
        menus, bar = shared.get_by_role("button", name="Menus"), shared.locator("#jp-MainMenu")
        for _ in range(2):
            menus.click()
            bar.get_by_text("File", exact=True).wait_for()
            assert menus.inner_text() == "Hide menus"
            menus.click()
            bar.wait_for(state="hidden")

    def test_dark_and_light_again(self, shared):
        """Definition: one button turns the page dark, plates with it, and light again; it keeps the focus."""
        for to, light in (("Dark", "false"), ("Light", "true")):
            shared.get_by_role("button", name=to, exact=True).press("Enter")
            shared.wait_for_function("light => document.body.dataset.jpThemeLight === light", arg=light)
            assert shared.evaluate("document.activeElement.innerText") == ("Light" if to == "Dark" else "Dark")
            seen = "document.querySelector('.nl-lesson .jp-OutputArea img')"
            assert (shared.evaluate(f"getComputedStyle({seen}).filter") == "none") == (light == "true")

    def test_a_slider_is_reached_with_its_picture(self, shared):
        """Definition: where there is room for both, Tab on to a slider brings the whole what-if into sight."""
        shared.locator(".nl-sittings .nl-button").nth(1).click()
        knob = shared.locator(".nw-whatif:visible .noUi-handle:visible").first
        knob.evaluate("each => each.scrollIntoView({block: 'start'})")
        knob.focus()
        shared.keyboard.press("Shift+Tab")
        shared.keyboard.press("Tab")
        assert knob.evaluate("each => each === document.activeElement")
        room = shared.locator(".nl-lesson .jp-NotebookPanel-notebook").bounding_box()
        whole = shared.locator(".nw-whatif:visible").first
        until(shared, lambda: (box := whole.bounding_box()) and room["y"] <= box["y"] + 1
              and box["y"] + box["height"] <= room["y"] + room["height"] + 1, 10)  # fmt: skip

    def test_a_small_screen_holds_what_is_moved_with_what_shows_it(self, shared):
        """WCAG 2.1, 1.4.10: at 200 % of 1280, and on a tablet, what-if and panel are no higher than their screen."""
        for width, height in ((1024, 768), (640, 450)):
            shared.set_viewport_size({"width": width, "height": height})
            assert shared.locator(".nl-bar-head").bounding_box()["height"] < 60, "one line of buttons"
            for sitting in (1, 2):
                shared.locator(".nl-sittings .nl-button").nth(sitting).click()
                all_fit_the_room(shared)
        shared.locator(".nl-sittings .nl-button").nth(1).click()
        which, moved = shared.get_by_label("What is moved"), shared.locator(".nw-whatif:visible .noUi-handle:visible")
        for option in which.locator("option").all()[1:3]:
            which.select_option(option.inner_text())
            assert moved.count() == 1 and option.inner_text().startswith(moved.get_attribute("aria-label"))
        shared.set_viewport_size({"width": 1280, "height": 900})
        which.wait_for(state="hidden")

    def test_the_printed_lesson_is_a_worksheet(self, shared):
        """Definition: it says what it is, asks every question, and parts none from the words that lead to it."""
        shared.emulate_media(media="print")
        shared.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        assert shared.locator(".np > .np-prose .np-note").inner_text().startswith("A worksheet")
        assert shared.locator(".np-question").count() == len(LESSONS[PASSAGE].questions)
        kept = "[...document.querySelectorAll('.np-question')].map((each) => each.previousElementSibling)"
        kept += ".filter((each) => each.matches('.np-prose')).map((each) => getComputedStyle(each).breakAfter)"
        assert set(shared.evaluate(kept)) == {"avoid"}
        shared.evaluate("window.dispatchEvent(new Event('afterprint'))")
        shared.emulate_media(media="screen")
        assert not shared.locator(".np").count()

    def test_other_numbers_are_waited_for(self, shared):
        """Definition: after a new name the page says at once that it is getting ready; Enter does not run ahead."""
        shared.locator(".nl-sittings .nl-button").first.click()
        name, banner = shared.locator(".nl-begun input"), shared.locator(".nl-banner")
        for given in ("Finch", ""):
            name.fill(given)
            name.press("Enter")
            banner.get_by_text("Getting ready").wait_for()
            shared.keyboard.press("Enter")
            assert name.evaluate("each => each === document.activeElement")
            banner.wait_for(state="hidden")

    def test_a_line_left_empty_is_told_before_it_counts(self, shared, served):
        """Definition: an incomplete table is not judged at the first press; the second press means it."""
        card = Card(shared, "sp-flags")
        card.show()
        answers = list(surface.answer_for(QUESTIONS["sp-flags"]).values())
        controls = card.field.locator(".nl-table > .nl-control")
        for place, value in enumerate(answers[:-1]):
            controls.nth(place).locator(f'input[value="{value}"]').check()
        press, before = card.field.locator(".nl-ways .nl-main"), progress.read(served.root).record("sp-flags")
        press.click()
        card.field.get_by_text("is empty; nothing was counted").wait_for()
        assert controls.last.evaluate("each => each.contains(document.activeElement)")
        assert progress.read(served.root).record("sp-flags") == before
        press.click()
        assert card.verdict()["verdict"]["outcome"] != "PASS"
        assert progress.read(served.root).record("sp-flags").tries == before.tries + 1
        # Enter passes by what is right, to what is not; and from there, corrected, to the verdict.
        controls.first.locator("input:checked").press("Enter")
        assert controls.last.evaluate("each => each.contains(document.activeElement)")
        said = card._said()
        controls.last.locator(f'input[value="{answers[-1]}"]').check()
        controls.last.locator("input:checked").press("Enter")
        assert card.verdict(said)["verdict"]["outcome"] == "PASS"

    def test_orders_by_keys(self, shared):
        """Definition: cards are moved by the keyboard as by their buttons."""
        card = Card(shared, "sp-order")
        card.show()
        first = card.field.locator(".nl-cards li b").first.inner_text()
        card.field.locator(".nl-cards li").first.focus()
        shared.keyboard.press("Control+ArrowDown")
        assert card.field.locator(".nl-cards li b").nth(1).inner_text() == first
        assert isinstance(QUESTIONS["sp-order"], Order)

    def test_a_plan_is_flown(self, shared):
        """Definition: a filled plan is flown and judged through its field."""
        card = Card(shared, "sp-plan")
        card.show()
        assert isinstance(QUESTIONS["sp-plan"], FilledPlan)
        card.fill(surface.answer_for(QUESTIONS["sp-plan"]))
        # A number without a unit is not said back with the name of its line.
        assert not any(" from " in said for said in card.field.locator(".nl-read").all_inner_texts())
        assert card.check()["verdict"]["outcome"] == "PASS"

    def test_code_and_field_follow_each_other(self, shared):
        """Definition: with the code shown, what is typed in one stands in the other."""
        shared.get_by_role("button", name="Show code").click()
        card = Card(shared, "sp-recall-course")
        card.show()
        shared.evaluate(
            """() => { for (const cell of window.jupyterapp.shell.currentWidget.content.widgets)
            if (cell.model.sharedModel.getSource().includes('ask("sp-recall-course")'))
              cell.model.sharedModel.setSource('ask("sp-recall-course")\\ncourse_in = 123  # mine'); }"""
        )
        assert card.field.locator("input").input_value() == "123"
        card.field.locator("input").fill("077")
        card.field.locator("input").blur()
        assert card.source().endswith("course_in = 77  # mine")
        shared.get_by_role("button", name="Hide code").click()

    def test_opening_counts_no_try_and_brings_answers_back(self, shared, served):
        """Definition: a lesson opened again shows its answers, counts nothing, and is no changed copy by that."""
        card = Card(shared, "sp-flag-lost")
        had = progress.read(served.root).record(card.key).tries
        card.show()
        card.fill("B")
        card.check()
        until(shared, lambda: holds(served, 'flag_blank = "B"'))
        before = progress.read(served.root).record(card.key)
        assert before.tries == had + 1
        with served.page(f"{PASSAGE}/{PASSAGE}.ipynb", ready=False) as page:
            page.locator(surface.READY).wait_for()
            assert not page.locator(".nl-veil, .nl-opening").count()
            again = Card(page, "sp-flag-lost")
            assert again.field.locator("input[value=B]").is_checked()
            assert again.verdict()["verdict"]["key"] == "sp-flag-lost"
            journal = progress.read(served.root)
            right = sum(journal.record(key).passed for key in LESSONS[PASSAGE].questions)
            assert page.get_by_text(f"Right so far: {right} of").count()
            assert page.complaints() == []
        assert progress.read(served.root).record(card.key) == before

    def test_a_dead_kernel_is_told_and_started_again(self, shared):
        """Definition: the lesson says what happened and goes on by itself; no message in front of it."""
        card = Card(shared, "sp-recall-flag")
        card.show()
        card.fill("B")
        card.check()
        again = shared.locator(".nl-banner", has_text="started again; your answers")
        stopped = shared.locator(".nl-banner", has_text="had stopped")
        kernel = "window.jupyterapp.shell.currentWidget.sessionContext.session.kernel"
        # The server starts the first again by itself; of the second it says that it is dead and does nothing.
        for ends in ("requestExecute({code: 'import os; os._exit(1)', silent: true})", "shutdown()"):
            shared.evaluate(f"() => {{ {kernel}.{ends}; }}")
            stopped.wait_for()
            again.wait_for()
        assert shared.locator(".jp-Dialog").all_inner_texts() == []
        card.fill("A")
        assert card.check()["verdict"]["key"] == "sp-recall-flag"

    def test_changed_elsewhere_the_reader_chooses_and_nothing_is_lost(self, served, shared):
        """Definition: the lesson asks in its own words; the one not taken lies beside it, whole."""
        card = Card(shared, "sp-recall-passage")
        card.show()
        card.fill("A")
        until(shared, lambda: holds(served, 'first_action = "A"'))
        lying = served.root / PASSAGE / f"{PASSAGE}.ipynb"
        asked = shared.locator(".nl-banner", has_text="Nothing is saved until you choose")
        for taken, here, there in (("Keep what is here", "B", "C"), ("Take what is there", "A", "C")):
            before = {each.name for each in lying.parent.glob("*.ipynb")}
            book = saved(served)
            for cell in book.cells:
                cell.source = re.sub('first_action = "."', f'first_action = "{there}"', cell.source)
            nbformat.write(book, lying)
            card.fill(here)
            asked.wait_for()
            assert shared.locator(".jp-Dialog").all_inner_texts() == []
            shared.get_by_role("button", name=taken).click()
            asked.wait_for(state="hidden")
            stays, aside = (here, there) if taken.startswith("Keep") else (there, here)
            until(shared, lambda stays=stays: holds(served, f'first_action = "{stays}"'))
            (kept,) = {each.name for each in lying.parent.glob("*.ipynb")} - before
            text = (lying.parent / kept).read_text()
            assert f'first_action = \\"{aside}\\"' in text, kept
            (lying.parent / kept).unlink()
        shared.locator(surface.READY).wait_for()
        assert 'first_action = "C"' in card.source()


def days_ago(served, days, *tries):
    """Put tries of some days ago into the journal, as a course of that day wrote them."""
    when_s = time.time() - 86_400 * days
    told = [
        {"kind": "try", "key": key, "outcome": outcome, "share": float(outcome == "PASS")} for key, outcome in tries
    ]
    lines = [json.dumps({"when_s": when_s + n, **each}) + "\n" for n, each in enumerate(told)]
    (served.root / progress.FILE_NAME).write_text("".join(lines))


def test_what_is_due_comes_back_and_leads_to_its_place(lab_page, served):
    """Definition: the page says the minutes; a sitting takes answers as a lesson does; a wrong one leads back."""
    for lesson in (PASSAGE, "intercepting-a-radial"):
        surface.again(served.root, lesson)
    shutil.rmtree(served.root / "reviews", ignore_errors=True)
    due = ("sp-recall-course", "ir-recall-selector", "sp-exit")
    days_ago(served, 4, ("sp-recall-course", "SLIP"), ("ir-recall-selector", "PASS"), ("sp-exit", "PASS"))
    page = lab_page
    page.open("start.ipynb")
    page.get_by_text("2 minutes today", exact=True).wait_for()
    minutes, count = LESSONS[PASSAGE].sittings[0], sum(each.sitting == 1 for each in LESSONS[PASSAGE].outlines)
    assert page.get_by_role("button", name=f"Sitting 1 {minutes} min 0 of {count}, 1 due").is_visible()
    page.get_by_role("button", name="Begin these").click()
    page.locator(surface.READY).wait_for()
    (sitting,) = progress.read(served.root).sittings
    assert set(sitting.drawn) == set(due)
    card = Card(page, "sp-recall-course", again=True)
    givens = judging.draw(QUESTIONS[card.key], drawn=sitting.drawn[card.key])
    assert givens["radial_deg"] != judging.draw(QUESTIONS[card.key])["radial_deg"]
    card.fill(surface.typed(givens["radial_deg"], "degrees magnetic"))
    assert card.check()["verdict"]["slip"] == "RECIP"
    page.locator(".nl-verdict a:visible").click()
    page.locator(".nl-title:visible", has_text=LESSONS[PASSAGE].title).wait_for()
    page.wait_for_function("document.activeElement.closest('.nl-field')?.querySelector('#nl-title-sp-recall-course')")
    page.get_by_role("button", name="All lessons").locator("visible=true").click()
    page.get_by_text("1 minute today", exact=True).wait_for()
    page.get_by_role("button", name="Go on with these").click()
    for key in due[1:]:
        card = Card(page, key, again=True)
        question = QUESTIONS[key]
        came = coming_back.fresh(question, {"seed": ""}, sitting.drawn[key])
        card.fill(came.right({}))
        assert card.check()["verdict"]["outcome"] == "PASS", key
    page.get_by_text("Every question of this sitting is answered.").wait_for()
    page.locator(".nl-banner:visible button").click()
    page.get_by_text("Nothing today. The next questions come back on").wait_for()
    assert page.complaints() == []
    assert (served.root / "reviews" / f"{sitting.name}.ipynb").is_file()


def test_whoever_is_sure_goes_to_the_task_and_on(start_page, served):
    """Definition: a task right at the first try makes its lesson known; the page moves on to the next lesson."""
    page = start_page
    page.locator(".nl-lessons > li", has_text=LESSONS[PASSAGE].title).first.get_by_role(
        "button", name="Already sure? Go to the task"
    ).click()
    page.locator(surface.READY).wait_for()
    card = Card(page, "sp-task")
    page.wait_for_function("document.activeElement.closest('.nl-field')?.querySelector('#nl-title-sp-task')")
    card.fill(surface.answer_for(QUESTIONS["sp-task"]))
    card.check()
    page.get_by_role("button", name="Judge my task").click()
    keys = list(LESSONS)
    following = LESSONS[keys[keys.index(PASSAGE) + 1]]
    page.get_by_role("button", name=f"Go on with {following.title}").wait_for()
    page.get_by_role("button", name="All lessons").click()
    row = page.locator(".nl-lessons > li", has_text=LESSONS[PASSAGE].title).first
    row.locator(".nl-mark", has_text="known").wait_for()
    assert row.get_by_text("✓ known").count() == len(LESSONS[PASSAGE].sittings)
    assert page.complaints() == []


def test_pages_to_print_take_one_side_of_paper(lab_page, served):
    """ISO 216: A4 is 210 by 297 mm; all rules, and six weak spots, are on one side, and nothing keeps anybody out."""
    wrong = [each.key for lesson in LESSONS.values() for each in lesson.outlines if each.kind in ("number", "choice")]
    days_ago(served, 2, *((key, "SLIP") for key in wrong[::7]))
    lab_page.open("start.ipynb")
    lab_page.locator("[data-start=ready]").wait_for()
    places = [
        lab_page.locator(f".nl-paper a[href$='{name}']").evaluate("each => each.href")
        for name in ("rules", "weak-spots")
    ]
    with served.bare_page() as page:
        for name, place in zip(("rules", "weak-spots"), places, strict=True):
            page.goto(place)
            page.locator("h1").wait_for()
            text = page.locator("main").inner_text()
            if name == "rules":
                assert all(lesson.title in text for lesson in LESSONS.values())
            else:
                assert page.locator(".spot").count() == 6 and page.locator(".answers li").count() == 6
            assert faults_for_everyone(page, "main") == []
            paper = page.pdf(prefer_css_page_size=True)
            assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1
