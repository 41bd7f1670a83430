"""Working a lesson through its fields, as a pilot does; for tests and benchmarks of the page in front of it."""

from __future__ import annotations

import contextlib
import json
import shutil
import tempfile
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import browser
from needlework.course import command, start_page
from needlework.exercises import judging, progress
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand
from needlework.exercises.kinds import Choice, Question, Table
from needlework.exercises.rules import Rule

READY = "[data-lesson=ready]"


@contextlib.contextmanager
def course(root: Path, environment: Mapping[str, str] | None = None) -> Iterator[browser.Lab]:
    """Run the course as its command does, on a learner's folder of its own."""
    root.mkdir(parents=True, exist_ok=True)
    command.bring_lessons(root)
    seen = start_page.overview(list(LESSONS.values()), progress.read(root))
    command.Copies(root).write_page(start_page.page(seen))
    with browser.lab(root, environment={**command.jupyter_environment(root), **(environment or {})}) as running:
        yield running


def again(root: Path, lesson: str) -> None:
    """Put a fresh copy of a lesson into the learner's folder."""
    shutil.copy(command.ROOT / "lessons" / lesson / f"{lesson}.ipynb", root / lesson / f"{lesson}.ipynb")


def right(key: str, student: str = "") -> Any:
    """Give the right answer of a question as plain data; None for a flight, which is flown."""
    question = QUESTIONS[key]
    if isinstance(question, FlownByHand):
        return None
    if isinstance(question, Rule):
        return question.example
    return question.right(judging.draw(question, student))  # type: ignore[attr-defined]


def typed(value: Any, unit: str = "") -> str:
    """Write a number as a pilot does: three digits for a direction, a comma in thousands, its unit behind it."""
    if isinstance(value, str):
        return value
    if unit.startswith("degrees magnetic"):
        return f"{round(value):03d}°"
    text = f"{value:,.10g}" if abs(value) < 1000 else f"{round(value):,}"
    return f"{text} {unit}" if unit in ("ft", "kt", "NM") else text


# What a card asks of the page, all in one call: each question to a browser costs more than its answer.
_IN_PAGE = """
const notebook = () => window.jupyterapp.shell.currentWidget.content;
const until = async (found, what, ms = 90_000) => {
  for (const end = performance.now() + ms; performance.now() < end;) {
    const there = found();
    if (there) return there;
    await new Promise((next) => setTimeout(next, 20));
  }
  throw new Error(`it did not come about: ${what}`);
};
const fieldOf = (title) => until(() => document.getElementById(title)?.closest('.nl-field'), title);
// To read every cell's text at every look costs more than all the rest.
const cellOf = (text) => {
  const known = (notebook().cellsOfTest ??= {});
  if (known[text]?.isDisposed !== false) {
    known[text] = notebook().widgets.find((cell) =>
      cell.model.type === 'code' && cell.model.sharedModel.getSource().includes(text));
  }
  return known[text];
};
const sourceOf = (key) => cellOf(`ask("${key}")`)?.model.sharedModel.getSource() ?? '';
const saidOf = (key) => {
  const model = cellOf(`check("${key}"`)?.model;
  for (let n = 0; n < (model?.outputs.length ?? 0); n++) {
    const said = model.outputs.get(n).data['application/vnd.needlework+json'];
    if (said && (said.verdict || said.answer) && model.executionState !== 'running')
      return JSON.stringify([model.executionCount, said]);
  }
  return null;
};
const type = async (input, text) => {
  const free = () => input.checkVisibility({ visibilityProperty: true }) && !input.disabled && !input.readOnly;
  await until(free, 'a field to type in');
  input.focus();
  input.select();
  document.execCommand(text ? 'insertText' : 'delete', false, text);
  if (input.value !== text) throw new Error(`“${text}” was typed, “${input.value}” stands there`);
};
const put = async (control, text) => {
  const cards = control.querySelector('.nl-cards'), input = control.querySelector('input[type=text]');
  const radio = [...control.querySelectorAll('input[type=radio]')].find((each) => each.value === text);
  if (cards) {
    const letters = () => [...cards.children].map((card) => card.querySelector('b').textContent);
    [...text].forEach((letter, place) => {
      const up = cards.querySelector(`[aria-label="Move ${letter} up"]`);
      for (let at = letters().indexOf(letter); at > place; at--) up.click();
    });
  } else if (radio) radio.click();
  else await type(input, text);
};
"""


class Card:
    """One question of an open lesson: its field, its button, its verdict."""

    def __init__(self, page: Any, key: str, again: bool = False) -> None:
        self.page, self.key = page, key
        self._title = f"nl-title-{'again-' if again else ''}{key}"
        self.field = page.locator(f".nl-field:has(#{self._title})")

    def _ask(self, body: str, *more: Any) -> Any:
        return self.page.evaluate(
            f"async ([key, title, ...more]) => {{ {_IN_PAGE} {body} }}", [self.key, self._title, *more]
        )

    def show(self) -> None:
        """Turn to its sitting and bring it into sight."""
        self.page.evaluate(
            """key => { const title = document.getElementById(`nl-title-${key}`);
            const cell = title.closest('.jp-Cell');
            const at = [...cell.parentElement.querySelectorAll(':scope > .jp-Cell')];
            let sitting = 0;
            for (const each of at) { if (each === cell) break; if (each.querySelector('.nl-foot')) sitting++; }
            document.querySelectorAll('.nl-sittings .nl-button')[sitting]?.click(); cell.scrollIntoView(); }""",
            self.key,
        )

    def fill(self, answer: Any) -> None:
        """Put an answer into the field, as typed or picked, without asking for the verdict."""
        self._ask(
            """const controls = [...(await fieldOf(title)).querySelectorAll('.nl-control')];
            for (const [n, text] of more[0].entries()) await put(controls[n], text);""",
            [str(each) for each in (answer.values() if isinstance(answer, Mapping) else [answer])],
        )

    def refused(self, text: str) -> str | None:
        """Type what cannot be read and leave the field; give the text of the cell once the field has said so.

        None where nothing is typed.
        """
        return self._ask(  # type: ignore[no-any-return]
            """const field = await fieldOf(title), input = field.querySelector('input[type=text]');
            if (!input) return null;
            await type(input, more[0]);
            input.blur();
            await until(() => field.querySelector('.nl-read.nl-wrong')?.checkVisibility(), 'a sentence');
            return sourceOf(key);""",
            text,
        )

    def sources(self, answers: list[list[str]]) -> list[str]:
        """Put answers in one after the other, a text for each control, and give the text of the cell after each."""
        return list(
            self._ask(
                """const controls = [...(await fieldOf(title)).querySelectorAll('.nl-control')];
                const told = (node, name) => node.dispatchEvent(new Event(name, { bubbles: true }));
                const held = [];
                for (const texts of more[0]) {
                  for (const [n, text] of texts.entries()) {
                    const input = controls[n].querySelector('input[type=text]');
                    if (input) { input.value = text; told(input, 'input'); told(input, 'change'); }
                    else await put(controls[n], text);
                  }
                  held.push(sourceOf(key));
                }
                return held;""",
                answers,
            )
        )

    def check(self) -> dict[str, Any]:
        """Ask for the verdict with the mouse, and give what it says as data."""
        before = self._said()
        button = self.page.evaluate_handle(
            f"async ([title]) => {{ {_IN_PAGE} return (await fieldOf(title)).querySelector('.nl-ways .nl-main'); }}",
            [self._title],
        ).as_element()
        button.click()
        return self.verdict(before)

    def verdict(self, before: str | None = None) -> dict[str, Any]:
        """Wait for a verdict, and give it as data."""
        said = self._ask(
            """const new_one = () => { const said = saidOf(key); return said !== more[0] && said; };
            return until(new_one, `a verdict on ${key}`, more[1]);""",
            before,
            browser.CELL_SECONDS * 1000,
        )
        return dict(json.loads(said)[1])

    def _said(self) -> str | None:
        """The count of runs of the checking cell and its data; None before there is any."""
        return self._ask("return saidOf(key);")  # type: ignore[no-any-return]

    def source(self) -> str:
        """The text of its answer's cell."""
        return str(self._ask("return sourceOf(key);"))


def answer_for(question: Question, student: str = "") -> Any:
    """Give the right answer as it is typed or picked."""
    value = right(question.key, student)
    if isinstance(question, Table):
        cells = question.cells(judging.draw(question, student))
        units = {label: getattr(cell, "unit", "") for label, cell in cells.items()}
        return {n: value[n] if isinstance(cell, Choice) else typed(value[n], units[n]) for n, cell in cells.items()}
    if isinstance(question, FilledPlan):
        return {label: typed(value[label]) for label in question.blanks}
    return typed(value, getattr(question, "unit", ""))


def half_way(root: Path) -> None:
    """Write the journal of a learner half way through the second lesson, some of it due today."""
    first, second = list(LESSONS.values())[:2]
    keys = [*((9, key) for key in first.questions), *((2, key) for key in second.questions[:11])]
    told = []
    for number, (days, key) in enumerate(keys):
        outcome = "PASS" if days == 9 or number % 4 else "SLIP"
        tried = {"kind": "try", "key": key, "outcome": outcome, "share": float(outcome == "PASS")}
        told.append(json.dumps({"when_s": time.time() - 86_400 * days + number, **tried}) + "\n")
    (root / progress.FILE_NAME).write_text("".join(told), encoding="utf-8")


def pictures(folder: Path) -> None:
    """Take the two pictures of the page that the README shows."""
    with tempfile.TemporaryDirectory() as place, course(Path(place)) as server:
        half_way(Path(place))
        with server.page("start.ipynb", 1120, 1080, ready=False) as page:
            page.locator("[data-start=ready]").wait_for()
            page.screenshot(path=folder / "start-page.png")
        (Path(place) / progress.FILE_NAME).unlink()
        with server.page("station-passage/station-passage.ipynb", 1120, 760, ready=False) as page:
            page.locator(READY).wait_for()
            card = Card(page, "sp-recall-course")
            card.show()
            card.fill(typed(right("sp-recall-course"), "degrees magnetic"))
            card.check()
            page.wait_for_timeout(1000)
            page.screenshot(path=folder / "question.png")


if __name__ == "__main__":
    pictures(Path(__file__).resolve().parents[1] / "lib" / "pictures")
