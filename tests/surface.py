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
from needlework.exercises.kinds import Choice, Order, Question, Table
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


class Card:
    """One question of an open lesson: its field, its button, its verdict."""

    def __init__(self, page: Any, key: str, again: bool = False) -> None:
        self.page, self.key = page, key
        self.field = page.locator(f".nl-field:has(#nl-title-{'again-' if again else ''}{key})")

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
        question = QUESTIONS[self.key]
        if isinstance(answer, Mapping):
            controls = self.field.locator(".nl-table > .nl-control")
            for place, value in enumerate(answer.values()):
                self._one(controls.nth(place), value)
        elif isinstance(question, Order):
            self._order(answer)
        else:
            self._one(self.field.locator(".nl-control").first, answer)

    def _one(self, control: Any, value: Any) -> None:
        radio = control.locator(f'input[type=radio][value="{value}"]')
        if radio.count():
            # A picture that comes late moves what stands below it: the click then meets nothing.
            radio.evaluate("each => each.click()")
        else:
            control.locator("input[type=text]").fill(str(value))

    def _order(self, wanted: str) -> None:
        for place, letter in enumerate(wanted):
            letters = [text[0] for text in self.field.locator(".nl-cards li b").all_inner_texts()]
            for _ in range(letters.index(letter) - place):
                # As above: a late picture would move the arrow away between press and release.
                self.field.get_by_label(f"Move {letter} up").evaluate("each => each.click()")

    def sources(self, answers: list[list[str]]) -> list[str]:
        """Put answers in one after the other, a text for each control, and give the text of the cell after each."""
        return list(
            self.page.evaluate(
                """([key, answers]) => {
                const field = document.getElementById(`nl-title-${key}`).closest('.nl-field');
                const cell = window.jupyterapp.shell.currentWidget.content.widgets
                  .find((each) => each.model.sharedModel.getSource().includes(`ask("${key}")`));
                const controls = [...field.querySelectorAll('.nl-control')];
                const told = (node, name) => node.dispatchEvent(new Event(name, { bubbles: true }));
                const order = (cards, letter, place) => {
                  const letters = () => [...cards.children].map((card) => card.querySelector('b').textContent);
                  for (let at = letters().indexOf(letter); at > place; at--) {
                    field.querySelector(`[aria-label="Move ${letter} up"]`).click();
                  }
                };
                return answers.map((texts) => {
                  texts.forEach((text, n) => {
                    const control = controls[n], cards = control.querySelector('.nl-cards');
                    const input = control.querySelector('input[type=text]');
                    const radios = [...control.querySelectorAll("input[type=radio]")];
                    const radio = radios.find((each) => each.value === text);
                    if (cards) [...text].forEach((letter, place) => order(cards, letter, place));
                    else if (radio) radio.click();
                    else { input.value = text; told(input, 'input'); told(input, 'change'); }
                  });
                  return cell.model.sharedModel.getSource();
                }); }""",
                [self.key, answers],
            )
        )

    def check(self) -> dict[str, Any]:
        """Ask for the verdict, and give what it says as data."""
        before = self._said()
        self.field.locator(".nl-ways .nl-main").click()
        return self.verdict(before)

    def verdict(self, before: Any = None) -> dict[str, Any]:
        """Wait for a verdict, and give it as data."""
        deadline = time.monotonic() + browser.CELL_SECONDS
        while time.monotonic() < deadline:
            said = self._said()
            if said and said != before:
                return dict(json.loads(said[1]))
            self.page.wait_for_timeout(20)
        raise AssertionError(f"no verdict on {self.key}")

    def _said(self) -> Any:
        """The count of runs of the checking cell and its data; None before there is any."""
        return self.page.evaluate(
            """key => { const notebook = window.jupyterapp.shell.currentWidget.content;
            // To read every cell's text at every look costs more than all the rest.
            const known = (notebook.checksOfTest ??= {});
            const model = (known[key] ??= notebook.widgets.map((cell) => cell.model).find((each) =>
              each.type === 'code' && each.sharedModel.getSource().startsWith(`check("${key}"`)));
            for (let n = 0; n < (model?.outputs.length ?? 0); n++) {
              const said = model.outputs.get(n).data['application/vnd.needlework+json'];
              if (said && (said.verdict || said.answer) && model.executionState !== 'running')
                return [model.executionCount, JSON.stringify(said)];
            } return null; }""",
            self.key,
        )

    def source(self) -> str:
        """The text of its answer's cell."""
        return str(
            self.page.evaluate(
                """key => { for (const cell of window.jupyterapp.shell.currentWidget.content.widgets) {
                const source = cell.model.sharedModel.getSource();
                if (source.includes(`ask("${key}")`)) return source; } return ''; }""",
                self.key,
            )
        )


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
