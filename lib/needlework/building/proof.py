"""Proofs of a lesson: its worked answers are run and judged, every slip is made, every sentence is said.

The notebook's own cells are executed, for many students, behind a door that draws the numbers and notes the answers
in place of showing anything; so what is proved is what the solved notebook holds. Flying takes longest: what is
flown is proved on fewer students, and its slips are shared among them.
"""

from __future__ import annotations

import builtins
import copy
import re
from collections.abc import Iterator, Mapping
from types import CodeType, SimpleNamespace
from typing import Any

from needlework.building.data import spoken
from needlework.building.faults import Faults
from needlework.building.notebook import notebook
from needlework.building.reading import Lesson, needs_worked, texts
from needlework.building.scan import Block
from needlework.exercises import judging
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Choice, Givens, Number, Question, Slip, Table, Text
from needlework.exercises.rules import Rule
from needlework.exercises.verdicts import Outcome, Verdict

_REGION = re.compile(r"\n### BEGIN SOLUTION\n.*\n### END SOLUTION", re.S)
_FLOWN = (FilledPlan, FlownByHand)
_UNITS = re.compile(
    r"\b(?:(?P<magnetic>degrees? magnetic)|(?P<true>degrees? true)|(?P<degrees>degrees?)"
    r"|(?P<rate>feet per minute|ft/min|fpm)|(?P<gradient>feet per (?:nautical )?mile|feet per NM|ft/NM)"
    r"|(?P<feet>feet|ft)|(?P<miles>NM|(?:nautical )?miles?)|(?P<knots>knots?|kt)|(?P<seconds>seconds?)"
    r"|(?P<minutes>minutes?)|(?P<hours>hours?))\b",
    re.I,
)
# What a table's words may say in place of a unit: a heading is in degrees, an altitude in feet.
_IMPLIED = re.compile(
    r"\b(?:(?P<degrees>headings?|courses?|radials?)|(?P<rate>rates?)|(?P<gradient>gradients?)"
    r"|(?P<feet>altitudes?|heights?|MDA|floors?)|(?P<miles>DME|distances?)|(?P<knots>speeds?)|(?P<seconds>times?))\b",
    re.I,
)


def prove(
    lesson: Lesson, questions: Mapping[str, Question], students: int = 40, flown: int = 2, draws: int = 200
) -> Faults:
    """Prove a lesson that reads without faults.

    Parameters
    ----------
    lesson : Lesson
        As written.
    questions : mapping of str to Question
        The same, made.
    students : int
        For how many students its answers are judged.
    flown : int
        For how many of them what is flown is flown.
    draws : int
        In how many draws every sentence has to be said.

    Returns
    -------
    Faults
        What is wrong, each once a question; empty for a lesson that holds.
    """
    faults = Faults()
    blocks = {block.name: block for block in lesson.questions}
    names = ["", *(f"student {number}" for number in range(1, students))]
    door = _Door(questions)
    solved = _Run(notebook(lesson, dict(questions)), door, blocks, faults)
    for key, question in questions.items():
        _prove_unit(blocks[key], faults)
        _prove_untouched(question, solved.stub(key), blocks[key], faults)
    held = dict.fromkeys(questions, True)
    for number, student in enumerate(names):
        unflown = {key for key, q in questions.items() if isinstance(q, FlownByHand) and number >= flown}
        answers = solved.answers(student, unflown)
        for key, question in questions.items():
            if key not in answers or not held[key] or (isinstance(question, _FLOWN) and number >= flown):
                continue
            givens = door.numbers(key)
            try:
                # Numbers that were not shown are tried of rules and plans only; a plan flies several days for it.
                desk = number == 0 or isinstance(question, Rule)
                held[key] = _prove_right(question, givens, answers[key], blocks[key], faults, desk)
            except Exception as error:
                held[key] = False
                why = f"{type(error).__name__}: {error}"
                faults.add(blocks[key].line, key, f"its answer cannot be judged {_whose(givens)}: {why}")
    for key, question in questions.items():
        if not held[key]:
            continue
        _prove_slips(_Slips(question, blocks[key], door, names, flown, draws), faults)
    return faults


# ---------------------------------------------------------------- what the notebook's cells call


class _Door:
    """Stands in for :mod:`needlework.lesson`: draws numbers, notes answers, shows nothing."""

    def __init__(self, questions: Mapping[str, Question]) -> None:
        self.questions = questions
        self.student = ""
        self.noted: dict[str, Any] = {}
        self.drawn: dict[tuple[str, str], Givens] = {}

    def begin(self, student: str) -> None:
        self.student, self.noted = student, {}

    def numbers(self, key: str) -> Givens:
        return self.numbers_of(key, self.student)

    def numbers_of(self, key: str, student: str) -> Givens:
        if (key, student) not in self.drawn:
            self.drawn[key, student] = judging.draw(self.questions[key], student)
        return self.drawn[key, student]

    def check(self, key: str, answer: object) -> None:
        self.noted[key] = answer

    def module(self) -> SimpleNamespace:
        verbs: dict[str, Any] = dict.fromkeys(
            ("ask", "begin", "fly", "flight_of", "hint", "recap", "reveal"), _nothing
        )
        return SimpleNamespace(**verbs, numbers=self.numbers, check=self.check, score=self.check)

    def importing(
        self, name: str, globals: Any = None, locals: Any = None, fromlist: Any = (), level: int = 0
    ) -> Any:
        """Give what a cell imports: this door, pictures that draw nothing, and all else as it is."""
        if fromlist and name == "needlework.lesson":
            return self.module()
        if fromlist and name == "needlework.exercises.catalogue":
            return SimpleNamespace(QUESTIONS=self.questions)
        found = builtins.__import__(name, globals, locals, fromlist, level)
        if fromlist and name == "needlework":
            named = {
                each: _Blank() if each in ("pictures", "sliders", "plate", "listening") else getattr(found, each)
                for each in fromlist
            }
            return SimpleNamespace(**named)
        return found


def _nothing(*_given: Any, **_named: Any) -> None:
    return None


class _Blank:
    def __getattr__(self, _name: str) -> Any:
        return _nothing


class _Run:
    """The cells of a solved notebook, ready to be executed for one student after the other."""

    def __init__(self, book: dict[str, Any], door: _Door, blocks: Mapping[str, Block], faults: Faults) -> None:
        self.door, self.blocks, self.faults = door, blocks, faults
        self.cells: list[tuple[str, CodeType]] = []
        self.stubs: dict[str, str] = {}
        self.spoilt: set[str] = set()
        for cell in book["cells"]:
            if cell["cell_type"] != "code":
                continue
            about = cell["metadata"].get("nbgrader", {})
            key = str(about.get("grade_id", "")).removesuffix("-answer")
            if about.get("solution"):
                self.stubs[key] = _REGION.sub("", cell["source"])
            try:
                self.cells.append((key, compile(cell["source"], f"<{key or cell['id']}>", "exec")))
            except SyntaxError as error:
                self._tell(key, error)

    def _tell(self, key: str, error: BaseException) -> None:
        if key not in self.spoilt:
            self.spoilt.add(key)
            where = self.blocks[key].line if key else 1
            what = "its worked answer" if key else "a cell of the notebook"
            self.faults.add(where, key, f"{what} cannot be run: {type(error).__name__}: {error}")

    def _namespace(self) -> dict[str, Any]:
        return {"__builtins__": {**vars(builtins), "__import__": self.door.importing}, "__name__": "__main__"}

    def answers(self, student: str, without: set[str]) -> dict[str, Any]:
        """Execute the cells for a student; give the answers that were judged, without those of some questions."""
        self.door.begin(student)
        namespace = self._namespace()
        for key, code in self.cells:
            if key in without or key in self.spoilt:
                continue
            try:
                exec(code, namespace)
            except Exception as error:
                self._tell(key, error)
        return {key: answer for key, answer in self.door.noted.items() if key not in without | self.spoilt}

    def stub(self, key: str) -> Any:
        """Give what an untouched answer cell holds."""
        self.door.begin("")
        namespace = self._namespace()
        exec("from needlework.lesson import ask, fly, check, score, flight_of", namespace)
        exec(self.stubs[key], namespace)
        return namespace[str(self.blocks[key].settings["as"])]


# ---------------------------------------------------------------- right, untouched, units


def _cells(question: Question, givens: Givens) -> dict[str, Question]:
    return question.cells(givens) if isinstance(question, Table) else {"": question}


def _whose(givens: Givens) -> str:
    return f"for the student '{givens['seed']}'" if givens["seed"] else "for a student alone"


def _missed(verdict: Verdict) -> str:
    """Say which cells or goals of an answer did not pass, and in which words."""
    missed = [f"{label}: {cell.text}" for label, cell in verdict.cells if cell.outcome is not Outcome.PASS]
    return f"{verdict.text} {' '.join(missed)}".strip()


def _prove_right(question: Question, givens: Givens, worked: Any, block: Block, faults: Faults, desk: bool) -> bool:
    """Full marks for the worked answer, for what the functions give, and for that rounded as it is asked for."""
    if isinstance(question, Text):
        # A person marks it: there is nothing to be proved but that its model can be filled in.
        return bool(question.right(givens))
    tries = [("the worked answer" if needs_worked(block) else "the right answer", worked)]
    reference = question.right(givens) if not isinstance(question, FlownByHand) else worked
    if not _same(reference, worked) and (desk or not isinstance(question, FilledPlan)):
        tries.append((f"what `{block.settings.get('right', 'right')}` gives", reference))
    for what, answer in tries:
        for hidden in (False, True) if desk and not isinstance(question, FlownByHand) else (False,):
            verdict = judging.judge(question, givens, answer, hidden)
            if verdict.outcome is not Outcome.PASS or verdict.share != 1.0:
                where = " at the desk" if hidden else ""
                faults.add(
                    block.line, block.name, f"{what} does not pass{where} {_whose(givens)}: {_missed(verdict)}"
                )
                return False
    for label, cell in _cells(question, givens).items():
        if isinstance(cell, Number):
            rounded = round(cell.right(givens) / cell.to) * cell.to
            if judging.judge(cell, givens, rounded).outcome is not Outcome.PASS:
                at = _block_of(block, label)
                faults.add(
                    at.settings.line_of("to"),
                    _where(block, at),
                    f"rounded to {cell.to:g} as it is asked for, the right answer {cell.right(givens):g} does not "
                    f"pass {_whose(givens)}",
                )
                return False
    return True


def _same(one: Any, other: Any) -> bool:
    try:
        return bool(one == other)
    except ValueError:
        return False


def _prove_untouched(question: Question, stub: Any, block: Block, faults: Faults) -> None:
    givens = judging.draw(question)
    for hidden in (False, True):
        verdict = judging.judge(question, givens, stub, hidden)
        if verdict.outcome is not Outcome.NOT_ATTEMPTED or verdict.share:
            faults.add(
                block.line, block.name, f"the untouched answer cell is judged {verdict.outcome}: {verdict.text}"
            )
            return


def _named(pattern: re.Pattern[str], text: str) -> set[str]:
    return {str(found.lastgroup) for found in pattern.finditer(text)}


def _fits(unit: str, named: set[str]) -> bool:
    degrees = {"magnetic", "true", "degrees"}
    return unit in named or (unit in degrees and bool(named & {"degrees"} or (unit == "degrees" and named & degrees)))


def _prove_unit(block: Block, faults: Faults) -> None:
    """The question's words and the comment in the answer cell name the unit in which the answer is judged."""
    prompt = " ".join((block.prompt, str(block.settings.get("ending", ""))))
    for cell in block.cells or [block]:
        if cell.kind != "number":
            continue
        said = str(cell.settings.get("unit", ""))
        unit = next(iter(_named(_UNITS, spoken(said))), "")
        if cell is block:
            asked = prompt.rpartition("?")[2]
            aside = " ".join(re.findall(r"(?i)\b(?:how many|in) \w+(?: (?:per \w+|magnetic|true))?", block.prompt))
            places = [("question", asked), ("question", aside), ("answer cell", str(cell.settings.get("stub", "")))]
        else:
            whole = f"{prompt} {cell.name} {cell.settings.get('stub', '')} {block.settings.get('stub', '')}"
            implied = _named(_IMPLIED, whole) if _named(_UNITS, whole) else set()
            places = [("question", whole)] if not _fits(unit, implied) else []
        for place, words in places:
            named = _named(_UNITS, words)
            if unit and named and not _fits(unit, named):
                other = _UNITS.search(words)
                assert other
                faults.add(
                    cell.settings.line_of("unit"),
                    _where(block, cell),
                    f"the {place} says {other[0]}, and it is judged in {said}",
                )
                break


# ---------------------------------------------------------------- slips


def _block_of(block: Block, label: str) -> Block:
    """Find the cell as it is written that a cell of a table was made from."""
    for cell in block.cells:
        pattern = "".join(
            ".+" if part.startswith("{") else re.escape(part) for part in re.split(r"(\{\w+(?::\w+)?\})", cell.name)
        )
        if label and re.fullmatch(pattern, label):
            return cell
    return block


class _Slips:
    """The slips of a question, made in many draws."""

    def __init__(
        self, question: Question, block: Block, door: _Door, students: list[str], flown: int, draws: int
    ) -> None:
        self.question, self.block, self.door, self.students, self.flown = question, block, door, students, flown
        # Without a draw all have the same numbers.
        self.draws = draws if "draw" in block.settings else 1
        own = block.cells or [block]
        self.unsaid = {(b.line, item.name): item for b in own for item in texts(b, "slip") if not item.taken}
        self.by_name = any("slips by" in each.settings for each in own)

    def cells(self) -> Iterator[tuple[int, Block, Question, Givens]]:
        """Give the question, or the cells of the table, in draw after draw."""
        more = (f"student {number}" for number in range(len(self.students), self.draws))
        for number, student in enumerate([*self.students[: self.draws], *more]):
            if number >= len(self.students) and not self.unsaid and not self.by_name:
                return
            givens = self.door.numbers_of(self.question.key, student)
            for label, cell in _cells(self.question, givens).items():
                yield number, _block_of(self.block, label), cell, givens


def _said_beside_another(question: Question, cell: Question, givens: Any) -> list[Slip]:
    """Give the mistakes that a line of a table hides and another line shows."""
    if isinstance(question, Table) and isinstance(cell, Choice):
        several = set().union(*(slip.causes for slip in cell.slips if len(slip.causes) > 1))
        return [slip for slip in cell.slips if slip.name in several]
    if not (isinstance(question, Table) and isinstance(cell, Number)):
        return []
    return [slip for slip, _ in Question.mistakes(cell, givens) if cell.goes_in(slip.code)]


def _prove_slips(slips: _Slips, faults: Faults) -> None:
    spoilt: set[int] = set()
    for number, block, cell, givens in slips.cells():
        if block.line in spoilt:
            continue
        try:
            made = cell.mistakes(givens)
            for slip in (*(slip for slip, _ in made), *_said_beside_another(slips.question, cell, givens)):
                slips.unsaid.pop((block.line, slip.name), None)
            why = _wrongly_told(cell, givens, made, number, slips) or _undeclared(cell, givens)
        except Exception as error:
            why = f"{_whose(givens)} its slips cannot be made: {type(error).__name__}: {error}"
        if why:
            spoilt.add(block.line)
            faults.add(block.line, _where(slips.block, block), why)
    for (line, name), item in slips.unsaid.items():
        if line not in spoilt:
            block = next(each for each in (*slips.block.cells, slips.block) if each.line == line)
            faults.add(item.line, _where(slips.block, block), f"slip {name} is never said, in {slips.draws} draws")


def _where(block: Block, cell: Block) -> str:
    return block.name if cell is block else f"{block.name}, cell {cell.name}"


def _wrongly_told(cell: Question, givens: Givens, made: list[Any], number: int, slips: _Slips) -> str:
    """Say which slip is not told by its own name in its own words; empty if none."""
    known = copy.copy(cell)
    # Worked out once for all of its slips, not anew for each.
    vars(known)["mistakes"] = lambda _givens: made
    if isinstance(known, FilledPlan):
        right = cell.right(givens)
        vars(known)["right"] = lambda _givens: right
        for place, (slip, wrong) in enumerate(made):
            found = known.slip_in(givens, known.read(wrong))
            if found is None or found is not slip:
                other = f"taken for {found.name}" if found else "not known again"
                return f"slip {slip.name} is {other} {_whose(givens)}, filled in as {wrong}"
            if number < slips.flown and place % slips.flown == number:
                verdict = judging.judge(cell, givens, wrong)
                if verdict.outcome is not Outcome.SLIP or verdict.slip != slip.code or verdict.share > 0.5:
                    return f"slip {slip.name} flies well enough to pass {_whose(givens)}: {verdict.text}"
        return _alike([(slip, cell.fill(slip.says, givens)) for slip, _ in made], givens)
    words = []
    if number < len(slips.students):
        for slip, wrong in made:
            verdict = judging.judge(known, givens, wrong)
            if slip.rare and not verdict.share:
                continue
            both = slip.name != verdict.slip and cell.fill(slip.says, givens) in verdict.text
            if verdict.outcome is not Outcome.SLIP or not (both or verdict.slip == slip.code) or verdict.share:
                got = verdict.slip or f"{verdict.outcome}: {verdict.text}"
                return f"slip {slip.name}, {wrong}, is told as {got} {_whose(givens)}"
            words.append((slip, verdict.text.replace(verdict.given, "")))
    return _alike(words, givens)


def _alike(words: list[tuple[Any, str]], givens: Givens) -> str:
    seen: dict[str, str] = {}
    for slip, text in words:
        if text in seen:
            return f"slips {seen[text]} and {slip.name} are told in the same words {_whose(givens)}"
        seen[text] = slip.name
    return ""


def _undeclared(cell: Question, givens: Givens) -> str:
    """Ask ``slips by`` about many wrong answers: a name that no sentence has raises an error of its own."""
    if cell.named_by is None or isinstance(cell, (Choice, FilledPlan)) or not isinstance(cell, Number):
        return ""
    right = cell.right(givens)
    step = max(cell.tolerance, cell.to)
    for wrong in (
        0.0,
        -right,
        right / 2,
        right * 2,
        right * 60,
        *(right + k * step for k in (-40, -9, -3, 3, 9, 40)),
    ):
        cell.named(givens, wrong)
    return ""
