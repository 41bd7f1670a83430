"""Two pages to print: the rules of all lessons, and this learner's weak spots with an exercise each.

The rules are taken from the lessons as they were released, so that nothing is written twice.
"""

from __future__ import annotations

import argparse
import html
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from needlework.basis.places import released_lessons
from needlework.course import command, review
from needlework.course.start_page import CAUTION
from needlework.exercises import coming_back, judging, progress, schedule
from needlework.exercises.catalogue import QUESTIONS, Lesson
from needlework.exercises.kinds import Choice, Givens, Number, Order, Question, Table

FOLDER = "print"
"""Where the pages lie in the learner's folder."""
_SPOTS = 6
_HOLDS = 430_000.0
"""Letters times points squared that one side of A4 holds in two columns, found by printing: one page in Chromium."""
_STYLE = """
:root { color-scheme: light dark; --ink: #1a1a1a; --paper: #fff; --line: #999; --soft: #555; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6e6e6; --paper: #16181b; --line: #777; --soft: #b0b0b0; } }
* { box-sizing: border-box; }
body { font: 16px/1.45 system-ui, "DejaVu Sans", sans-serif; max-width: 62rem; margin: 1.5rem auto; padding: 0 1rem;
       color: var(--ink); background: var(--paper); }
h1 { font-size: 1.5em; margin: 0 0 .4em; } h2 { font-size: 1.15em; margin: .9em 0 .2em; break-after: avoid; }
ol { margin: 0; padding-left: 1.6em; } li { margin: .15em 0; break-inside: avoid; }
i { color: var(--soft); } .caution { color: var(--soft); }
.spot { break-inside: avoid; border-top: 1px solid var(--line); padding: .5em 0; }
.spot p { margin: .25em 0; } .blank { display: inline-block; min-width: 9em; border-bottom: 1px solid var(--ink); }
.answers { border-top: 2px solid var(--ink); margin-top: 1em; }
ul { list-style: none; padding-left: 1em; margin: .2em 0; }
@media (min-width: 56rem) { .narrow { columns: 2; column-gap: 2.5rem; } }
@page { size: A4; margin: 9mm; }
@media print {
  :root { --ink: #000; --paper: #fff; --line: #999; --soft: #444; }
  body { margin: 0; padding: 0; max-width: none; font-size: SIZEpt; line-height: 1.22; }
  .narrow { columns: 2; column-gap: 6mm; } .screen { display: none; }
  h1 { font-size: 1.4em; } h2 { margin: .5em 0 .1em; } li { margin: .05em 0; }
}
"""


def _inline(text: str) -> str:
    """Write a line of a lesson as HTML: its **bold**, *slanted* and `typed` words."""
    safe = html.escape(text, quote=False)
    safe = re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", safe)
    safe = re.sub(r"(?<![\w*])\*(?!\s)(.+?)(?<!\s)\*(?![\w*])", r"<i>\1</i>", safe)
    return re.sub(r"`(.+?)`", r"<code>\1</code>", safe)


def _page(title: str, body: str, size_pt: float) -> str:
    style = _STYLE.replace("SIZE", f"{size_pt:.2f}")
    wide = '<meta name="viewport" content="width=device-width, initial-scale=1">'
    caution = _inline(CAUTION.partition(" This course")[0])
    return (
        f'<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8">{wide}<title>{title}</title>'
        f"<style>{style}</style></head>\n<body><main><h1>{title}</h1>\n{body}\n"
        f'<p class="caution">{caution}</p></main></body></html>\n'
    )


# --- the rules ----------------------------------------------------------------------------------------------------


def rules_of(path: Path) -> str:
    """Give the rules of a lesson as they stand in its notebook, without their heading and what is folded below them.

    Parameters
    ----------
    path : pathlib.Path
        The notebook, as released or in a learner's folder.

    Returns
    -------
    str
        Markdown; empty where the lesson has none.
    """
    try:
        cells = json.loads(path.read_text(encoding="utf-8-sig"))["cells"]
        found = [
            "".join(cell["source"])
            for cell in cells
            if cell["cell_type"] == "markdown" and "rules" in cell.get("metadata", {}).get("tags", [])
        ]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ""
    text = "\n\n".join(found)
    text = re.sub(r"<details>.*?</details>", "", text, flags=re.S)
    return re.sub(r"^## .*\n+", "", text, flags=re.M).strip()


def _blocks(text: str) -> str:
    """Write rules as HTML: numbered lines with what goes on below them, and plain paragraphs."""
    out: list[str] = []
    items: list[str] = []

    def close() -> None:
        if items:
            out.append("<ol>" + "".join(f"<li>{_inline(each)}</li>" for each in items) + "</ol>")
            items.clear()

    for paragraph in re.split(r"\n\s*\n", text):
        for piece in re.split(r"\n(?=\d+\. )", paragraph):
            words = " ".join(piece.split())
            numbered = re.match(r"\d+\. (.*)", words)
            if numbered:
                items.append(numbered[1])
            elif words:
                close()
                out.append(f"<p>{_inline(words)}</p>")
    close()
    return "".join(out)


def rules_page(lessons: Sequence[tuple[Lesson, Path]]) -> str:
    """Write the rules of all lessons on one page.

    Parameters
    ----------
    lessons : sequence of (Lesson, pathlib.Path)
        Each with its notebook, in teaching order.

    Returns
    -------
    str
        An HTML page that prints on one side of A4, as long as it can be read: type shrinks to 6 points at most.
    """
    parts = [(lesson.title, rules_of(path)) for lesson, path in lessons]
    body = "".join(f"<h2>{html.escape(title)}</h2>{_blocks(text)}" for title, text in parts if text)
    letters = sum(len(text) + 3 * len(title) + 60 for title, text in parts if text)
    size_pt = max(6.0, min(11.0, (_HOLDS / max(letters, 1)) ** 0.5))
    return _page("The rules of all lessons", f'<div class="narrow">{body}</div>', size_pt)


# --- weak spots ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Spot:
    """A weak spot of one learner.

    Parameters
    ----------
    lesson : Lesson
        Where it is taught.
    question : Question
        As it stands there.
    wrong, answers : int
        Days on which it was wrong, and on which it was answered.
    said : str
        What was said of the latest mistake that has a name; empty for none.
    mended : bool
        True where the newest answer was right.
    """

    lesson: Lesson
    question: Question
    wrong: int
    answers: int
    said: str
    mended: bool


def weak_spots(folder: Path, done: progress.Progress, day: date) -> list[Spot]:
    """Find what this learner gets wrong: most often wrong first, then what is most likely forgotten.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    done : Progress
        The learner's journal, read back.
    day : datetime.date
        The day.

    Returns
    -------
    list of Spot
        As many as a page holds, and no question that needs more than paper.
    """
    lessons = review.lessons_in(folder)
    held = schedule.memories(lessons, done)
    found = []
    for lesson in lessons:
        for outline in lesson.outlines:
            history = done.history.get(outline.key, [])
            answers = schedule.first_answers(history)
            memory = held.get(outline.key)
            if memory is None or not memory.wrong or outline.kind in ("plan", "flight", "rule") or outline.task:
                continue
            question = QUESTIONS[outline.key]
            if question.figure or review.answered_from(question, judging.draw(question), lesson, folder):
                continue
            slips = [each for each in done.history[outline.key] if each.slip]
            said = _said(question, slips[-1]) if slips else ""
            rank = (-(memory.wrong - memory.in_a_row), memory.recall(day))
            tries = [each for each in history if schedule.rating_of(each.outcome, 0) is not None]
            mended = bool(tries) and tries[-1].outcome == "PASS"
            found.append((rank, Spot(lesson, question, memory.wrong, len(answers), said, mended)))
    found.sort(key=lambda pair: pair[0])
    return [spot for _, spot in found[:_SPOTS]]


def _said(question: Question, happened: progress.Happening) -> str:
    """Say a mistake again as it was said then: with the numbers of that day."""
    givens = judging.draw(question, happened.student, drawn=happened.drawn)
    cells: list[Question] = [question]
    if isinstance(question, Table):
        cells = list(question.cells(givens).values())
    for cell in cells:
        for slip in cell.slips:
            if slip.code == happened.slip:
                try:
                    return cell.fill(slip.says, givens)
                except (KeyError, IndexError, ValueError):
                    return ""
    return ""


def _field(question: Question, givens: Givens) -> str:
    blank = '<span class="blank">&nbsp;</span>'
    if isinstance(question, Choice):
        rows = [(letter, question.fill(text, givens)) for letter, text in question.options.items()]
    elif isinstance(question, Order):
        rows = [(letter, question.fill(text, givens)) for letter, text in question.cards.items()]
    elif isinstance(question, Table):
        return "<ul>" + "".join(f"<li>{_inline(label)} {blank}</li>" for label in question.cells(givens)) + "</ul>"
    else:
        return f"<p>{blank} {html.escape(getattr(question, 'unit', ''))}</p>"
    said = [f"<b>{letter}</b>" + ("" if letter == text else f" {_inline(text)}") for letter, text in rows]
    return "<ul>" + "".join(f"<li>{each}</li>" for each in said) + "</ul>"


def _answer(question: Question, givens: Givens) -> str:
    right: Any = question.right(givens)
    if isinstance(question, Table):
        cells = question.cells(givens)
        return "; ".join(f"{label}: {coming_back.written(cells[label], value)}" for label, value in right.items())
    return coming_back.written(question, right) if isinstance(question, Number) else str(right)


def weak_spots_page(spots: Sequence[Spot], drawn: str) -> str:
    """Write the page of weak spots: what went wrong, where it is taught, one exercise with numbers of its own.

    Parameters
    ----------
    spots : sequence of Spot
        As :func:`weak_spots` finds them.
    drawn : str
        What names the numbers, for example the day.

    Returns
    -------
    str
        An HTML page; the answers stand at its foot.
    """
    if not spots:
        return _page("My weak spots", "<p>None so far: nothing was wrong that can be asked on paper.</p>", 9.0)
    parts, answers = [], []
    for number, spot in enumerate(spots, 1):
        givens = judging.draw(spot.question, drawn=drawn)
        question = coming_back.fresh(spot.question, givens, drawn)
        given = f"<p><b>{_inline(question.fill(question.shown, givens))}</b></p>" if question.shown else ""
        said = f"<p>Last time: {_inline(spot.said)}</p>" if spot.said else ""
        asked = "<br>".join(_inline(line) for line in question.fill(question.prompt, givens).split("\n"))
        title = html.escape(spot.question.title)
        days = f"day{'' if spot.wrong == 1 else 's'}"
        since = ", put right afterwards" if spot.mended else ""
        stands = f"the first answer of the day was wrong on {spot.wrong} {days} of {spot.answers}{since}"
        taught = f"<i>{html.escape(spot.lesson.title)}; {stands}.</i>"
        parts.append(
            f'<section class="spot"><h2>{number}. {title}</h2><p>{taught}</p>{said}<p>{asked}</p>{given}'
            f"{_field(question, givens)}</section>"
        )
        answers.append(f"<li>{_inline(_answer(question, givens))}</li>")
    narrow = f'<div class="narrow">{"".join(parts)}</div>'
    body = f'{narrow}<div class="answers"><h2>Answers</h2><ol>{"".join(answers)}</ol></div>'
    letters = len(re.sub(r"<[^>]+>", "", body)) + 350 * len(spots)
    return _page("My weak spots", body, max(6.5, min(10.5, (_HOLDS / max(letters, 1)) ** 0.5)))


# --- the command --------------------------------------------------------------------------------------------------


def _notebooks(folder: Path) -> list[tuple[Lesson, Path]]:
    """Each lesson with the notebook that nobody has changed, where there is one."""
    there = released_lessons()
    places = [(each, there / each.key / f"{each.key}.ipynb") for each in review.lessons_in(folder)]
    return [(lesson, path if path.is_file() else folder / lesson.key / path.name) for lesson, path in places]


def written(folder: Path, name: str, day: date) -> Path:
    """Write one of the pages into the learner's folder.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    name : str
        ``"rules"`` or ``"weak-spots"``.
    day : datetime.date
        Today: names the numbers of the exercises.

    Returns
    -------
    pathlib.Path
        The page.
    """
    if name == "rules":
        text = rules_page(_notebooks(folder))
    else:
        spots = weak_spots(folder, progress.read(folder), day)
        text = weak_spots_page(spots, f"paper {day.isoformat()}")
    path = folder / FOLDER / f"{name}.html"
    command.write_file(path, text.encode())
    return path


def _sheet(options: argparse.Namespace) -> int:
    folder = command.learners_folder(options.folder)
    review.use_own_lessons(folder)
    print(written(folder, options.name, date.today()))
    return 0


def add_command(commands: Any) -> None:
    """Add ``needlework sheet``."""
    parser = commands.add_parser("sheet", help="write a page to print: the rules of all lessons, or your weak spots")
    parser.add_argument("name", choices=["rules", "weak-spots"], help="which page")
    parser.add_argument("--folder", help="your own folder (default: NEEDLEWORK_FOLDER, else ~/needlework)")
    parser.set_defaults(run=_sheet)
