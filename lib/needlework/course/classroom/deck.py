"""The steps of a lesson before a class, in the order they are taught, as plain data."""

from __future__ import annotations

import ast
import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData
from needlework.basis.quantity import Constant
from needlework.exercises import judging, telling, wording
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FlownByHand
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Table
from needlework.showing import listening
from needlework.showing.plate import twin
from needlework.world import procedure

NAME = "the class"
"""Whose numbers stand on the wall: nobody's own."""

LESSON_MIN = Constant(45.0, "min", "common-practice", "a period at school")

_LEFT_OUT = ("title", "how", "setup", "sitting", "words", "progress", "task", "what-if", "flight")
"""Parts of a lesson whose prose is for somebody who reads alone."""
_PURPOSE = re.compile(r"^(?:Recall|Predict|Exit|What-if): ")
"""Begins a question's title for somebody who reads alone."""
_SHORT = 100
"""Prose of fewer letters leads a reader on and says nothing to a class."""
_USUAL = 6
"""So many wrong answers are named; more is no longer looked at."""
_MINUTES = {
    "text": 1.5,
    "picture": 1.0,
    "question": 4.0,
    "what-if": 2.0,
    "flight": 6.0,
    "fault": 2.5,
    "paper": 6.5,
    "plate": 4.0,
}
"""What a step takes. Source: common practice, no source; votes and reasons take most of a question."""
_VOTED_MIN, _HEARD_MIN = 6.0, 0.6
_THINK_S, _LINE_S, _CARD_S = 40, 15, 10
"""To think about a question at least, and for each line or card of it. Source: common practice, no source. [s]"""
_DIRECTION, _TIMES = re.compile(r"\d{3} degrees"), 12.0
_BARE = re.compile(r"[A-Z]+(?: or [A-Z]+)*\.")
"""A worked answer that says no more than the right letter."""
_KEYS = re.compile(
    r"(?<=[.!?])\s[^.!?]*\b(?:buttons?|keys|let time run)\b[^.!?]*[.!?]"
    r"|, then press \w+(?: \w+)?(?=\.)| in the panel below"
)
"""What somebody flying alone presses: before a class other keys fly."""
_ALONE = re.compile(
    r"\s*\(?[^.!?()|]*(?:\bearns its marks\b|\bThe marks are\b|\bof the last sitting\b|`needlework )[^.!?()]*[.!?]\)?"
    r"|; who cannot hear them opens[^.]*(?=\.)"
)
"""What is said to a reader alone: of marks, of commands, of what the page does."""
_ON_THE_PAGE = re.compile(r"\b(questions?|tables?|lists?|rules?|clock) (?:above|below)\b")
_PLATE = re.compile(r"\bplate (?:of (\w[\w ]*\w)|above)")
_PICTURE_NEXT = re.compile(r"\bThe picture(?: below)?(?= shows|:|,)")
_PICTURE_BEFORE = re.compile(r"(\*\*Picture\*\* The )(?:one above|(\w+) above)")
_TABLE = re.compile(r"(?:^\|.*\n?)+", re.MULTILINE)
_UNIT = re.compile(r"(?<=\d) (?:degrees(?: magnetic)?|NM|ft|kt|ft/min|s|min)$")
"""What an answer that is compared on paper can do without."""
ON_PAPER = "on paper: "
"""Begins a step of a period: questions that each seat works on its worksheet."""
_PAPER_SEATS = 20
"""So many seats' answers are shown after work on paper."""
FAULTS_OF: dict[str, tuple[str, ...]] = {
    "station-passage": ("needle chased",),
    "intercepting-a-radial": ("no drift correction", "late lead", "correction on the wrong side"),
    "flying-an-arc": ("selector turned the wrong way", "selector not turned", "late lead", "wrong course set"),
    "descent-to-minimums": ("early descent below minimums", "missed step-down", "wrong course set"),
    "missed-approach": ("single drift in the hold", "turn before the missed approach point"),
}
"""Faults of the reference pilot that a lesson's class can find, in the order of its flights to look at."""


@dataclass(frozen=True)
class Wrong:
    """A usual wrong answer: the letter or value, and its sentence."""

    answer: str
    says: str


@dataclass(frozen=True)
class Line:
    """One line to be filled in: what is asked, and what is right."""

    label: str
    right: str


@dataclass(frozen=True)
class Step:
    """One thing to be shown.

    Parameters
    ----------
    name : str
        The same in every edition: a question's key, a setting's name, a section's title.
    kind : str
        ``"text"``, ``"picture"``, ``"plate"``, ``"question"``, ``"what-if"``, ``"flight"``, ``"fault"`` or
        ``"paper"``.
    title : str
        Short, for the head line, the card and the lists: as the lesson names it for a class, or as it is headed.
    sitting : int
        From 1.
    minutes : float
        What it takes, roughly. [min]
    beats : tuple of str
        What comes one after the other within it.
    text : str
        Prose as it is written, the question, or what is to be flown.
    given : str
        A question's numbers.
    ending : str
        Unit of a number.
    asked : str
        Kind of question; empty for anything else.
    options : tuple of Line
        Letters and what they stand for.
    lines : tuple of Line
        What is filled in, each with what is right.
    right : str
        The right answer, letter or letters.
    wrong : tuple of Wrong
        Usual wrong answers.
    model, why : str
        The worked answer, and what to remember of it.
    picture : bool
        True where a still picture belongs to it.
    what_if : str
        Name of the what-if; of a question's, of the one that is moved to find the answer.
    setting : mapping
        Its knobs.
    shows : str
        What its sentence says at the end; for the teacher's card.
    heard : tuple of (str, str)
        Letters sent in the low and the high tone of each recording that belongs to it.
    signs : tuple of Line
        The same as dots and dashes, to be uncovered when all have listened.
    think_s : int
        How long a class thinks about it. [s]
    plate, pictured : str
        Name of the step with the plate that a question is answered from, with the picture that a text speaks of.
    table : str
        Table of the text before, as Markdown, that a question is answered from.
    """

    name: str
    kind: str
    title: str
    sitting: int
    minutes: float
    beats: tuple[str, ...]
    text: str = ""
    given: str = ""
    ending: str = ""
    asked: str = ""
    options: tuple[Line, ...] = ()
    lines: tuple[Line, ...] = ()
    right: str = ""
    wrong: tuple[Wrong, ...] = ()
    model: str = ""
    why: str = ""
    picture: bool = False
    what_if: str = ""
    setting: Mapping[str, Any] | None = None
    shows: str = ""
    heard: tuple[tuple[str, str], ...] = ()
    signs: tuple[Line, ...] = ()
    think_s: int = 0
    plate: str = ""
    pictured: str = ""
    table: str = ""


@dataclass(frozen=True)
class Period:
    """A period ready to be taught: its name and the names of its steps."""

    name: str
    steps: tuple[str, ...]
    minutes: float


@dataclass(frozen=True)
class Deck:
    """Everything a class is shown of a lesson, and the periods it makes."""

    key: str
    title: str
    steps: tuple[Step, ...]
    periods: tuple[Period, ...]


def notebook_of(key: str, lessons: Path) -> dict[str, Any]:
    """Read a lesson of the course as it was released.

    Parameters
    ----------
    key : str
        Lesson key.
    lessons : pathlib.Path
        The released lessons, or a teacher's folder with one of their own.

    Returns
    -------
    dict
        The notebook.

    Raises
    ------
    BadData
        If there is no such lesson, or it cannot be read.
    """
    path = lessons / key / f"{key}.ipynb"
    if key not in LESSONS:
        raise BadData(f"There is no lesson '{key}' of the course to teach: choose from {', '.join(LESSONS)}.")
    try:
        return dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError) as error:
        raise BadData(f"{path} cannot be read: restore it, or run 'needlework release'.") from error


def deck(key: str, lessons: Path) -> Deck:
    """Put together what a class is shown of a lesson.

    Parameters
    ----------
    key : str
        Lesson key.
    lessons : pathlib.Path
        The released lessons.

    Returns
    -------
    Deck
        Steps in the order they are taught: the what-if stands before what explains it.

    Raises
    ------
    BadData
        If there is no such lesson of the course, or it cannot be read.
    """
    book = notebook_of(key, lessons)
    steps: list[Step] = []
    sitting, section, pictures, plates, follows = 1, "", 0, 0, {}
    heard: Sequence[Sequence[str]] = ()
    what_if, found_by_it = "", set[str]()
    for cell in book["cells"]:
        source, part = "".join(cell["source"]), (cell["metadata"].get("tags") or [""])[0]
        if part == "sitting":
            sitting += 1
        elif cell["cell_type"] == "markdown":
            heading = re.match(r"## (?:\d+ )?(.+)\n?", source)
            if heading:
                section = re.sub(r"[*`]", "", heading[1]).strip()
            said = source[heading.end() :].strip() if heading else source.strip()
            if part not in _LEFT_OUT and len(said) >= _SHORT:
                steps.append(_text(section, said, sitting, steps))
        elif asked := re.search(r'^ask\("([\w-]+)"\)', source, re.MULTILINE):
            question = QUESTIONS[asked[1]]
            if not question.task:
                steps.append(_listened(_question(question, sitting), heard))
                heard = ()
                if part == "predict":
                    follows[question.key] = len(steps)
                elif part == "what-if":
                    found_by_it.add(question.key)
        elif shown := _called(source, "pictures"):
            pictures += 1
            name = f"picture {pictures}"
            steps.append(Step(name, "picture", section, sitting, _MINUTES["picture"], ("show",), text=shown[0]))
        elif (shown := _called(source, "plate")) and part != "task":
            plates += 1
            steps.append(_plate(f"plate {plates}", shown, sitting))
        elif played := _called(source, "listening"):
            heard = played[1]["procedure"]
        elif moved := _called(source, "sliders"):
            what_if = moved[0]
            _put_what_if(what_if, cell["metadata"].get("needlework", {}), sitting, steps, follows)
    steps = _with_what_they_name([_tried(step, what_if) if step.name in found_by_it else step for step in steps])
    steps += [_fault(number, sitting + 1) for number in range(1, len(FAULTS_OF.get(key, ())) + 1)]
    about = book["metadata"].get("needlework", {})
    named = about.get("periods", [])
    for each in named:
        steps += [_paper(label) for label in each["steps"] if label.startswith(ON_PAPER)]
    steps = _called_in_class(steps, about.get("in class", {}))
    return Deck(key, LESSONS[key].title, tuple(steps), _periods(named, steps))


def _tried(step: Step, what_if: str) -> Step:
    """Put the what-if into a question that is answered by moving it."""
    before = step.beats.index("think") + 1
    return replace(step, what_if=what_if, setting={}, beats=(*step.beats[:before], "try", *step.beats[before:]))


def _to_a_class(said: str) -> str:
    """Say to a class what is written for somebody who reads alone: there are knobs and no page."""
    return re.sub(r"\bslider(s?)\b", r"knob\1", _ON_THE_PAGE.sub(r"\1", _ALONE.sub("", said))).strip()


def _with_what_they_name(steps: Sequence[Step]) -> list[Step]:
    """Tie questions to the plate, and texts to the picture, that they speak of; "above" is nowhere on a wall."""
    made = list[Step]()
    plates = {step.title.removeprefix("The plate of "): step.name for step in steps if step.kind == "plate"}
    for at, step in enumerate(steps):
        named = _PLATE.search(f"{step.text}\n{step.given}")
        if step.kind == "question" and named:
            before = next((each.name for each in reversed(steps[:at]) if each.kind == "plate"), "")
            text, given = (said.replace("plate above", "plate") for said in (step.text, step.given))
            step = replace(step, text=text, given=given, plate=plates.get(named[1] or "", before))
        elif step.kind == "question" and "table above" in step.text:
            table = next((found[0] for each in reversed(steps[:at]) if (found := _TABLE.search(each.text))), "")
            step = replace(step, table=table)
        elif step.kind == "text" and _PICTURE_NEXT.search(step.text):
            name = next((each.name for each in steps[at + 1 :] if each.kind == "picture"), "")
            step = replace(step, text=step.text.replace("The picture below", "The picture"), pictured=name)
        elif step.kind == "text" and _PICTURE_BEFORE.search(step.text):
            name = next((each.name for each in reversed(steps[:at]) if each.kind == "picture"), "")
            text = _PICTURE_BEFORE.sub(lambda found: found[1] + (found[2] or "one shown"), step.text)
            step = replace(step, text=text, pictured=name)
        wrong = tuple(Wrong(each.answer, _to_a_class(each.says)) for each in step.wrong)
        made.append(replace(step, text=_to_a_class(step.text), wrong=wrong))
    return made


def _called_in_class(steps: Sequence[Step], names: Mapping[str, str]) -> list[Step]:
    """Give steps the names that their teacher looks for; whether one recalls or predicts is for a reader alone."""
    named, count = list[Step](), Counter[tuple[str, str]]()
    for step in steps:
        title = names.get(step.name, names.get(step.title, _PURPOSE.sub("", step.title)))
        title = title[:1].upper() + title[1:]
        count[step.kind, title] += 1
        number = count[step.kind, title]
        named.append(replace(step, title=f"{title} {number}" if number > 1 else title))
    return named


def _fault(number: int, sitting: int) -> Step:
    beats = ("replay", "what", "cause", "next")
    return Step(f"flight to find {number}", "fault", f"Flight {number}", sitting, _MINUTES["fault"], beats)


def _plate(name: str, shown: tuple[str, dict[str, Any]], sitting: int) -> Step:
    """Make the step of a plate: each of its bands is a screen, its ident is heard before it is seen."""
    faulty, which = shown[0] == "show_faulty", shown[1]["procedure"]
    way = (
        procedure.load(procedure.names(faulty=True)[which - 1], faults_stay=True) if faulty else procedure.load(which)
    )
    lines = tuple(Line(band, "\n".join(said)) for band, said in twin.for_a_class(way))
    ident = way.station.ident
    step = Step(
        name,
        "plate",
        "A plate with a fault" if faulty else f"The plate of {way.airport.name}",
        sitting,
        _MINUTES["plate"],
        ("bands",),
        lines=lines,
    )
    sent = (ident, ident if way.station.dme_channel else "")
    return replace(_listened(step, [sent]), beats=step.beats)


def _listened(step: Step, heard: Sequence[Sequence[str]]) -> Step:
    """Add recordings to a step: behind the question they are played, one after the other, their signs covered."""
    if not heard:
        return step
    signs = []
    for name, (low, high) in zip("ABCDEFGH", heard, strict=False):
        rows = [f"{start:.0f} s, {tone} tone: {_drawn(code)}" for start, tone, code in listening.signs(low, high)]
        signs.append(Line(name, "\n".join(rows) or "Silence."))
    beats = (step.beats[0], "listen", *step.beats[1:])
    minutes = step.minutes + _HEARD_MIN * len(heard)
    return replace(
        step, beats=beats, minutes=minutes, heard=tuple((low, high) for low, high in heard), signs=tuple(signs)
    )


def _drawn(code: str) -> str:
    """Write Morse as it stands on a plate."""
    return "   ".join(code.replace("-", "–").replace(".", "•").split())


def _paper(label: str) -> Step:
    """Make the step in which each seat works by itself; the answers of all seats come after it."""
    questions = [QUESTIONS[key.strip()] for key in label.removeprefix(ON_PAPER).split(",")]
    lines = []
    for seat in range(1, _PAPER_SEATS + 1):
        answers = []
        for question in questions:
            givens = judging.draw(question, f"seat {seat:02d}")
            rights = [line.right for line in _lines(question, givens)] or [_right(question, givens)]
            answers.append(", ".join(_UNIT.sub("", right) for right in rights))
        lines.append(Line(f"{seat:02d}", "; ".join(answers)))
    text = "\n".join(f"{number}  {question.title}" for number, question in enumerate(questions, 1))
    return Step(label, "paper", "On paper", 0, _MINUTES["paper"], ("work", "answers"), text=text, lines=tuple(lines))


def _text(section: str, said: str, sitting: int, before: Sequence[Step]) -> Step:
    count = sum(step.kind == "text" and step.title == section for step in before)
    name = section if not count else f"{section} {count + 1}"
    said = re.sub(r"\[([^\]]+)\]\([^)]*\)", r"\1", said).removeprefix("Decide before you read on.").strip()
    said = said.replace("Below is the procedure", "The picture shows the procedure")
    return Step(name, "text", section, sitting, _MINUTES["text"], ("show",), text=said)


def _put_what_if(
    name: str, about: Mapping[str, Any], sitting: int, steps: list[Step], follows: Mapping[str, int]
) -> None:
    """Put the settings of a what-if behind the question they answer: a class sees it fly before it is explained."""
    settings = about.get("settings") or [{"name": "As it stands", "knobs": {}, "shows": ""}]
    at = follows.get(about.get("for", ""), len(steps))
    if at < len(steps):
        sitting = steps[at - 1].sitting
    made = []
    for each in settings:
        made.append(
            Step(
                each["name"],
                "what-if",
                each["name"],
                sitting,
                _MINUTES["what-if"],
                ("set", "shown"),
                what_if=name,
                setting=each["knobs"],
                shows=each["shows"],
            )
        )
    steps[at:at] = made


def _called(source: str, module: str) -> tuple[str, dict[str, Any]] | None:
    """Read the last line of a released cell where it is a call such as ``pictures.show_arc(arc_nm=10)``.

    Nothing is run: only plain values, and the name of a procedure, are taken.
    """
    try:
        last = ast.parse(source).body[-1]
        if not (isinstance(last, ast.Expr) and isinstance(last.value, ast.Call)):
            return None
        called = last.value.func
        if not (isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name)):
            return None
        if called.value.id != module:
            return None
        values = {str(each.arg): _value(each.value) for each in last.value.keywords}
        if last.value.args:
            values["procedure"] = _value(last.value.args[0])
    except (SyntaxError, ValueError, IndexError):
        return None
    return called.attr, values


def _value(node: ast.expr) -> Any:
    if isinstance(node, ast.Call) and ast.unparse(node.func) == "procedure.load" and len(node.args) == 1:
        return procedure.load(str(ast.literal_eval(node.args[0])))
    if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Call):
        # numbers("key")["name"]: one of the numbers that are drawn for a question.
        asked = node.value
        if ast.unparse(asked.func) == "numbers" and len(asked.args) == 1:
            return judging.draw(QUESTIONS[ast.literal_eval(asked.args[0])], NAME)[ast.literal_eval(node.slice)]
    return ast.literal_eval(node)


def beside_what_ifs(key: str, lessons: Path) -> set[str]:
    """Name the questions that are answered by moving a what-if.

    Parameters
    ----------
    key : str
        Lesson key.
    lessons : pathlib.Path
        The released lessons.

    Returns
    -------
    set of str
        Their labels.

    Raises
    ------
    BadData
        If there is no such lesson of the course, or it cannot be read.
    """
    found = set()
    for cell in notebook_of(key, lessons)["cells"]:
        asked = re.search(r'^ask\("([\w-]+)"\)', "".join(cell["source"]), re.MULTILINE)
        if asked and "what-if" in (cell["metadata"].get("tags") or []):
            found.add(asked[1])
    return found


def picture(key: str, name: str, lessons: Path) -> tuple[str, dict[str, Any]]:
    """Give the still picture of a step: which function draws it, and with which values.

    Parameters
    ----------
    key, name : str
        Lesson key and the step's name.
    lessons : pathlib.Path
        The released lessons.

    Returns
    -------
    tuple of str and dict
        Name of a function of :mod:`needlework.showing.pictures`, and its keyword arguments.

    Raises
    ------
    BadData
        If the step has no picture.
    """
    if name in LESSONS[key].questions if key in LESSONS else False:
        question = QUESTIONS[name]
        if question.figure:
            return question.figure, question.figure_values(judging.draw(question, NAME))
    found = 0
    for cell in notebook_of(key, lessons)["cells"]:
        shown = _called("".join(cell["source"]), "pictures") if cell["cell_type"] == "code" else None
        if shown:
            found += 1
            if name == f"picture {found}":
                return shown
    raise BadData(f"There is no picture '{name}' in {key}: open the lesson anew.")


# --- questions --------------------------------------------------------------------------------------------------


def _question(question: Question, sitting: int) -> Step:
    givens = judging.draw(question, NAME)
    asked = telling.asked(question, givens)
    if isinstance(question, FlownByHand):
        goal = question.fill(question.goal, givens)
        return Step(
            question.key,
            "flight",
            question.title,
            sitting,
            _MINUTES["flight"],
            ("show", "fly", "replay", "beside"),
            # Its goals are read by who flies alone.
            text=_KEYS.sub("", question.fill(question.prompt, givens)),
            given=asked.given,
            model=goal,
        )
    voted = isinstance(question, Choice)
    thinking = ("ask", "picture", "think") if question.figure else ("ask", "think")
    rest = ("vote", "hold", "second", "answer", "why") if voted else ("answer", "wrong", "why")
    wrong, lines = _wrong(question, givens), _lines(question, givens)
    cards = len(asked.options) if isinstance(question, Order) else 0
    think_s = max(_THINK_S, _LINE_S * len(lines), _CARD_S * cards)
    model = judging.model_answer(question, givens)
    return Step(
        question.key,
        "question",
        question.title,
        sitting,
        (_VOTED_MIN if voted else _MINUTES["question"]) + (think_s - _THINK_S) / 60.0,
        tuple(beat for beat in (*thinking, *rest) if beat != "wrong" or wrong),
        text=asked.prompt,
        given=asked.given,
        ending=asked.unit,
        asked=asked.kind,
        options=tuple(Line(option.letter, option.text) for option in asked.options),
        lines=lines,
        right=_right(question, givens),
        wrong=wrong,
        model="" if _BARE.fullmatch(model) else model,
        why=question.fill(question.why, givens),
        picture=bool(question.figure),
        think_s=think_s,
    )


def _right(question: Question, givens: Givens) -> str:
    right = question.right(givens)
    if isinstance(question, Choice):
        return " or ".join(question.accepted(givens))
    if isinstance(question, Number):
        return question.written(right)
    return "" if isinstance(right, Mapping) else str(right)


def _lines(question: Question, givens: Givens) -> tuple[Line, ...]:
    right = question.right(givens)
    if not isinstance(right, Mapping):
        return ()
    cells = question.cells(givens) if isinstance(question, Table) else {}
    return tuple(Line(label, written(cells.get(label), value, givens)) for label, value in right.items())


def written(cell: Question | None, value: Any, givens: Givens) -> str:
    """Write an answer as it is asked for.

    Parameters
    ----------
    cell : Question or None
        Whose answer it is; None for a blank of a plan.
    value : object
        The answer.
    givens : mapping
        The numbers.

    Returns
    -------
    str
        With its unit, where it has one.
    """
    if isinstance(cell, Number):
        return cell.written(float(value))
    if isinstance(cell, Choice) and value in cell.accepted(givens):
        return " or ".join(cell.accepted(givens))
    return wording.number(value) if isinstance(value, (int, float)) else str(value)


def likely(cell: Question, value: Any, givens: Givens) -> bool:
    """Say whether a learner would write a wrong answer: not nought, and not a dozen times too large or too small.

    Parameters
    ----------
    cell : Question
        Whose answer it is.
    value : object
        What a mistake leads to.
    givens : mapping
        The numbers.

    Returns
    -------
    bool
        False for what nobody would write down; directions and letters are all likely.
    """
    if not isinstance(cell, Number) or _DIRECTION.match(cell.written(float(value))):
        return True
    right, wrong = abs(float(cell.right(givens))), abs(float(value))
    if not re.search(r"[1-9]", cell.written(float(value)).removesuffix(cell.unit)):
        return right == 0.0
    return right == 0.0 or right / _TIMES <= wrong <= right * _TIMES


def _wrong(question: Question, givens: Givens) -> tuple[Wrong, ...]:
    """Name the usual wrong answers: those of everyday first, each answer once."""
    if isinstance(question, Order) or not isinstance(question, (Choice, Number, Table)):
        return ()
    found: dict[str, Wrong] = {}
    cells = question.cells(givens).items() if isinstance(question, Table) else [("", question)]
    for label, cell in cells:
        mistakes = sorted(cell.mistakes(givens), key=lambda each: (each[0].rare, each[0].inherited))
        for slip, value in mistakes:
            if not likely(cell, value, givens):
                continue
            chosen = cell.options.get(value, "") if isinstance(cell, Choice) else ""
            says = cell.fill(slip.says, givens, chosen=chosen, Chosen=chosen[:1].upper() + chosen[1:])
            answer = written(cell, value, givens)
            named = f"{label}: {answer}" if label else answer
            found.setdefault(named, Wrong(named, says))
            if label:
                # Of each line of a table the mistake that most learners make.
                break
    return tuple(found.values())[:_USUAL]


# --- periods ----------------------------------------------------------------------------------------------------


def _periods(named: Sequence[Mapping[str, Any]], steps: Sequence[Step]) -> tuple[Period, ...]:
    """Give the periods that the lesson names, then its sittings cut to the length of a period."""
    minutes = {step.name: step.minutes for step in steps}
    made = []
    for each in named:
        kept = tuple(name for name in each["steps"] if name in minutes)
        made.append(Period(each["name"], kept, sum(minutes[name] for name in kept)))
    found = [step for step in steps if step.kind == "fault"]
    by_sitting: dict[int, list[Step]] = {}
    for step in steps:
        if step.kind not in ("paper", "fault"):
            by_sitting.setdefault(step.sitting, []).append(step)
    runs = [run for sitting in by_sitting.values() for run in _even(sitting)]
    for number, run in enumerate(runs, 1):
        made.append(_period(f"Part {number}: {run[0].title}", run))
    if found:
        # Behind the period that one begins with, not below all the parts of the lesson.
        made.insert(max(1, len(named)), _period("Flights with a fault to find", found))
    return tuple(made)


def _even(steps: Sequence[Step]) -> list[list[Step]]:
    """Part steps into as few runs of a period's length as they need, and these as alike in length as can be."""

    units: list[list[Step]] = []
    for step in steps:
        # A what-if stays with its question, a plate with what is asked about it.
        if units and (step.kind == "what-if" or units[-1][-1].kind == "plate"):
            units[-1].append(step)
        else:
            units.append([step])

    def filled(most_min: float) -> list[list[Step]]:
        runs: list[list[Step]] = [[]]
        for unit in units:
            if runs[-1] and sum(each.minutes for each in (*runs[-1], *unit)) > most_min:
                runs.append([])
            runs[-1] += unit
        return runs

    fewest, most_min = filled(float(LESSON_MIN)), float(LESSON_MIN)
    while len(tighter := filled(most_min - 1.0)) == len(fewest):
        fewest, most_min = tighter, most_min - 1.0
    return fewest


def _period(name: str, steps: Sequence[Step]) -> Period:
    return Period(name, tuple(step.name for step in steps), sum(step.minutes for step in steps))


def with_own(made: Deck, own: Sequence[Mapping[str, Any]]) -> Deck:
    """Add the periods that a teacher has put together.

    Parameters
    ----------
    made : Deck
        The whole lesson.
    own : sequence of mapping
        Name and names of steps of each, as :func:`needlework.course.classroom.kept.periods` reads them.

    Returns
    -------
    Deck
        With those periods first; steps that the lesson no longer has are left out.
    """
    minutes = {step.name: step.minutes for step in made.steps}
    first = []
    for each in own:
        names = tuple(name for name in each["steps"] if name in minutes)
        if names:
            first.append(Period(each["name"], names, sum(minutes[name] for name in names)))
    return replace(made, periods=(*first, *made.periods))


def of_period(made: Deck, name: str) -> Deck:
    """Give the steps of one period only, in its order.

    Parameters
    ----------
    made : Deck
        The whole lesson.
    name : str
        Name of the period, or its number from 1.

    Returns
    -------
    Deck
        With the one period.

    Raises
    ------
    BadData
        If there is no such period.
    """
    for number, period in enumerate(made.periods, 1):
        if name in (period.name, str(number)):
            there = {step.name: step for step in made.steps}
            return replace(made, steps=tuple(there[each] for each in period.steps), periods=(period,))
    listed = "; ".join(f"{number} {period.name}" for number, period in enumerate(made.periods, 1))
    raise BadData(f"There is no period '{name}' of {made.key}: choose from {listed}.")
