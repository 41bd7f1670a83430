"""A lesson before a class: its steps, what a what-if shows, what is kept, and the page, walked in a real browser."""

from __future__ import annotations

import json
import time

import pytest
import surface
from needlework.basis.errors import BadData
from needlework.course import command
from needlework.course.classroom import deck, films, kept, paper
from needlework.exercises import judging
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.kinds import Choice, Number
from needlework.showing import pictures, what_ifs

RELEASED = command.ROOT / "lessons"
ROOM = {"width": 1280, "height": 800}


@pytest.fixture(scope="module")
def decks():
    return {key: deck.deck(key, RELEASED) for key in LESSONS}


# --- the steps --------------------------------------------------------------------------------------------------


def test_every_question_but_the_task_is_a_step(decks):
    """Definition: each question once, in its order; what is graded is not shown before a class."""
    for key, made in decks.items():
        asked = [step.name for step in made.steps if step.kind in ("question", "flight")]
        assert asked == [name for name in LESSONS[key].questions if not QUESTIONS[name].task], key
        names = [step.name for step in made.steps]
        assert len(names) == len(set(names)), key


def test_a_what_if_flies_before_it_is_explained(decks):
    """Definition: its settings stand directly behind the question they answer, before the next text."""
    for key, made in decks.items():
        kinds = [step.kind for step in made.steps]
        first = kinds.index("what-if")
        assert made.steps[first - 1].name.endswith("-predict"), key
        assert kinds[first : first + kinds.count("what-if")] == ["what-if"] * kinds.count("what-if"), key
        assert kinds.count("what-if") >= 4, key


def test_right_and_wrong_are_those_of_the_judge(decks):
    """Definition: what stands as right passes, what stands as wrong does not, for the numbers on the wall."""
    for made in decks.values():
        for step in made.steps:
            if step.asked != "choice":
                continue
            question = QUESTIONS[step.name]
            assert isinstance(question, Choice)
            givens = judging.draw(question, deck.NAME)
            for letter in step.right.split(" or "):
                assert judging.judge(question, givens, letter).outcome == "PASS"
            for wrong in step.wrong:
                verdict = judging.judge(question, givens, wrong.answer)
                assert verdict.outcome == "SLIP" and wrong.says in verdict.text
            assert {o.label for o in step.options} == {*step.right.split(" or "), *(w.answer for w in step.wrong)}


def test_settings_show_what_they_say(decks):
    """Definition: at the end of the flight the sentence of the what-if says what the setting is said to show."""
    for made in decks.values():
        for step in made.steps:
            if step.kind == "what-if":
                name, setting = step.what_if, dict(step.setting)
                end = films.film(name, setting, 1e9)
                assert step.shows and step.shows in end.sentences[-1], step.name
                begin = films.film(name, setting)
                assert begin.at == (begin.low,) and step.kind == "what-if"


def test_a_film_is_what_the_sliders_show():
    """Definition: the same faces and words as with the sliders at that place; what has not changed is left out."""
    made = films.film("arc", {"inside_deg": 10}, 300.0, 3)
    assert made.at == (300.0, 302.0, 304.0)
    shown = what_ifs.arc(inside_deg=10, time_s=304)
    state = {}
    for faces in made.faces:
        state |= faces
    assert state == shown.board.state and made.sentences[-1] == shown.sentence
    assert "on radial" not in made.faces[1] or made.faces[1] != made.faces[0]
    knob = next(each for each in made.knobs if each["name"] == "inside_deg")
    assert (knob["value"], knob["down"], knob["up"]) == (10, 9, 11)


def test_periods_are_no_longer_than_a_period(decks):
    """Definition: each has steps of the lesson only, and fits into forty-five minutes."""
    for made in decks.values():
        names = {step.name for step in made.steps}
        assert made.periods
        for period in made.periods:
            assert period.steps and set(period.steps) <= names and period.minutes <= deck.LESSON_MIN
    assert deck.of_period(decks["flying-an-arc"], "1").steps[0].name == "arc-recall-needle"
    with pytest.raises(BadData, match="choose from 1 "):
        deck.of_period(decks["flying-an-arc"], "nine")


def test_a_lesson_that_is_not_there():
    """Definition: one sentence that says what there is."""
    with pytest.raises(BadData, match="choose from station-passage"):
        deck.deck("no-lesson", RELEASED)


@pytest.mark.slow
def test_type_of_pictures_is_read_from_the_back(decks):
    """Definition: capital letters of 35 px are 15 minutes of arc at four and a half widths of a 1280 px picture."""
    for key, made in decks.items():
        for step in made.steps:
            if step.picture or step.kind == "picture":
                function, values = deck.picture(key, step.name, RELEASED)
                drawn = pictures.for_a_class(getattr(pictures, f"draw_{function.removeprefix('show_')}"), values)
                assert drawn.type_px >= 35.0, (key, step.name, drawn.type_px)
                assert drawn.svg.startswith(b"<?xml") and drawn.words


def test_what_is_kept(tmp_path):
    """Definition: written whole, read back; what cannot be read is nothing; what is far too much is refused."""
    assert kept.read(tmp_path, "flying-an-arc") == {}
    kept.write(
        tmp_path, "flying-an-arc", {"place": "arc-predict:vote", "votes": {"arc-predict": {"first": [8, 3, 4, 3]}}}
    )
    assert kept.read(tmp_path, "flying-an-arc")["votes"]["arc-predict"]["first"] == [8, 3, 4, 3]
    kept.path_of(tmp_path, "flying-an-arc").write_text("{", encoding="utf-8")
    assert kept.read(tmp_path, "flying-an-arc") == {}
    with pytest.raises(BadData, match="next class"):
        kept.write(tmp_path, "flying-an-arc", {"votes": "x" * 700_000})


# --- paper ------------------------------------------------------------------------------------------------------


def written_on(page):
    return [text.get_text() for text in page.texts]


@pytest.mark.parametrize("lesson", list(LESSONS))
def test_worksheets_hold_no_answer_and_fit_on_one_side(lesson):
    """Definition: one page a seat with its own numbers, nothing below its edge; answers are those of the judge."""
    made = paper.sheets(lesson, 3)
    assert len(made.pages) == 3
    for seat, page in enumerate(made.pages, 1):
        assert f"{seat:02d}" in written_on(page)
        assert all(text.get_position()[1] > 0.03 for text in page.texts)
        assert not any("Right" in line or "ask(" in line or "None" in line for line in written_on(page))
    assert written_on(made.pages[0]) != written_on(made.pages[1])
    questions = paper.chosen(lesson)
    assert questions and not any(question.task for question in questions)
    said = " ".join(line for page in paper.answers(lesson, 3).pages for line in written_on(page))
    for question in questions:
        assert question.title in said
        if isinstance(question, Number):
            right = question.right(judging.draw(question, "seat 02"))
            assert question.written(right).removesuffix(question.unit).strip() in said


def test_what_cannot_stand_on_paper_is_refused(tmp_path):
    """Definition: one sentence with what there is."""
    with pytest.raises(BadData, match="choose from"):
        paper.sheets("flying-an-arc", 2, ["arc-fly"])
    with pytest.raises(BadData, match="more than one side"):
        paper.sheets("flying-an-arc", 2, [question.key for question in paper.chosen("flying-an-arc")] * 3)
    assert command.main(["worksheet", "arc", "--seats", "0"]) == 2
    assert command.main(["worksheet", "arc", "--seats", "2", "--to", str(tmp_path / "nowhere")]) == 2
    assert command.main(["card", "arc", "--to", str(tmp_path)]) == 0
    assert (tmp_path / "flying-an-arc card.pdf").read_bytes().startswith(b"%PDF")


def test_the_card_has_every_step_and_answer(decks):
    """Definition: each step of the period with its minute, the right answer and the usual wrong ones."""
    made = deck.of_period(decks["flying-an-arc"], "1")
    said = " ".join(line for page in paper.card("flying-an-arc", "1").pages for line in written_on(page))
    for step in made.steps:
        assert step.title in said and all(f"{wrong.answer}: " in said for wrong in step.wrong)
        if step.shows:
            assert step.shows in said


def test_next_class_puts_everything_of_the_last_away(tmp_path):
    """Definition: `again` keeps the worked copy and the votes in the backup folder, and neither is in sight."""
    command.bring_lessons(tmp_path)
    kept.write(tmp_path, "flying-an-arc", {"votes": {"arc-predict": {"first": [1]}}})
    told = command.start_again(tmp_path, "flying-an-arc")
    assert "backup" in told and not kept.read(tmp_path, "flying-an-arc")
    assert list((tmp_path / "backup").rglob("class/flying-an-arc.json"))


# --- the page ---------------------------------------------------------------------------------------------------

browsing = [pytest.mark.browser, pytest.mark.xdist_group("classroom"), pytest.mark.slow]

MEASURED = """() => {
  const root = document.querySelector('.nt'), body = root.querySelector('.nt-body');
  const faults = [];
  const seen = (element) => {
    for (let e = element; e && e !== root; e = e.parentElement) {
      const style = getComputedStyle(e);
      if (style.display === 'none' || style.visibility === 'hidden') return false;
    }
    return !element.closest('.nt-covered > svg');
  };
  const zoomOf = (element) => element.currentCSSZoom ?? 1;
  let letters = 0, read = false;
  const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const words = node.textContent.trim(), element = node.parentElement;
    if (!words || !seen(element)) continue;
    const style = getComputedStyle(element);
    if (style.color === 'rgba(0, 0, 0, 0)') continue;
    const svg = element.closest('svg');
    let px = parseFloat(style.fontSize);
    if (svg) px *= svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    else px *= zoomOf(element);
    const least = element.closest('.nt-question, .nt-given, .nt-option, .nt-line, .nw-digits') ? 45.9 : 34.9;
    if (px < least) faults.push(`${px.toFixed(1)} px for "${words.slice(0, 30)}"`);
    const range = document.createRange(); range.selectNodeContents(node);
    const box = svg ? element.getBoundingClientRect() : range.getBoundingClientRect();
    const places = [box.left, box.top, box.right, box.bottom].map(Math.round);
    if (places[0] < -1 || places[1] < -1 || places[2] > innerWidth + 1 || places[3] > innerHeight + 1)
      faults.push(`"${words.slice(0, 30)}" is cut: ${places}`);
    if (body.contains(element)) letters += words.length;
  }
  for (const sheet of body.querySelectorAll('.nt-sheet, .nt-sentence')) {
    const over = sheet.scrollHeight - sheet.clientHeight;
    if (over > 3) faults.push(`${sheet.className} is ${over} px too high`);
  }
  for (const line of body.querySelectorAll('.nw-line, .nw-needle')) {
    const svg = line.closest('svg'), style = getComputedStyle(line);
    if (!seen(line)) continue;
    const px = parseFloat(style.strokeWidth) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    const least = line.matches('.nw-needle, .nw-track, .nw-planned, .nw-course') ? 4.9 : 2.9;
    if (px < least) faults.push(`a line of ${px.toFixed(1)} px: ${line.getAttribute('class')}`);
  }
  if (!letters && !body.querySelector('img, svg')) faults.push('nothing on it');
  return faults;
}"""


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with surface.course(tmp_path_factory.mktemp("class")) as running:
        yield running


def opened(page, lesson, period=0):
    """Open a lesson before a class from the start page, at its first screen."""
    page.set_viewport_size(ROOM)
    page.locator("[data-start=ready]").wait_for()
    page.locator(".nl-lessons li", has_text=LESSONS[lesson].title).get_by_role(
        "button", name="Classroom", exact=True
    ).click()
    page.locator(".nt[data-class=choose]").wait_for()
    for _ in range(period):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+F5")
    page.locator(".nt[data-class=ready]").wait_for()


def screen(page):
    return page.evaluate("document.querySelector('.nt').dataset.screen")


class TestPage:
    pytestmark = browsing

    @pytest.mark.parametrize("lesson", list(LESSONS))
    def test_every_screen_is_read_from_the_back(self, served, decks, lesson):
        """Definition: on every screen of every lesson no type under 35 px, readings and questions 46 px, lines of 5
        and 3 px, nothing cut off, nothing empty; what is ahead of the class is in none of it."""
        with served.page("start.ipynb", ready=False) as page:
            opened(page, lesson, len(decks[lesson].periods))
            faults, places = [], []
            while not places or places[-1] != "end":
                page.wait_for_function("!document.querySelector('.nt-wait')")
                page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
                places.append(screen(page))
                faults += [f"{places[-1]}: {fault}" for fault in page.evaluate(MEASURED)]
                page.keyboard.press("PageDown")
                assert len(places) < 600
            steps = {place.rsplit(":", 1)[0] for place in places} - {"title", "end"}
            assert steps == {step.name for step in decks[lesson].steps}
            assert not faults, faults[:20]
            assert page.complaints() == []

    def test_keys_reach_nothing_else(self, served):
        """Definition: no key of a remote, nor any other, changes the notebook beneath; Escape twice leaves."""
        lesson = "flying-an-arc"
        surface.again(served.root, lesson)
        with served.page(f"{lesson}/{lesson}.ipynb", ready=False) as page:
            page.set_viewport_size(ROOM)
            page.locator(surface.READY).wait_for()
            path = served.root / lesson / f"{lesson}.ipynb"
            count = (
                "window.jupyterapp.shell.currentWidget.content.widgets"
                ".map((cell) => cell.model.sharedModel.getSource()).join()"
            )
            before, sliders = (
                page.evaluate(count),
                "[...document.querySelectorAll('.widget-readout')].map((r) => r.textContent).join()",
            )
            stood = page.evaluate(sliders)
            page.get_by_role("button", name="Classroom", exact=True).click()
            page.locator(".nt[data-class=choose]").wait_for()
            page.keyboard.press("PageDown")
            page.locator(".nt[data-class=ready]").wait_for()
            for key in (
                "b",
                ".",
                "PageDown",
                "PageUp",
                "ArrowLeft",
                "ArrowDown",
                "a",
                "d",
                "x",
                "Enter",
                "F5",
                "Home",
                "Tab",
                "Delete",
                "Control+s",
            ):
                page.keyboard.press(key)
            assert page.locator(".nt").count() == 1
            page.keyboard.press("Escape")
            assert page.locator(".nt").count() == 1
            page.keyboard.press("Escape")
            page.locator(".nt").wait_for(state="detached")
            assert page.evaluate(count) == before and page.evaluate(sliders) == stood and path.exists()
            assert page.complaints() == []

    def test_a_question_in_beats(self, served):
        """Definition: before the answer nothing on the wall says which is right; votes are counts and stand side by
        side; a wrong one's sentence comes on demand; back covers again; the place is kept."""
        with served.page("start.ipynb", ready=False) as page:
            opened(page, "flying-an-arc")
            wall = page.locator(".nt-body")
            while screen(page) != "arc-predict:vote":
                page.keyboard.press("PageDown")
                if screen(page).startswith("arc-predict:"):
                    assert not page.locator(".nt-right").count()
            for key in ("8", " ", "3", " ", "4", " ", "3", "Enter"):
                page.keyboard.press(key)
            assert "18 votes" in wall.inner_text()
            page.keyboard.press("PageDown")
            page.keyboard.press("PageDown")
            page.keyboard.press("4")
            page.keyboard.press("Enter")
            page.keyboard.press("Shift+C")
            assert page.locator(".nt-bar.nt-after").count() == 4 and page.locator(".nt-bar").count() == 8
            assert page.evaluate(MEASURED) == []
            page.keyboard.press("PageDown")
            assert page.locator(".nt-right").get_attribute("data-letter") == "C"
            assert page.evaluate(MEASURED) == []
            page.keyboard.press("Shift+B")
            assert "nose ten degrees inside" in wall.inner_text()
            page.keyboard.press("Shift+B")
            assert page.locator(".nt-right").count() == 1
            page.keyboard.press("PageUp")
            assert not page.locator(".nt-right").count()
            here = screen(page)
            page.wait_for_timeout(400)
            votes = kept.read(served.root, "flying-an-arc")
            assert votes["votes"]["arc-predict"] == {"first": [8, 3, 4, 3], "second": [4, 0, 1, 0]}
            assert set(votes) == {"votes", "size", "period", "place"}
        with served.page("start.ipynb", ready=False) as page:
            page.locator("[data-start=ready]").wait_for()
            page.locator(".nl-lessons li", has_text="Flying an arc").get_by_role(
                "button", name="Classroom", exact=True
            ).click()
            page.locator(".nt[data-class=choose]").wait_for()
            page.keyboard.press("PageDown")
            page.locator(".nt[data-class=ready]").wait_for()
            assert screen(page) == here

    def test_a_what_if_by_its_keys(self, served):
        """Definition: covered words are nowhere on the wall; Space flies at the rate said; knobs go by notches."""
        with served.page("start.ipynb", ready=False) as page:
            opened(page, "flying-an-arc")
            while screen(page) != "Square to the radial:set":
                page.keyboard.press("PageDown")
            wall = page.locator(".nt-body")
            page.locator(".nt-face[data-face=dme] text", has_text="14.5").wait_for()
            assert "spiral" not in wall.inner_text() and not page.locator(".nw-ahead:visible").count()
            page.keyboard.press("5")
            assert page.locator(".nw-ahead:visible").count()
            page.keyboard.press("2")
            assert page.locator(".nt-face.nt-covered").count() == 1
            page.keyboard.press("0")
            assert "a spiral out" in wall.inner_text()
            page.keyboard.press("r")
            page.keyboard.press("Space")
            begun = time.monotonic()
            page.wait_for_timeout(3000)
            page.keyboard.press("Space")
            flown = time.monotonic() - begun
            clock = page.locator(".nt-face[data-face=clock] text").nth(1).text_content()
            minutes, seconds = map(int, clock.split(":"))
            # Twenty times as fast, read to a second of the flight's two-second places.
            assert abs((60 * minutes + seconds) / flown - 20) < 3
            page.keyboard.press("ArrowRight")
            page.locator(".nt-name", has_text="Nose inside the tangent 1 deg").wait_for()
            page.keyboard.press("PageDown")
            page.locator(".nt-face[data-face=dme] text", has_text="11.5").wait_for()

    def test_next_beat_is_there_at_once(self, served, record_property):
        """Definition: from the key to the next screen at most 50 ms in the middle of all beats of a period."""
        with served.page("start.ipynb", ready=False) as page:
            opened(page, "flying-an-arc")
            page.wait_for_timeout(8000)
            took = []
            while screen(page) != "end":
                took.append(
                    page.evaluate("""() => new Promise((done) => { const root = document.querySelector('.nt');
                    const begun = performance.now();
                    window.dispatchEvent(new KeyboardEvent('keydown', {key: 'PageDown', cancelable: true}));
                    requestAnimationFrame(() => { root.getBoundingClientRect();
                      done(performance.now() - begun); }); })""")
                )
            record_property("milliseconds", json.dumps([round(each) for each in took]))
            took.sort()
            assert took[len(took) // 2] <= 50

    def test_next_class_while_the_lesson_is_open(self, served):
        """Definition: asked once, the lesson opens as new, the votes are gone; a what-if keeps back what is asked."""
        lesson = "flying-an-arc"
        surface.again(served.root, lesson)
        kept.write(served.root, lesson, {"votes": {"arc-predict": {"first": [9]}}})
        with served.page(f"{lesson}/{lesson}.ipynb", ready=False) as page:
            page.locator(surface.READY).wait_for()
            page.locator(".nl-kept-back .nw-board").wait_for(state="attached")
            card = surface.Card(page, "arc-predict")
            card.show()
            card.fill("C")
            card.check()
            page.locator(".nl-kept-back").wait_for(state="detached")
            page.get_by_role("button", name="All lessons").click()
            row = page.locator(".nl-lessons li", has_text="Flying an arc")
            row.get_by_role("button", name="Next class").click()
            row.get_by_role("button", name="Put the last class away?").click()
            page.locator(".nl-told", has_text="as new").wait_for()
            assert not kept.read(served.root, lesson)
            row.get_by_role("button", name="Flying an arc").click()
            page.locator(surface.READY).wait_for()
            card = surface.Card(page, "arc-predict")
            assert not card.field.locator("input:checked").count()
            assert page.complaints() == []


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.xdist_group("surface")
def test_the_command_opens_straight_before_the_class(tmp_path, monkeypatch):
    """Definition: the course opens with the lesson on the wall, once; while the server is away the class is told."""
    monkeypatch.setenv(command.TEACH, "missed-approach")
    with surface.course(tmp_path) as served, served.page("start.ipynb", ready=False) as page:
        page.set_viewport_size(ROOM)
        page.locator(".nt[data-class=choose]").wait_for()
        page.keyboard.press("PageDown")
        page.locator(".nt[data-class=ready]").wait_for()
        page.keyboard.press("Shift+F5")
        while screen(page) != "A weak climb:set":
            page.keyboard.press("PageDown")
        page.locator(".nt-face[data-face=gradient]").wait_for()
        page.route("**/needlework/class/film*", lambda route: route.abort())
        page.keyboard.press("ArrowRight")
        page.locator(".nt-wait", has_text="Getting ready").wait_for()
        assert page.locator(".nt-stage.nt-grey").count() == 1
        page.unroute("**/needlework/class/film*")
        page.locator(".nt-name", has_text="210 ft/min").wait_for()
        assert not page.locator(".nt-wait").count() and not page.locator(".nt-grey").count()
        page.keyboard.press("Escape")
        page.keyboard.press("Escape")
        page.locator(".nt").wait_for(state="detached")
        page.reload()
        page.locator("[data-start=ready]").wait_for()
        assert not page.locator(".nt").count()
