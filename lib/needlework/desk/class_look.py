"""What the hand-ins of one lesson say of the class: gathered from the desk and put into sentences."""

from __future__ import annotations

import contextlib
import itertools
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from needlework.desk import items, to_all
from needlework.desk.alike import Answer, Given, Group, answers_of, grouped, places_of
from needlework.desk.collect import full_names
from needlework.desk.hand_in import Sheet, about, name_of

if TYPE_CHECKING:
    from needlework.desk.homework.marks import Marks

_FEW = 5
"""Of fewer hand-ins nothing is said of a class."""
_AT_LEAST = 3
_MANY = 0.3
"""A mistake that this share of those who answered made is taught again. Common practice, no source."""
_HALF = 0.5
_LITTLE = 0.4
"""Who has less than this share of the marks is named."""
_LONGEST_GAP_S = 1800.0
"""After half an hour without an answer nobody was at work."""

SAID = {
    "COLDSGN": "subtracted the cold correction",
    "DMESGN": "counted the DME to the wrong side",
    "FROMRAD": "laid the angle off from the radial they were on",
    "HDTL": "took a headwind for a tailwind, or the other way round",
    "IASGS": "used the airspeed in place of the ground speed",
    "INV": "divided the wrong way round",
    "LEADSGN": "laid the lead off on the wrong side",
    "LR": "turned the wrong way, left for right",
    "MSLH": "used the altitude in place of the height above the ground",
    "NOLEAD": "turned without a lead",
    "NOWIND": "left the wind out",
    "PERMIN": "gave feet a mile in place of feet a minute, or the other way round",
    "RECIP": "took the other end of the line, 180 degrees off",
    "RULE300": "used 300 feet a mile in place of the gradient asked for",
    "SETSGN": "subtracted what the note adds",
    "TANGENT": "flew square to the radial on which the leg begins",
    "WCASIGN": "laid the correction off to the wrong side",
}
"""Mistakes that mean the same in every question, as they are told of a class."""


@dataclass
class Mistake:
    """A named mistake in one place.

    Parameters
    ----------
    code : str
        Its code.
    students : list of str
        Who made it.
    text : str
        What one of them was told, with that student's numbers.
    gave : list of str
        What they gave, as far as it is no number: each letter or order once.
    """

    code: str
    students: list[str]
    text: str
    gave: list[str] = field(default_factory=list)


@dataclass
class Place:
    """One thing that is answered: a question, a cell of its table, a goal of its flight.

    Parameters
    ----------
    label : str
        The cell or goal; empty where the question is one.
    given : list of Given
        What was given.
    said : str
        The same in words; empty where the label says it.
    """

    label: str
    given: list[Given]
    said: str = ""
    mistakes: list[Mistake] = field(init=False)
    groups: list[Group] = field(init=False)
    alone: list[Given] = field(init=False)

    def __post_init__(self) -> None:
        found: dict[str, Mistake] = {}
        for each in self.given:
            if each.slip:
                one = found.setdefault(each.slip, Mistake(each.slip, [], each.text))
                one.students.append(each.student)
                if each.got is None and each.said and each.said not in one.gave:
                    one.gave.append(each.said)
        self.mistakes = sorted(found.values(), key=lambda one: -len(one.students))
        self.groups, self.alone = grouped(self.given)
        self.said = self.said or self.label

    @property
    def answered(self) -> int:
        """How many gave something."""
        return sum(each.outcome != "NOT_ATTEMPTED" for each in self.given)

    @property
    def right(self) -> int:
        """How many are right."""
        return sum(each.outcome == "PASS" for each in self.given)

    @property
    def unread(self) -> int:
        """How many could not be read."""
        return sum(each.outcome == "ERROR" for each in self.given)


@dataclass
class Asked:
    """One question of the lesson.

    Parameters
    ----------
    name, title : str
        As in the marks, and in words.
    points : float
        Full marks.
    marks : list of float
        Of each student, in the order of :attr:`Look.students`.
    answered : int or None
        How many gave something; None where it is not known.
    together : Together
        How it goes with the rest.
    places : list of Place
        What is answered in it.
    by_person : bool
        True where a person sets the mark.
    """

    name: str
    title: str
    points: float
    marks: list[float]
    answered: int | None
    together: items.Together
    places: list[Place]
    by_person: bool = False
    hints: tuple[int, float, int] | None = None
    minutes: tuple[int, float] | None = None
    wrong: list[str] = field(default_factory=list)
    teach: list[tuple[float, str]] = field(default_factory=list)

    @property
    def shares(self) -> tuple[float, float] | None:
        """Share with full marks, and mean share of the marks, of all who handed in; None where nobody answered."""
        return items.shares(self.marks, self.points) if self.marks and self.answered != 0 else None


@dataclass
class Stuck:
    """Somebody who needs help.

    Parameters
    ----------
    student : str
        As the page names them.
    mark : float or None
        The mark; None for none.
    why : list of str
        Clauses.
    """

    student: str
    mark: float | None
    why: list[str]


@dataclass
class Look:
    """All that is told of a lesson.

    Parameters
    ----------
    lesson, title : str
        Key and title.
    out_of : float
        Full marks.
    students : list of str
        Ids of those whose work has a mark.
    marks : list of float
        Their marks.
    no_mark : list of (str, str)
        Those whose work has none, and why.
    missing : list of str
        Those on the class list who handed in nothing.
    asked : list of Asked
        The questions, in order.
    stuck : list of Stuck
        Who needs help.
    first : list of (str, str)
        What to do first: ``wrong``, ``teach``, ``all`` or ``shared``, and a sentence.
    cannot : list of str
        What cannot be told, and why.
    comments : list of (Comment, int)
        What is kept for everyone with one answer, and how many it reaches.
    named : dict of str to str
        Names on the class list by id.
    shared : list of Asked
        Questions in which many gave one number although what is right differs.
    empty : list of str
        Those whose file has no answer in it.
    code : list of (str, list of str)
        Those of whom no answer is there and whose answer cells hold code, and what it did.
    judged : bool
        True where enough handed in, and differently enough, that something can be said of the class.
    late : int
        How many have something taken off for coming late.
    """

    lesson: str
    title: str
    out_of: float
    students: list[str] = field(default_factory=list)
    marks: list[float] = field(default_factory=list)
    no_mark: list[tuple[str, str]] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    stuck: list[Stuck] = field(default_factory=list)
    first: list[tuple[str, str]] = field(default_factory=list)
    cannot: list[str] = field(default_factory=list)
    comments: list[tuple[to_all.Comment, int]] = field(default_factory=list)
    named: dict[str, str] = field(default_factory=dict)
    shared: list[Asked] = field(default_factory=list)
    empty: list[str] = field(default_factory=list)
    code: list[tuple[str, list[str]]] = field(default_factory=list)
    judged: bool = False
    late: int = 0

    def name(self, student: str) -> str:
        """Name a student as the page does."""
        full = self.named.get(student)
        return f"{full} ({student})" if full else student


def sheet_of(desk: Marks, lesson: str) -> Sheet:
    """Give a lesson as it stands on the desk.

    Parameters
    ----------
    desk : Desk
        The desk.
    lesson : str
        Lesson key.

    Returns
    -------
    Sheet
        The lesson.
    """
    source = desk.folder / "source" / lesson / f"{lesson}.ipynb"
    released = desk.folder / "release" / lesson / f"{lesson}.ipynb"
    return Sheet(lesson, *(json.loads(path.read_text(encoding="utf-8")) for path in (source, released)))


def told_of(desk: Marks, lesson: str) -> dict[str, dict[str, Any]]:
    """Read what the judge told of each student's work, where it is of the file that counts.

    Parameters
    ----------
    desk : Desk
        The desk.
    lesson : str
        Lesson key.

    Returns
    -------
    dict
        By student: ``told`` by question, and ``worked``. Students whose work was marked before there was any are not
        in it.
    """
    found = {}
    for student, known in desk.ledger(lesson).items():
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            one = json.loads(desk.answers_path(lesson, student).read_text(encoding="utf-8"))
            if one["of"] == known.get("hand_in") and known.get("marked"):
                found[student] = {"told": dict(one["told"]), "worked": dict(one["worked"])}
    return found


@dataclass(frozen=True)
class Counted:
    """A question that counts.

    Parameters
    ----------
    points : float
        Full marks.
    key : str
        Its key in the lesson.
    by_person : bool
        True where a person sets the mark.
    """

    points: float
    key: str = ""
    by_person: bool = False


def counted_of(sheet: Sheet) -> dict[str, Counted]:
    """Give the questions of a lesson that count, in order.

    Parameters
    ----------
    sheet : Sheet
        The lesson.

    Returns
    -------
    dict of str to Counted
        By name, as in the marks.
    """
    found = {}
    for cell in sheet.source["cells"]:
        told, name = about(cell), name_of(cell)
        if told.get("grade") and float(told.get("points", 0) or 0) > 0:
            key = sheet.marked[name].question if name in sheet.marked else name
            by_person = name in sheet.by_hand or bool(cell["metadata"].get("needlework", {}).get("marked by"))
            found[name] = Counted(float(told["points"]), key, by_person)
    return found


def look(desk: Marks, lesson: str) -> Look:
    """Look at what a class handed in of a lesson.

    Parameters
    ----------
    desk : Desk
        The desk.
    lesson : str
        Lesson key.

    Returns
    -------
    Look
        All that can be told.

    Raises
    ------
    BadData
        If the lesson is not handed out, or the file with the comments cannot be read.
    """
    rows = desk.marks(lesson)
    title, titles = desk.titles(lesson)
    questions = counted_of(sheet_of(desk, lesson))
    told = told_of(desk, lesson)
    made = seen(lesson, title, questions, titles, rows, told, full_names(desk.folder / "students.csv"))
    earlier = [student for student in made.students if student not in told]
    if earlier:
        again = desk.command("mark", lesson, "--again")
        made.cannot.append(
            f"{len(earlier)} of {len(made.students)} hand-ins were marked by an earlier version of the course: of "
            f"their answers only the marks are known, until you type '{again}'."
        )
    comments = to_all.read(to_all.place(desk.folder, lesson), list(questions))
    made.comments = [
        (each, sum(each.reaches(told[student]["told"], student) for student in made.students if student in told))
        for each in comments
    ]
    return made


def seen(
    lesson: str,
    title: str,
    questions: Mapping[str, Counted],
    titles: Mapping[str, str],
    rows: Sequence[Mapping[str, Any]],
    told: Mapping[str, Mapping[str, Any]],
    full: Mapping[str, str],
) -> Look:
    """Put together what marks and answers say of a class.

    Parameters
    ----------
    lesson, title : str
        Key and title of the lesson.
    questions : mapping of str to Counted
        Its questions, in order.
    titles : mapping of str to str
        Their titles.
    rows : sequence of mapping
        The marks, as the desk gives them.
    told : mapping
        By student, as :func:`told_of` reads it.
    full : mapping of str to str
        Names on the class list by id; empty without one.

    Returns
    -------
    Look
        All that can be told, but for the comments.
    """
    marked = [row for row in rows if row["mark"] != ""]
    made = Look(lesson, title, sum(one.points for one in questions.values()), named=dict(full))
    made.students = [row["student"] for row in marked]
    # What is taken off for coming late says nothing of what somebody knows.
    made.marks = [float(row["mark"]) + float(row.get("off") or 0.0) for row in marked]
    made.late = sum(float(row.get("off") or 0.0) > 0 for row in marked)
    made.no_mark = [(made.name(row["student"]), row["look_at"]) for row in rows if row["mark"] == ""]
    there = {row["student"] for row in rows}
    made.missing = [made.name(student) for student in full if student not in there]
    _ask(made, questions, titles, marked, told)
    _time(made, questions, told)
    if made.no_mark:
        many = "the one" if len(made.no_mark) == 1 else f"the {len(made.no_mark)}"
        made.cannot.append(
            f"What is known by {many} whose work has no mark is not in this: "
            f"{', '.join(name for name, _ in made.no_mark)}. "
            "Why stands below; settle it, then make this page once more."
        )
    _sentences(made)
    _across(made)
    _stuck(made, told)
    return made


def _ask(
    made: Look,
    questions: Mapping[str, Counted],
    titles: Mapping[str, str],
    rows: Sequence[Mapping[str, Any]],
    told: Mapping[str, Mapping[str, Any]],
) -> None:
    """Gather what there is of each question."""
    marks = np.asarray([[float(row.get(name) or 0.0) for name in questions] for row in rows], dtype=float)
    together = items.with_the_rest(marks.reshape(len(rows), len(questions)))
    for number, (name, counts) in enumerate(questions.items()):
        known = [(student, told[student]["told"].get(name, {})) for student in made.students if student in told]
        labels = places_of(one for _, one in known)
        places = []
        for label, said in labels.items():
            given = [answers_of(one, student, label) or _empty(one, student) for student, one in known]
            held = [each for each in given if each is not None]
            # A flight that did not come has no goals, and no place of its own among them.
            if label or len(labels) == 1 or any(each.outcome != "NOT_ATTEMPTED" for each in held):
                places.append(Place(label, held, said))
        answered: int | None = None
        if not counts.by_person and len(known) == len(rows):
            answered = sum(one.get("outcome", "NOT_ATTEMPTED") != "NOT_ATTEMPTED" for _, one in known)
        own = [float(mark) for mark in marks[:, number]] if len(rows) else []
        title = titles.get(name, name)
        made.asked.append(
            Asked(name, title, counts.points, own, answered, together[number], places, counts.by_person)
        )


def _empty(one: Mapping[str, Any], student: str) -> Given | None:
    """Give what was left out as a whole, for any place of it."""
    given = answers_of(one, student)
    return given if given is not None and given.outcome == "NOT_ATTEMPTED" else None


def _time(made: Look, questions: Mapping[str, Counted], told: Mapping[str, Mapping[str, Any]]) -> None:
    """Tell hints and time as far as the notebooks say them."""
    spent: dict[str, list[float]] = defaultdict(list)
    for student in made.students:
        worked = told.get(student, {}).get("worked", {})
        checked = sorted((float(one["at"]), key) for key, one in worked.items() if "at" in one)
        for (before, _), (at, key) in itertools.pairwise(checked):
            if 0.0 < at - before <= _LONGEST_GAP_S:
                spent[key].append((at - before) / 60.0)
    for one in made.asked:
        key = questions[one.name].key
        hints = [
            int(said.get("hints", 0))
            for student in made.students
            if (said := told.get(student, {}).get("worked", {}).get(key))
        ]
        if hints:
            one.hints = (sum(each > 0 for each in hints), sum(hints) / len(hints), len(hints))
        if spent[key]:
            one.minutes = (len(spent[key]), float(np.median(spent[key])))


def share_of(some: int, of: int) -> str:
    """Give a share with what it is a share of: ``70 % (21 of 30)``; of few only the count."""
    return f"{some} of {of}" if of < 2 * _FEW else f"{100.0 * some / of:.0f} % ({some} of {of})"


def in_words(code: str) -> str:
    """Say a named mistake in words, as it is told of a class; empty where only its question can say it."""
    return " and ".join(SAID[each] for each in code.split("+")) if set(code.split("+")) <= SAID.keys() else ""


def codes_of(key: str, told: Iterable[Mapping[str, Any]]) -> list[str] | None:
    """Give the codes of the mistakes that a question of the course knows.

    Parameters
    ----------
    key : str
        Key of the question in its lesson.
    told : iterable of mapping
        Of each student, what the judge told of this question.

    Returns
    -------
    list of str or None
        In order, what students made besides; None for a flight, whose mistakes its goals bring with them, and for
        a question that is not the course's own.
    """
    from needlework.exercises import judging
    from needlework.exercises.catalogue import QUESTIONS
    from needlework.exercises.flown import FilledPlan, FlownByHand
    from needlework.exercises.kinds import Table

    question = QUESTIONS.get(key)
    if question is None or isinstance(question, (FilledPlan, FlownByHand)):
        return None
    cells = question.cells(judging.draw(question, "")).values() if isinstance(question, Table) else ()
    known = {slip.code for each in (question, *cells) for slip in each.slips}
    made = {code for one in told for part in one.get("parts", ()) for code in part["slip"].split("+") if code}
    return sorted(known | made)


_GUESSED = re.compile(
    r"^(?:(?:It may be [^:.]*|Worked from your own [^:]*):\s*|Two things at once would give this\.(?: One is:)?\s*"
    r"|Not yet[^.]*\.\s+(?:You (?:gave|chose) .*?[;.]\s+)?|\d+ of \d+ cases\.\s+)+"
)
"""What stands before the sentence that names a mistake."""
_FEWEST_WORDS = 3
"""Fewer words name no mistake: “Too much.”"""


def first_words(mistake: Mistake) -> str:
    """Give the first sentence of what is told of a mistake; after one of a word or two, the next as well.

    Parameters
    ----------
    mistake : Mistake
        The mistake.

    Returns
    -------
    str
        One sentence; empty where nothing is told.
    """
    first, *rest = re.split(r"(?<=[.!?])\s+", _GUESSED.sub("", mistake.text, count=1).strip(), maxsplit=2)
    return f"{first} {rest[0]}" if rest and len(first.split()) < _FEWEST_WORDS else first


def told_as(mistake: Mistake) -> str:
    """Say a named mistake in words: as it is told of a class, or as one of those who made it is told.

    Parameters
    ----------
    mistake : Mistake
        The mistake.

    Returns
    -------
    str
        A clause, with its code where no words are known.
    """
    told = in_words(mistake.code)
    if told:
        return told
    sentence = first_words(mistake)
    return f"made one mistake ({mistake.code}: “{sentence}”)" if sentence else f"made the mistake {mistake.code}"


def _sentences(made: Look) -> None:
    """Say where something is wrong with a question, and what must be taught again."""
    count = len(made.students)
    if count < _FEW:
        some = "Nobody's work has" if not count else "One hand-in has" if count == 1 else f"{count} hand-ins have"
        made.cannot.append(
            f"{some} a mark: from fewer than {_FEW} nothing can be said of a class. What stands below is counted, "
            "not "
            "judged."
        )
        return
    if count < items.FEWEST:
        made.cannot.append(
            f"From {count} hand-ins it cannot be told how a question goes with the rest: that takes "
            f"{items.FEWEST:g}, and is "
            "rough below 100."
        )
    if min(made.marks) >= made.out_of - 1e-9:
        made.cannot.append(
            "Everybody has full marks: nothing can be told of which question is hard, or which goes with the rest."
        )
        return
    if max(made.marks) <= 1e-9:
        made.cannot.append(
            "Nobody has a single mark: before anything is said of the class, look at one hand-in yourself. Is it the "
            "lesson that you handed out?"
        )
        return
    made.judged = True
    empty = [one for one in made.asked if one.answered == 0]
    if empty:
        made.cannot.append(f"Of what nobody answered nothing can be told: {_names(empty)}.")
    for one in made.asked:
        if one.answered != 0:
            _of_question(made, one, count)
    if made.shared:
        titles = _names(list({one.name: one for one in made.shared}.values()))
        made.first.append(
            (
                "shared",
                f"in {titles} three in ten or more gave one and the same wrong answer, although every student's "
                "numbers "
                "give another: one student's numbers may have served several. What else their hand-ins have in "
                "common "
                "stands below the marks.",
            )
        )
    order = [(0.0, "wrong", f"{one.title}: {text}") for one in made.asked for text in one.wrong]
    order += [(1.0 - share, "teach", f"{one.title}: {text}") for one in made.asked for share, text in one.teach]
    made.first += [(kind, text) for _, kind, text in sorted(order, key=lambda each: each[0])]


def _names(asked: Sequence[Asked]) -> str:
    return ", ".join(f"“{one.title}”" for one in asked)


def _of_question(made: Look, one: Asked, count: int) -> None:
    with_rest = one.together
    if with_rest.suspect and with_rest.r is not None and with_rest.surely_below is not None:
        how = "do worse in it" if with_rest.surely_below < 0 else "do no better in it, or hardly"
        one.wrong.append(
            f"those who know the rest {how} (correlation {with_rest.r:+.2f}, surely below "
            f"{with_rest.surely_below:+.2f}). "
            "Look at its wording, and at what counts as right in it."
        )
    if one.answered is not None and count - one.answered >= max(_AT_LEAST, _HALF * count):
        one.wrong.append(
            f"{share_of(count - one.answered, count)} left it out. Ask whether it was understood, or the time was up."
        )
    shares = one.shares
    if shares is not None and shares[1] <= 1e-9 and (one.answered or 0) >= _FEW:
        one.wrong.append(f"nobody of {one.answered} who answered has a mark in it.")
    _to_teach(one)
    nameless: dict[str, list[tuple[float, Place, Group]]] = {}
    for place in one.places:
        answered = place.answered
        where = f"in “{place.said}” " if place.label else ""
        if answered < _FEW:
            continue
        for group in place.groups:
            share = len(group.given) / answered
            if len(group.given) >= _AT_LEAST and share >= _MANY and group.one_for_all:
                made.shared.append(one)
            elif len(group.given) >= _AT_LEAST and share >= _MANY:
                nameless.setdefault(group.in_words, []).append((share, place, group))
        if place.unread >= max(_AT_LEAST, _MANY * answered):
            one.wrong.append(
                f"{where}of the answers {share_of(place.unread, answered)} could not be read. Show how it is to be "
                "written."
            )
    for said, there in nameless.items():
        _, place, group = max(there, key=lambda each: each[0])
        where, many = _where([each for _, each, _ in there]), share_of(len(group.given), place.answered)
        one.wrong.append(
            f"{where}{many} gave the same wrong answer, which has no name: they {said}. "
            "Is the question read as it is meant, and is what counts as right?"
        )


def _where(places: Sequence[Place]) -> str:
    """Say in which lines of a question something was found; what follows is the share in the worst of them."""
    if len(places) == 1:
        return f"in “{places[0].said}” " if places[0].label else ""
    return f"in {len(places)} of its lines ({', '.join(f'“{each.said}”' for each in places)}) up to "


def _to_teach(one: Asked) -> None:
    """Say what many did, each mistake once, in however many lines of a question they made it."""
    found: dict[str, list[tuple[float, Place, Mistake]]] = {}
    for place in one.places:
        for mistake in place.mistakes:
            share = len(mistake.students) / max(1, place.answered)
            if place.answered >= _FEW and len(mistake.students) >= _AT_LEAST and share >= _MANY:
                found.setdefault(mistake.code, []).append((share, place, mistake))
    for code, there in found.items():
        share, place, mistake = max(there, key=lambda each: each[0])
        done = in_words(code) or "made the same mistake"
        gave = f" ({chosen(mistake)})" if chosen(mistake) else ""
        quoted = f" What one of them is told: “{mistake.text}”" if mistake.text else ""
        many = share_of(len(mistake.students), place.answered)
        where = _where([each for _, each, _ in there])
        one.teach.append((share, f"{where}{many} {done}{gave}.{quoted}"))


def chosen(mistake: Mistake) -> str:
    """Say what those who made a mistake gave, where it is a letter or an order; empty for numbers."""
    if not mistake.gave:
        return ""
    return f"they gave {', '.join(mistake.gave[:3])}{' and others' if len(mistake.gave) > 3 else ''}"


def _across(made: Look) -> None:
    """Say which mistakes the class makes again and again, in whatever question."""
    if len(made.students) < _FEW:
        return
    who: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for one in made.asked:
        for place in one.places:
            for mistake in place.mistakes:
                for code in mistake.code.split("+"):
                    for student in mistake.students:
                        who[code][student].add(one.name)
    told = []
    for code, students in who.items():
        questions = {name for names in students.values() for name in names}
        share = len(students) / len(made.students)
        if code in SAID and len(questions) > 1 and len(students) >= _AT_LEAST and share >= _MANY:
            many = share_of(len(students), len(made.students))
            told.append((share, f"{many} {SAID[code]} at least once, in {len(questions)} questions."))
    made.first[:0] = [("all", f"Through the whole lesson: {text}") for _, text in sorted(told, reverse=True)]


def _stuck(made: Look, told: Mapping[str, Mapping[str, Any]]) -> None:
    """Name who needs help, and with what."""
    codes: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    answered: dict[str, dict[str, bool]] = defaultdict(dict)
    for one in made.asked:
        for place in one.places:
            for each in place.given:
                answered[each.student][one.name] = (
                    answered[each.student].get(one.name, False) or each.outcome != "NOT_ATTEMPTED"
                )
                for code in filter(None, each.slip.split("+")):
                    codes[each.student][code].add(one.title)
    for student, mark in zip(made.students, made.marks, strict=True):
        why = []
        in_order = [answered[student][one.name] for one in made.asked if one.name in answered[student]]
        if made.out_of and mark < _LITTLE * made.out_of:
            why.append(f"has less than {100 * _LITTLE:.0f} % of the marks")
        if not any(in_order) and student in told:
            # An empty file says nothing of the student: perhaps it was not saved, or the wrong one came.
            of = told[student]["told"]
            typed = [(one.title, of.get(one.name, {}).get("code")) for one in made.asked]
            did = [f"“{title}”: {what}" for title, what in typed if what]
            if did:
                made.code.append((made.name(student), did))
                continue
            if in_order:
                made.empty.append(made.name(student))
                continue
        if len(in_order) - _last(in_order) >= _AT_LEAST:
            stop = [one.title for one in made.asked if one.name in answered[student]][_last(in_order) - 1]
            why.append(f"stopped after “{stop}”: the last {len(in_order) - _last(in_order)} are empty")
        elif in_order.count(False) >= _HALF * len(in_order):
            why.append(f"left out {in_order.count(False)} of {len(in_order)}")
        for code, titles in sorted(codes[student].items(), key=lambda pair: -len(pair[1])):
            if len(titles) >= _AT_LEAST and code in SAID:
                why.append(f"{SAID[code]} in {len(titles)} questions")
        if why:
            made.stuck.append(Stuck(made.name(student), mark, why))
    made.stuck.sort(key=lambda one: one.mark or 0.0)


def _last(answered: Sequence[bool]) -> int:
    """Give how many there are up to the last that was answered."""
    return max((n for n, each in enumerate(answered, 1) if each), default=0)


_NOT_TYPED = re.compile(r"[^\w\s.,:+\-*/°()’=]")


def comment_command(desk: Marks, lesson: str, question: str, part: str, answer: Answer) -> str:
    """Give the command with which a comment is typed for everyone with one answer.

    Parameters
    ----------
    desk : Desk
        The desk.
    lesson, question, part : str
        Where the answer stands.
    answer : Answer
        What it is.

    Returns
    -------
    str
        The command line; empty where the answer holds signs that mean something to a command line. Whoever wrote the
        answer is not trusted with one.
    """
    if _NOT_TYPED.search(f"{part}{answer}") or "*" in part:
        return ""
    where = ["--part", part] if part else []
    return desk.command("tell-all", lesson, question, str(answer), *where, "YOUR COMMENT")
