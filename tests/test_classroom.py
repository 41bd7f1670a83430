"""A lesson before a class: its steps, what a what-if shows, what is kept, and the page, walked in a real browser."""

from __future__ import annotations

import base64
import io
import re
import sys
import time
import wave

import own_lesson
import pytest
import surface
from needlework.basis.errors import BadData
from needlework.building import own_lessons
from needlework.course import command, extra
from needlework.course.classroom import asked, deck, films, flown, kept, paper, replays
from needlework.exercises import judging
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.kinds import Choice, Number
from needlework.showing import pictures, what_ifs
from needlework.showing.pictures.show import CLASS_PX
from needlework.showing.plate import twin
from needlework.world import procedure

RELEASED = command.ROOT / "lessons"
ROOM = {"width": 1280, "height": 800}
ARCS = "flying-an-arc"
OPEN = "intercepting-a-radial"
"""A lesson that is open as its learner has it; what stands before a class is another."""


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
        if "what-if" not in kinds:
            continue
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
            told = {*step.right.split(" or "), *(w.answer for w in step.wrong)}
            assert told <= {o.label for o in step.options}
            assert len(step.wrong) == 6 or len(told) == len(step.options), step.name


def test_usual_wrong_answers_are_such_as_are_written(decks):
    """Definition: none is nought or a dozen times off; what is said after a vote is more than a letter."""
    lead = next(step for step in decks["intercepting-a-radial"].steps if step.name == "ir-lead-faded")
    told = [wrong.answer for wrong in lead.wrong]
    assert told[:3] == ["0.7 degrees", "13.2 degrees", "2.2 degrees"] and "2,727.3 degrees" not in told
    north = next(step for step in decks["missed-approach"].steps if step.name == "ma-teardrop")
    assert "360 degrees magnetic" in [wrong.answer for wrong in north.wrong]
    for made in decks.values():
        for step in made.steps:
            assert not any(re.search(r"(^|: )[0.]+ [a-z]", wrong.answer) for wrong in step.wrong), step.name
            assert not re.fullmatch(r"[A-Z]\.", step.model) and (step.kind != "question" or step.model or step.why)


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


def test_the_clock_stands_with_the_picture(decks):
    """Definition: at the end of a film the clock shows the moment from which on nothing moves any more."""
    for made in decks.values():
        for step in made.steps:
            if step.kind != "what-if":
                continue
            whole = films.film(step.what_if, step.setting)
            after = films.film(step.what_if, step.setting, whole.high - whole.step, 2).faces[1]
            assert "clock" not in after or "plan" in after, step.name
    end = films.film("arc", {"inside_deg": 5}, 1e9)
    stood = float(end.faces[0]["clock"]["value"])
    assert stood < end.at[0]
    flying = films.film("arc", {"inside_deg": 5}, stood - 4.0, 2).faces
    assert "plan" in flying[1] and "clock" in flying[1]


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
    assert films.said_of("arc", {"inside_deg": 10}).endswith(" 10 deg")


def test_a_notch_is_seen_from_the_back():
    """Definition: at most forty from end to end of a knob, each on a whole notch, none beyond the ends."""
    for name in (name for name in what_ifs.__all__ if name.islower()):
        for knob in films._made(name).known.values():
            if isinstance(knob.start, bool) or knob.options:
                continue
            at, notches = float(knob.low), 0
            while at < knob.high:
                _, up = films._notches(knob, at)
                assert at < up <= knob.high
                at, notches = up, notches + 1
            assert notches <= 41, (name, knob.label)


def test_what_a_step_speaks_of_stands_with_it(decks):
    """Definition: a question names its plate, a text its picture; nothing is "above" on a wall, and no key of those
    who fly alone is spoken of."""
    for key, made in decks.items():
        steps = {step.name: step for step in made.steps}
        for step in made.steps:
            every = " ".join((step.text, step.given, step.model, step.why, *(each.says for each in step.wrong)))
            alone = r"\b(sliders?|hints?|earns its marks|[Tt]yped?|last sitting)\b|`needlework "
            assert not re.search(alone, every), (key, step.name)
            said = f"{step.text} {step.given}"
            assert not re.search(r"(plate|picture|Picture\*\* The \w+) (above|below)", said), (key, step.name)
            if step.kind == "question" and re.search(r"\b(this plate|plate of \w+|its plate)\b", said):
                assert steps[step.plate].kind == "plate", (key, step.name)
            if step.kind == "text" and re.search(r"\bThe picture shows|The picture:|\*\*Picture\*\* The", said):
                there = steps.get(step.pictured)
                drawn = any(each.kind == "picture" for each in made.steps)
                assert there.kind == "picture" if there else not drawn or "Picture**" in said, (key, step.name)
            if step.kind == "flight":
                assert not re.search(r"\b(buttons?|press|keys|panel below|×\d)", said), (key, step.name)
    arc = {step.name: step for step in decks["flying-an-arc"].steps}
    assert arc["Straight legs round a station"].pictured == "picture 1"
    assert arc["arc-fly"].text.endswith("on the final.")
    whole = {step.name: step for step in decks["whole-approach"].steps}
    assert whole[whole["wa-brief"].plate].title == "The plate of Jarvu"


def test_time_to_think_grows_with_what_is_asked(decks):
    """Definition: 40 s at least, 15 s for each line, 10 s for each thing to be put in order; the card says it."""
    for made in decks.values():
        for step in made.steps:
            if step.kind == "question":
                cards = len(step.options) if step.asked == "order" else 0
                assert step.think_s == max(40, 15 * len(step.lines), 10 * cards), step.name
    said = " ".join(line for page in paper.card("whole-approach", "1").pages for line in written_on(page))
    assert "think 2:00" in said and "think 0:40" in said


def test_the_receiver_beside_the_wanted_flight():
    """Definition: each needle names its receiver; on the final of the arc it is the first, on the arc the second."""
    setting = {"flight": "wanted"}
    last = replays.film(command.ROOT, "flying-an-arc", "beside/arc-fly", setting, 1e9).faces[0]
    assert last["needle flown"]["title"] == "VOR 1 flown" and last["needle wanted"]["title"] == "VOR 1 wanted"
    assert last["needle wanted"]["course_deg"] == 214.0
    arc = replays.film(command.ROOT, "flying-an-arc", "beside/arc-fly", setting, 300.0).faces[0]
    assert arc["needle wanted"]["title"] == "VOR 2 wanted"


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


def test_steps_have_short_names_of_their_own(decks):
    """Definition: at most five words, and no two of a kind alike: what is looked for on card and list is found."""
    for key, made in decks.items():
        named = [(step.kind, step.title) for step in made.steps]
        assert len(set(named)) == len(named), (key, named)
        for _, title in named:
            words = [word for word in title.split() if not word.isdecimal()]
            assert len(words) <= 5 and len(title) <= 40, (key, title)


def test_flights_to_find_stand_behind_the_first_period(decks):
    """Definition: they are a period of their own, and not below all the parts of a lesson."""
    for key, made in decks.items():
        names = [period.name for period in made.periods]
        if deck.FAULTS_OF.get(key):
            assert names[1] == "Flights with a fault to find", key
        assert sum(name.startswith("Part ") for name in names) >= 3


def test_a_lesson_that_is_not_there():
    """Definition: one sentence that says what there is."""
    with pytest.raises(BadData, match="choose from briefing-and-identifying, station-passage"):
        deck.deck("no-lesson", RELEASED)


def test_a_picture_has_the_size_at_which_it_is_read(tmp_path):
    """Definition: the size that a picture's file has is that at which its smallest type has 35 px, on the whole wall
    and beside words; the walk of every screen holds that none stands smaller."""
    function, values = deck.picture("missed-approach", "ma-mistakes", RELEASED)
    draw = getattr(pictures, f"draw_{function.removeprefix('show_')}")
    for room in (CLASS_PX, pictures.beside_words(draw, values)):
        drawn = pictures.for_a_class(draw, values, room)
        own = [float(each) for each in re.findall(rb'(?:width|height)="([\d.]+)" ', drawn.svg)[:2]]
        times = min(there / each for there, each in zip(room, own, strict=True))
        assert drawn.type_px >= 35.0 and 35.0 * times == pytest.approx(drawn.type_px, abs=0.2)
        assert drawn.svg.startswith(b"<?xml") and drawn.words


def test_a_plate_says_everything_but_its_ident(decks, tmp_path):
    """Definition: the bands of the page, word for word; dots and dashes stand with the recordings alone."""
    steps = {step.name: step for step in decks["briefing-and-identifying"].steps}
    plate = steps["plate 1"]
    said = dict(twin.words(procedure.load("saltmarsh")))
    assert [line.label for line in plate.lines] == list(said)
    for line in plate.lines:
        assert not set(line.right) & set("•–")
        for sentence in said[line.label][1:] if line.label == "Tune" else said[line.label]:
            assert re.sub(r"\s*[•–][•–\s]*", " ", sentence) in line.right
    assert "straight in: A 560 ft 1,600 m" in plate.lines[4].right
    # Morse of O, V and K: ITU-R M.1677-1, 1.1.1.
    assert plate.signs[0].right.splitlines()[0] == "0 s, low tone: –––   •••–   –•–"
    idents = steps["bt-idents"]
    assert idents.beats[:2] == ("ask", "listen") and len(idents.heard) == len(idents.signs) == 5
    for number, signs in enumerate(idents.signs):
        more = {"name": "bt-idents", "number": number}
        wav = base64.b64decode(asked.answer("sound", tmp_path, "briefing-and-identifying", **more))
        with wave.open(io.BytesIO(wav)) as sound:
            assert sound.getnframes() == 30 * sound.getframerate()
            loud = len(set(sound.readframes(sound.getnframes()))) > 1
        assert loud == (signs.right != "Silence.")


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


def test_a_class_that_flies_straight_in_has_not_come_to_the_final():
    """Definition: "ends at 5.8 DME on the final": without an order the flight goes on over the station; the wanted
    flight's place at that DME is on it."""
    flight = flown.ClassFlight(QUESTIONS["arc-fly"])
    over = flight.until(round(460.0 / flown.STEP_S))
    assert over.passed.least_nm < 5.0 and not over.ended


def test_what_was_tuned_is_taken_back_with_its_order():
    """Definition: without its order a frequency is what it was, and a station not heard; twice is once."""
    flight = flown.ClassFlight(QUESTIONS["bt-hand"])
    assert flight.until(0) and flight.knobs(0)[:3] == ["113.50", "115.60", "not yet"]
    tuned = [(0.0, "tune1+100"), *[(0.0, "tune1+5")] * 2, (0.0, "change over 1"), (0.0, "identify")]
    for orders in (tuned, tuned[:-1], tuned):
        flight.follow(orders)
        flight.until(0)
        assert flight.knobs(0)[:3] == ["115.60", "114.60", "heard" if orders == tuned else "not yet"]
    flight.follow([])
    flight.until(0)
    assert flight.knobs(0)[:3] == ["113.50", "115.60", "not yet"]


def test_what_can_be_ordered():
    """Definition: identifying comes first, as it is judged first; notches are those of the actions."""
    told = [flown.notches(order) for order in flown.orderable("arc-fly")]
    assert told[:2] == ["Ident: listen", "Heading: 10°, Shift 1°"]
    assert "Climb or descent: 100 ft/min, Shift level" in told and "Flap and gear: one step" in told


# --- colours ----------------------------------------------------------------------------------------------------

PROJECTOR_LX, ROOM_LX, LEAK = 1200.0, 300.0, 1.0 / 500.0
"""A school's projector on two metres of screen, the light of the room on it, and the projector's own black.

Model: the screen scatters what falls on it, so the brightness of a colour is the projector's light times the relative
luminance of the colour, and the light of the room on top; contrast is the ratio of two of these. Relative luminance:
IEC 61966-2-1 (sRGB), as WCAG 2.2 defines it. 300 lx: EN 12464-1, classrooms, maintained on the desk. 1,200 lx and
1 : 500: common practice, no source.
"""


def luminance(colour):
    """Relative luminance of a colour by IEC 61966-2-1."""
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def on_the_wall(colour, other="#ffffff"):
    """Contrast of two colours thrown on to a screen in a lit room."""
    lit = [ROOM_LX + PROJECTOR_LX * (LEAK + (1.0 - LEAK) * luminance(each)) for each in (colour, other)]
    return max(lit) / min(lit)


def test_colours_are_seen_in_a_lit_room():
    """WCAG 2.2, 1.4.3 and 1.4.11: large type and what has to be told apart, 3 : 1; here on the wall, not on a screen.

    Ink, in which all type and every main line but those named is drawn, has 4.5 : 1 as small type would need.
    """
    # Best there is: ink on white can have no more than (1200 + 300) / 300 = 5 : 1 in such a room.
    assert on_the_wall("#000000") == pytest.approx(1500 / 302.4, abs=0.01)
    look = (command.ROOT / "lib/needlework/course/jupyter/labextensions/needlework/static/teach.css").read_text(
        "utf-8"
    )
    board = dict(re.findall(r"--nw-(\w+): (#[0-9a-f]{6});", look))
    assert on_the_wall(board["ink"]) >= 4.5 and on_the_wall(board["quiet"]) >= 4.5
    told = {*re.findall(r"(?<![-\w])(?:color|fill|stroke|border(?:-\w+)?): [^;]*?(#[0-9a-f]{6})\b", look)}
    told |= {board[name] for name in ("wanted", "radial", "warning", "minimum", "edge")}
    assert len(told) >= 5
    for colour in told:
        assert on_the_wall(colour) >= 3.0, (colour, on_the_wall(colour))
    # The knob that could not be seen: white with a grey edge.
    assert on_the_wall("#d9d9d9") < 1.4


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


def test_a_worksheet_asks_what_the_period_asks(decks):
    """Definition: the period's work on paper, as the wall has it; the answers are one table, a row a seat."""
    assert [each.key for each in paper.chosen("flying-an-arc")] == ["arc-first", "arc-steps"]
    for key, made in decks.items():
        asked = made.periods[0].steps
        assert all(any(each.key in step for step in asked) for each in paper.chosen(key)), key
    [part] = [n for n, each in enumerate(decks["flying-an-arc"].periods, 1) if "arc-turn-dme" in each.steps]
    assert "arc-turn-dme" in [each.key for each in paper.chosen("flying-an-arc", period=str(part))]
    with pytest.raises(BadData, match="choose another period"):
        paper.chosen("flying-an-arc", period="Flights with a fault to find")
    made = paper.answers("flying-an-arc", 4)
    said = [line for page in made.pages for line in written_on(page)]
    assert len(made.pages) <= 2 and [said.count(f"{seat:02d}") for seat in range(1, 5)] == [1] * 4


def test_what_cannot_stand_on_paper_is_refused(tmp_path):
    """Definition: one sentence with what there is."""
    with pytest.raises(BadData, match="choose from"):
        paper.sheets("flying-an-arc", 2, ["arc-fly"])
    with pytest.raises(BadData, match="more than one side"):
        paper.sheets("flying-an-arc", 2, [question.key for question in paper.chosen("flying-an-arc")] * 3)
    assert command.main(["worksheet", "arc", "--seats", "0"]) == 2
    (tmp_path / "file").touch()
    assert command.main(["worksheet", "arc", "--seats", "2", "--to", str(tmp_path / "file")]) == 2
    assert command.main(["card", "arc", "--to", str(tmp_path / "new" / "folder")]) == 0
    assert (tmp_path / "new" / "folder" / "flying-an-arc card.pdf").read_bytes().startswith(b"%PDF")


def test_the_card_has_every_step_and_answer(decks):
    """Definition: each step of the period with its minute, the right answer and the usual wrong ones."""
    made = deck.of_period(decks["flying-an-arc"], "1")
    said = " ".join(line for page in paper.card("flying-an-arc", "1").pages for line in written_on(page))
    for step in made.steps:
        assert step.title in said and all(f"{wrong.answer}: " in said for wrong in step.wrong)
        if step.shows:
            assert step.shows in said
    assert f"{int(made.periods[0].minutes + 0.5)} minutes in all" in said and "Ident: listen" in said
    boxes = sum(len(page.patches) + len(page.artists) for page in paper.card("flying-an-arc", "1").pages)
    assert boxes >= sum(len(step.beats) for step in made.steps)


def test_next_class_puts_everything_of_the_last_away(tmp_path):
    """Definition: worked copy, votes and flights are kept in the backup folder, none is in sight; twice is once."""
    command.bring_lessons(tmp_path)
    kept.write(tmp_path, "flying-an-arc", {"votes": {"arc-predict": {"first": [1]}}})
    flight = flown.flight_of("arc-fly")
    at = tmp_path / "flying-an-arc" / "flights" / "arc-fly-20261127-100000.csv"
    at.parent.mkdir()
    at.write_text(flight.question.right(flight.givens), encoding="utf-8")
    assert replays.listed(tmp_path, "flying-an-arc")["arc-fly"]
    told = command.next_class(tmp_path, "flying-an-arc")
    assert not replays.listed(tmp_path, "flying-an-arc")["arc-fly"]
    assert list((tmp_path / "backup").rglob("arc-fly-*.csv"))
    today = time.localtime()
    assert f"Put away on {today.tm_mday} " in told and f"in backup/{time.strftime('%Y-%m-%d')}: " in told
    assert "the worked lesson, the votes and one flight. Flying an arc" in told
    assert not kept.read(tmp_path, "flying-an-arc")
    assert list((tmp_path / "backup").rglob("class/flying-an-arc.json"))
    there = sorted(tmp_path.rglob("*"))
    assert "put away already" in command.next_class(tmp_path, "flying-an-arc")
    assert sorted(tmp_path.rglob("*")) == there


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
  const pen = document.createElement('canvas').getContext('2d');
  let letters = 0;
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
    const face = svg && !element.closest('[clip-path]') ? svg.getBoundingClientRect() : null;
    if (face && (box.left < face.left - 2 || box.right > face.right + 2))
      faults.push(`"${words.slice(0, 30)}" is cut by its face`);
    const holder = svg && (element.matches('.nw-flag-text') ? svg.querySelector('.nw-flag') : svg);
    if (holder && !element.closest('[clip-path], [transform*=rotate]')) {
      // The letters themselves, without the room above and below them.
      const matrix = element.getScreenCTM(), from = element.getStartPositionOfChar(0);
      pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
      const { actualBoundingBoxAscent: up, actualBoundingBoxDescent: down } = pen.measureText(words);
      const line = matrix.b * from.x + matrix.d * from.y + matrix.f, frame = holder.getBoundingClientRect();
      if (line - matrix.d * up < frame.top + 2 || line + matrix.d * down > frame.bottom - 2)
        faults.push(`"${words.slice(0, 30)}" runs over its frame`);
    }
    if (body.contains(element)) letters += words.length;
  }
  for (const sheet of body.querySelectorAll('.nt-sheet, .nt-sentence')) {
    const over = sheet.scrollHeight - sheet.clientHeight;
    if (over > 3) faults.push(`${sheet.className} is ${over} px too high`);
  }
  const DRAWN = '.nw-line, .nw-needle, .nw-circle, .nw-mark, .nw-dot, .nw-centre, .nw-flag, .nw-wind, .nw-tick';
  for (const line of body.querySelectorAll(DRAWN)) {
    const svg = line.closest('svg'), style = getComputedStyle(line);
    if (!seen(line) || style.stroke === 'none') continue;
    const px = parseFloat(style.strokeWidth) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    const main = '.nw-needle, .nw-track, .nw-planned, .nw-course, .nw-minimum, .nw-ahead';
    const least = line.matches(main) ? 4.9 : 2.9;
    if (px < least) faults.push(`a line of ${px.toFixed(1)} px: ${line.getAttribute('class')}`);
  }
  const pictures = body.querySelectorAll('img, svg').length;
  if (letters < 3 && !pictures) faults.push('nothing on it');
  for (const image of body.querySelectorAll('img')) {
    // A picture's own size is the least at which its type has 35 px.
    const { width, height } = image.getBoundingClientRect();
    const times = Math.min(width / image.naturalWidth, height / image.naturalHeight);
    if (!image.naturalWidth) faults.push('a picture is not there');
    else if (times < 0.995) faults.push(`${(35 * times).toFixed(1)} px in a picture`);
  }
  for (const piece of root.querySelectorAll('.nt-head > *, .nt-foot > *')) {
    const at = piece.getBoundingClientRect();
    if (at.right > innerWidth + 1) faults.push(`${piece.textContent.slice(0, 30)} runs over the edge`);
  }
  return faults;
}"""

WALKED = """async (measured) => {
  // By its key from screen to screen; each is measured once it is whole.
  const root = document.querySelector('.nt'), { classroom } = root, faults = [], places = [], took = [];
  const measure = eval(measured);
  const until = async (done) => {
    const begun = performance.now();
    while (!done() && performance.now() - begun < 60000) await new Promise((next) => setTimeout(next, 4));
  };
  for (;;) {
    await until(() => classroom.whole());
    const here = root.dataset.screen;
    places.push(here);
    for (const fault of measure()) faults.push(`${here}: ${fault}`);
    if (here === 'end' || places.length > 900) return { places, faults, took };
    const begun = performance.now();
    window.dispatchEvent(new KeyboardEvent('keydown', { key: 'PageDown', cancelable: true }));
    root.getBoundingClientRect();
    took.push(performance.now() - begun);
  }
}"""


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    root = tmp_path_factory.mktemp("class")
    folder = own_lesson.write(root / "mine", root / "mark.txt")
    own_lessons.build(folder)
    with surface.course(root / "teacher", environment={command.EXTRA: str(folder)}) as running:
        command.bring_own(root / "teacher", extra.built_in([folder])[0])
        yield running


@pytest.fixture(scope="module")
def page(served):
    """One page for all that begins on the start page."""
    with served.page("start.ipynb", ready=False) as made:
        made.set_viewport_size(ROOM)
        made.locator("[data-start=ready]").wait_for()
        yield made


@pytest.fixture(scope="class")
def lesson_page(served):
    """A lesson itself, opened once."""
    surface.again(served.root, OPEN)
    with served.page(f"{OPEN}/{OPEN}.ipynb", ready=False) as made:
        made.locator(surface.READY).wait_for()
        yield made


def chosen(page, title):
    """Open a lesson before a class from the start page, where a period is chosen."""
    while page.locator(".nt").count():
        page.keyboard.press("Escape")
    page.locator(".nl-lessons li", has_text=title).get_by_role("button", name="Classroom", exact=True).click()
    page.locator(".nt[data-class=choose]").wait_for()


def opened(page, lesson, named):
    """Open a lesson before a class at the first screen of a period."""
    chosen(page, LESSONS[lesson].title)
    for _ in range(20):
        if named in page.locator(".nt-pointed").inner_text():
            break
        page.keyboard.press("ArrowDown")
    page.keyboard.press("PageDown")
    page.locator(".nt[data-class=ready]").wait_for()


def to(page, wanted):
    """Go on to a screen, without stopping at those before it."""
    page.evaluate(
        "id => { const { classroom } = document.querySelector('.nt'); classroom.go(classroom.find(id)); }", wanted
    )
    assert screen(page) == wanted
    page.wait_for_function("document.querySelector('.nt').classroom.whole()")


def until(page, said, seconds=30):
    """Wait for something to become true that no element of the page shows."""
    deadline = time.monotonic() + seconds
    while not said():
        assert time.monotonic() < deadline
        page.wait_for_timeout(20)


def screen(page):
    return page.evaluate("document.querySelector('.nt').dataset.screen")


class TestPage:
    pytestmark = browsing

    @pytest.mark.parametrize("lesson", list(LESSONS))
    def test_every_screen_is_read_from_the_back(self, page, decks, lesson):
        """Definition: on every screen of every lesson no type under 35 px, readings and questions 46 px, lines of 5
        and 3 px, nothing cut off, nothing empty; from the key to the next screen 50 ms in the middle of all."""
        opened(page, lesson, "The whole lesson")
        walked = page.evaluate(WALKED, MEASURED)
        places = walked["places"]
        steps = {place.rsplit(":", 1)[0] for place in places} - {"title", "end"}
        assert steps == {step.name for step in decks[lesson].steps if step.kind != "paper"}
        assert not walked["faults"], walked["faults"][:20]
        took = sorted(walked["took"])
        print(
            lesson, len(places), "screens;", [round(took[len(took) * part // 100], 1) for part in (50, 95, 99)], "ms"
        )
        assert took[len(took) // 2] <= 50
        assert page.complaints() == []

    def test_the_named_period_has_its_steps(self, page, decks):
        """Definition: its steps in its order; work on paper, in no walk of a whole lesson, is read from the back."""
        opened(page, "flying-an-arc", "Ten-degree steps")
        places = page.evaluate("document.querySelector('.nt').classroom.screens.map((screen) => screen.id)")
        steps = list(dict.fromkeys(place.rsplit(":", 1)[0] for place in places))
        assert steps[1:-1] == list(decks["flying-an-arc"].periods[0].steps)
        paper_work = [place for place in places if place.startswith(deck.ON_PAPER)]
        assert len(paper_work) >= 2
        for place in paper_work:
            to(page, place)
            assert page.evaluate(MEASURED) == []

    def test_keys_reach_nothing_else(self, served, lesson_page):
        """Definition: no key of a remote, nor any other, changes the notebook beneath; Escape twice leaves."""
        page = lesson_page
        page.set_viewport_size(ROOM)
        path = served.root / OPEN / f"{OPEN}.ipynb"
        count = (
            "window.jupyterapp.shell.currentWidget.content.widgets"
            ".map((cell) => cell.model.sharedModel.getSource()).join()"
        )
        before, sliders = (
            page.evaluate(count),
            "[...document.querySelectorAll('.widget-readout')].map((r) => r.textContent).join()",
        )
        stood = page.evaluate(sliders)
        # A bar that has no room for all its buttons keeps this one behind another.
        if page.locator(".nl-more").is_visible():
            page.locator(".nl-more").click()
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

    def test_a_question_in_beats(self, served, page, decks):
        """Definition: before the answer nothing on the wall says which is right; votes are counts and stand side by
        side; a wrong one's sentence comes on demand; back covers again; the place is kept."""
        opened(page, "flying-an-arc", "Ten-degree steps")
        wall = page.locator(".nt-body")
        to(page, "arc-predict:ask")
        while screen(page) != "arc-predict:vote":
            page.keyboard.press("PageDown")
            assert screen(page).startswith("arc-predict:") and not page.locator(".nt-right").count()
        note = page.locator(".nt-note")
        page.keyboard.press("PageUp")
        page.keyboard.press("9")
        assert "Votes come after" in note.inner_text()
        page.keyboard.press("PageDown")
        for key in ("c", "1", "8", "Enter", "8", " ", "3", " ", "4", " ", "5", "Enter"):
            page.keyboard.press(key)
        assert "20 hands, 18 in the class" in note.inner_text() and "Hands up" in wall.inner_text()
        for key in ("Backspace", "3", "Enter"):
            page.keyboard.press(key)
        assert "18 of 18 votes" in wall.inner_text() and not note.count() and page.locator(".nt-bar").count() == 4
        page.keyboard.press("PageDown")
        assert not page.locator(".nt-bar").count()
        page.keyboard.press("PageDown")
        assert not page.locator(".nt-bar").count()
        page.keyboard.press("Shift+C")
        assert "comes with the answer" in note.inner_text() and not page.locator(".nt-bar").count()
        for key in ("4", " ", "0", " ", "9", " ", "9", "Enter", "Enter"):
            page.keyboard.press(key)
        assert page.locator(".nt-bar.nt-after").count() == 4 and page.locator(".nt-bar").count() == 8
        assert page.evaluate(MEASURED) == []
        page.keyboard.press("PageDown")
        assert page.locator(".nt-right").get_attribute("data-letter") == "C"
        [step] = [step for step in decks["flying-an-arc"].steps if step.name == "arc-predict"]
        [right] = [option.right for option in step.options if option.label == "C"]
        assert right in page.locator(".nt-right").inner_text()
        assert page.evaluate(MEASURED) == []
        page.keyboard.press("Shift+B")
        assert "nose ten degrees inside" in wall.inner_text()
        page.keyboard.press("Shift+B")
        assert page.locator(".nt-right").count() == 1
        page.keyboard.press("PageUp")
        assert not page.locator(".nt-right").count()
        here = screen(page)
        page.evaluate("document.querySelector('.nt').classroom.keep(true)")
        counted = {"first": [8, 3, 4, 3], "second": [4, 0, 9, 9]}
        until(page, lambda: kept.read(served.root, ARCS).get("votes", {}).get("arc-predict") == counted)
        votes = kept.read(served.root, ARCS)
        assert set(votes) == {"votes", "size", "period", "place", "flown", "drawn"}
        chosen(page, "Flying an arc")
        page.keyboard.press("PageDown")
        page.locator(".nt[data-class=ready]").wait_for()
        assert screen(page) == here

    def test_what_is_answered_from_stands_with_think(self, page, decks):
        """Definition: lines, faces and plate are on the wall with Think, whose time runs on from screen to screen;
        sentences are parted at their end, never in brackets."""
        opened(page, "intercepting-a-radial", "The whole lesson")
        to(page, "ir-headings:think")
        wall = page.locator(".nt-body")
        [step] = [step for step in decks["intercepting-a-radial"].steps if step.name == "ir-headings"]
        assert (
            all(line.label in wall.inner_text() for line in step.lines)
            and step.lines[0].right not in wall.inner_text()
        )
        for place in ("ir-reverse:think", "ir-reverse:vote", "ir-reverse:hold"):
            to(page, place)
            assert page.locator(".nt-still").is_visible() and page.locator(".nt-option").count() == 4
            assert "Hands up" not in wall.inner_text() or place.endswith("vote")
            assert page.evaluate(MEASURED) == []
        page.keyboard.press("v")
        assert "Both faces show the same moment" in wall.inner_text() and not page.locator(".nt-still").count()
        page.keyboard.press("v")
        assert page.locator(".nt-still").is_visible()
        opened(page, "whole-approach", "From plate to failure")
        for place in ("wa-fails:think", "wa-order:think"):
            to(page, place)
            [step] = [step for step in decks["whole-approach"].steps if step.name == place.split(":")[0]]
            assert page.locator(".nt-option").count() == len(step.options)
            assert all(each.label in wall.inner_text() for each in step.lines)
        to(page, "wa-brief:think")
        page.evaluate("document.querySelector('.nt').classroom.timed(55)")
        while not screen(page).startswith("wa-brief:think band"):
            page.keyboard.press("PageDown")
        assert page.locator(".nt-time").inner_text() <= "0:55"
        parts = page.evaluate("""() => {
          const block = document.createElement('p');
          block.textContent = 'Never below 3,400 ft (hold 3,600: nothing gained). The rest is here; and so on.';
          return document.querySelector('.nt').classroom.sentences(block).map((part) => part.textContent.trim());
        }""")
        assert parts == ["Never below 3,400 ft (hold 3,600: nothing gained).", "The rest is here; and so on."]

    def test_a_what_if_by_its_keys(self, page):
        """Definition: covered words are nowhere on the wall; Space flies at the rate said; knobs go by notches."""
        opened(page, "flying-an-arc", "Ten-degree steps")
        to(page, "Square to the radial:set")
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
        # Told truly: seconds of the flight for each second of the browser's own clock, once its moments are there.
        rate = page.evaluate("""async () => {
          const { classroom } = document.querySelector('.nt'), { film } = classroom.moving;
          for (const n of [0, 40, 80]) await classroom.frame(film, n);
          classroom.play(classroom.moving);
          const place = () => [performance.now(), classroom.moving.n * film.step];
          const frame = () => new Promise(requestAnimationFrame);
          while (classroom.moving.n < 4) await frame();
          const [begun, from] = place();
          while (classroom.moving.n < 34) await frame();
          const [ended, to] = place();
          classroom.stop();
          return 1000 * (to - from) / (ended - begun);
        }""")
        assert rate == pytest.approx(20, rel=0.1)
        # To the next needle goes on from where it flies.
        page.keyboard.press("Space")
        page.keyboard.press("n")
        assert page.evaluate("Boolean(document.querySelector('.nt').classroom.moving.playing)")
        page.keyboard.press("Space")
        page.keyboard.press("?")
        page.keyboard.press("Escape")
        assert not page.locator(".nt-card").count() and "Escape" not in page.locator(".nt-foot").inner_text()
        page.keyboard.press("ArrowRight")
        page.locator(".nt-name", has_text="Nose inside the tangent 1 deg").wait_for()
        page.keyboard.press("PageDown")
        page.locator(".nt-face[data-face=dme] text", has_text="11.5").wait_for()

    def test_idents_are_heard_before_they_are_seen(self, page, decks):
        """Definition: one key plays and stops, another uncovers; receivers are tuned by orders before one listens."""
        periods = decks["briefing-and-identifying"].periods
        (part,) = [each.name for each in periods if "bt-hand" in each.steps]
        opened(page, "briefing-and-identifying", part)
        to(page, "bt-hand:fly")
        head, knob = page.locator(".nt-name"), "document.querySelector('.nt').classroom.moving.standing[0]"
        assert "Standby 1" in head.inner_text()
        stood = round(100 * float(page.evaluate(knob)))
        way = "ArrowRight" if stood < 11460 else "ArrowLeft"
        large, small = divmod(abs(11460 - stood), 100)
        for key in (
            [way] * large + [f"Shift+{way}"] * (small // 5) + ["ArrowDown", "ArrowRight", "ArrowDown", "ArrowRight"]
        ):
            page.keyboard.press(key)
        page.locator(".nt-name", has_text="Ident heard").wait_for()
        page.keyboard.press("?")
        assert "Standby 1: 1 MHz, Shift 0.05 MHz" in page.locator(".nt-card").inner_text()
        page.keyboard.press("?")
        page.keyboard.press("?")
        opened(page, "briefing-and-identifying", "Read it")
        for place in ("plate 1:band 2 1", "bt-idents:listen 1"):
            to(page, place)
            signs = page.locator(".nt-signs p").first
            assert not signs.is_visible()
            page.keyboard.press("l")
            page.wait_for_function("document.querySelector('.nt').classroom.sound?.currentTime > 0")
            page.keyboard.press("l")
            assert page.evaluate("document.querySelector('.nt').classroom.sound") is None
            page.keyboard.press("4")
            assert signs.is_visible() and page.evaluate(MEASURED) == []
        page.keyboard.press("l")
        page.wait_for_function("document.querySelector('.nt').classroom.sound?.currentTime > 0")
        page.keyboard.press("PageDown")
        assert page.evaluate("document.querySelector('.nt').classroom.sound") is None
        assert not page.locator(".nt-signs p").first.is_visible() and page.complaints() == []

    def test_a_flight_by_the_orders_of_a_class(self, served, page):
        """Definition: what is ordered is flown; fifteen seconds back take the orders of that time back as well; what
        was flown is shown again up to each event, and beside the wanted flight on one clock."""
        opened(page, "flying-an-arc", "Ten-degree steps")
        to(page, "arc-fly:beside")
        assert (
            "wanted flight alone" in page.locator(".nt-note").inner_text()
            and "flown" not in page.locator(".nt-body").inner_text()
        )
        to(page, "arc-fly:fly")
        page.evaluate("document.querySelector('.nt').classroom.kept.flown['arc-fly'] = { orders: [], until: 6 }")
        to(page, "arc-fly:replay")
        assert "Fly on a little first" in page.locator(".nt-note").inner_text()
        page.evaluate("delete document.querySelector('.nt').classroom.kept.flown['arc-fly']")
        to(page, "arc-fly:fly")
        head, dme = page.locator(".nt-name"), page.locator(".nt-face[data-face=dme] text").nth(1)
        assert page.locator(".nt-face.nt-covered[data-face=plan]").count() == 1
        # Two fixes a mile from each other: their names stand apart.
        upper, lower = (page.locator(".nt-face[data-face=plan] text", has_text=name) for name in ("PARDO", "MAP"))
        assert upper.bounding_box()["y"] + 0.8 * upper.bounding_box()["height"] < lower.bounding_box()["y"] + 8
        page.keyboard.press("ArrowRight")
        page.get_by_text("Ident heard", exact=False).wait_for()
        for key in ("ArrowDown", "+", "+", "+", "+", "Space"):
            page.keyboard.press(key)
        page.wait_for_function("document.querySelector('.nt').classroom.moving.n > 80")
        page.keyboard.press("Space")
        for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowRight"):
            page.keyboard.press(key)
        ordered = page.evaluate("document.querySelector('.nt').classroom.kept.flown['arc-fly']")
        assert [action for _, action in ordered["orders"]] == ["identify", "heading-10", "heading-10", "heading+1"]
        at = ordered["until"]
        turned = head.inner_text()
        page.keyboard.press("Space")
        page.wait_for_function("n => document.querySelector('.nt').classroom.moving.n * 0.5 > n", arg=at + 5)
        page.keyboard.press("Space")
        assert float(dme.text_content()) < 12.0
        page.keyboard.press("Backspace")
        ordered = page.evaluate("document.querySelector('.nt').classroom.kept.flown['arc-fly']")
        assert [action for _, action in ordered["orders"]] == ["identify"] and ordered["until"] < at
        page.wait_for_function("head => document.querySelector('.nt-name').textContent !== head", arg=turned)
        # Where a server flies it anew, from the orders alone, it is the same flight.
        flown_anew = flown.ClassFlight(QUESTIONS["arc-fly"])
        flown_anew.follow(flown.orders_in(ordered["orders"]))
        same = flown_anew.until(round(ordered["until"] / flown.STEP_S)).cockpit.dme_nm()
        assert float(dme.text_content()) == pytest.approx(same, abs=0.051)
        # Where it has ended the wall says so, and nothing more is ordered.
        page.evaluate(
            """() => { const { classroom } = document.querySelector('.nt'), now = classroom.moving;
            now.film.ended = now.film.last = now.n; classroom.headed(); }"""
        )
        assert "Flight ended" in head.inner_text()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("n")
        assert "r begins anew" in page.locator(".nt-note").inner_text()
        assert page.evaluate("document.querySelector('.nt').classroom.kept.flown['arc-fly']") == ordered
        page.keyboard.press("PageDown")
        page.wait_for_function("document.querySelector('.nt').classroom.whole()")
        assert "flown by you" in head.inner_text()
        page.keyboard.press("f")
        page.locator(".nt-name", has_text="the wanted flight").wait_for()
        page.wait_for_function("document.querySelector('.nt').classroom.whole()")
        page.keyboard.press("+")
        page.keyboard.press("n")
        page.locator(".nt-name", has_text="What now?").wait_for()
        # The wanted flight's first event is the turn on to the arc: before it the heading is the inbound one.
        assert page.locator(".nt-face[data-face=heading] text").nth(1).text_content() == "138"
        page.keyboard.press("PageDown")
        page.wait_for_function("document.querySelector('.nt').classroom.whole()")
        assert page.evaluate(MEASURED) == []
        page.keyboard.press("f")
        page.locator(".nt-name", has_text="flown by you").wait_for()
        page.locator(".nt-sentence", has_text="NM from the wanted flight at this time").wait_for()
        page.keyboard.press("t")
        page.locator(".nt-sentence", has_text="at this place").wait_for()
        assert page.complaints() == []

    def test_drawing_own_periods_and_the_card(self, served, page):
        """Definition: what is drawn stays with its screen and is wiped by its key; ticked steps are a period that
        outlives the next class; the card of keys fits on the wall on each kind of screen."""
        opened(page, "flying-an-arc", "Ten-degree steps")
        to(page, "arc-fly:beside")
        page.keyboard.press("o")
        ring = page.locator(".nt-ring").bounding_box()
        assert ring["x"] > 0 and ring["y"] > 0
        page.keyboard.press("o")
        assert not page.locator(".nt-ring").count()
        page.keyboard.press("h")
        page.mouse.move(300, 300)
        page.mouse.down()
        page.mouse.move(600, 400, steps=5)
        page.mouse.up()
        assert page.locator(".nt-ink .nt-dashed").count() == 1 and page.evaluate(MEASURED) == []
        page.keyboard.press("Escape")
        assert "Escape" in page.locator(".nt-foot").inner_text() and page.evaluate(MEASURED) == []
        page.keyboard.press("d")
        assert not page.locator(".nt-pen").count()
        page.keyboard.press("d")
        page.keyboard.press("PageDown")
        assert not page.locator(".nt-pen").count()
        assert not page.locator(".nt-ink polyline").count()
        page.keyboard.press("PageUp")
        assert page.locator(".nt-ink polyline").count() == 1
        page.keyboard.press("x")
        assert not page.locator(".nt-ink polyline").count()
        for wanted in ("arc-fly:fly", "arc-fly:beside", "arc-predict:vote", "arc-predict:answer", "Five inside:set"):
            to(page, wanted)
            for keys in ("here", "every"):
                page.keyboard.press("?")
                room = page.evaluate(
                    "(card => card.scrollHeight - card.clientHeight)(document.querySelector('.nt-card'))"
                )
                assert room <= 0 and page.locator(f".nt-card[data-keys={keys}]").count() == 1, wanted
                if wanted == "arc-fly:fly" and keys == "here":
                    assert "Ident: listen; Heading: 10°, Shift 1°" in page.locator(".nt-card").inner_text()
            page.keyboard.press("?")
            assert not page.locator(".nt-card").count()
        chosen(page, "Flying an arc")
        page.evaluate("document.querySelector('.nt').classroom.compose('')")
        for key in ("Space", "ArrowDown", "ArrowDown", "Space", "Shift+ArrowUp"):
            page.keyboard.press(key)
        assert "2 steps" in page.locator(".nt-body").inner_text() and page.evaluate(MEASURED) == []
        page.keyboard.press("PageDown")
        page.locator(".nt[data-class=ready]").wait_for()
        assert "Our period 1" in page.locator(".nt-body").inner_text()
        made = page.evaluate("document.querySelector('.nt').classroom.deck.own[0].steps")
        until(page, lambda: [each["steps"] for each in kept.periods(served.root, ARCS)] == [made])
        command.start_again(served.root, "flying-an-arc")
        assert kept.periods(served.root, "flying-an-arc")

    def test_a_lesson_of_ones_own_stands_before_a_class(self, page):
        """Definition: it has the button as well, and is walked like the course's; its functions run in a process
        apart."""
        chosen(page, "Inbound to Tessoly")
        page.keyboard.press("PageDown")
        page.locator(".nt[data-class=ready]").wait_for()
        walked = page.evaluate(WALKED, MEASURED)
        assert {"tes-minutes", "tes-plan"} <= {place.rsplit(":", 1)[0] for place in walked["places"]}
        assert not walked["faults"], walked["faults"]
        assert "needlework_lessons_inbound_to_tessoly" not in " ".join(sys.modules)

    def test_next_class_while_the_lesson_is_open(self, served, lesson_page):
        """Definition: asked once, the lesson opens as new, the votes are gone; a what-if keeps back what is asked."""
        page = lesson_page
        page.set_viewport_size({"width": 1280, "height": 900})
        kept.write(served.root, OPEN, {"votes": {"ir-predict": {"first": [9]}}})
        page.locator(".nl-kept-back .nw-board").wait_for(state="attached")
        card = surface.Card(page, "ir-predict")
        card.show()
        card.fill("C")
        card.check()
        page.locator(".nl-kept-back").wait_for(state="detached")
        page.get_by_role("button", name="All lessons").click()
        row = page.locator(".nl-lessons li", has_text=LESSONS[OPEN].title)
        row.get_by_role("button", name="Next class").click()
        row.get_by_role("button", name="Next class").wait_for(state="detached")
        page.evaluate("() => new Promise((done) => setTimeout(done, 700))")
        row.get_by_role("button", name="Put the last class away?").click()
        told = row.locator(".nl-told", has_text="Put away on ")
        told.wait_for()
        assert f"in backup/{time.strftime('%Y-%m-%d')}: " in told.inner_text()
        assert told.bounding_box()["y"] < page.viewport_size["height"]
        assert not kept.read(served.root, OPEN) and not row.get_by_role("button", name="Next class").count()
        row.get_by_role("button", name=LESSONS[OPEN].title).click()
        page.locator(surface.READY).wait_for()
        card = surface.Card(page, "ir-predict")
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
        while screen(page) != "A weak climb:set":
            page.keyboard.press("PageDown")
        page.locator(".nt-face[data-face=gradient]").wait_for()
        page.route("**/needlework/class/film*", lambda route: route.abort())
        page.keyboard.press("ArrowRight")
        page.locator(".nt-wait", has_text="Getting ready").wait_for()
        page.locator(".nt-stage.nt-grey").wait_for()
        page.unroute("**/needlework/class/film*")
        page.locator(".nt-name", has_text="250 ft/min").wait_for()
        page.wait_for_function("() => !document.querySelector('.nt-wait, .nt-grey')")
        page.keyboard.press("Escape")
        page.keyboard.press("Escape")
        page.locator(".nt").wait_for(state="detached")
        page.reload()
        page.locator("[data-start=ready]").wait_for()
        assert not page.locator(".nt").count()
