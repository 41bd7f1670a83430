"""How long a learner waits: a lesson opened, opened again, from Enter to the verdict, beside the notebook's cells.

Run ``python tests/benchmarks/waiting.py [LESSON]`` on a quiet machine: it needs Chromium, and takes a minute or two.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import surface
from needlework.exercises.catalogue import LESSONS, QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand

_BY_FIELD = """key => new Promise(resolve => {
  const field = document.getElementById(`nl-title-${key}`).closest('.nl-field');
  const panel = window.jupyterapp.shell.currentWidget;
  const text = each => each.model.sharedModel.getSource();
  const cell = [...panel.content.widgets].find(each => text(each).startsWith(`check("${key}"`));
  const began = performance.now(), was = cell.model.outputs.get(0);
  const look = () => {
    const first = cell.model.outputs.get(0);
    if (first && first !== was && first.data['application/vnd.needlework+json'])
      requestAnimationFrame(() => resolve(performance.now() - began));
    else setTimeout(look, 2);
  };
  field.querySelector('.nl-ways .nl-main').click();
  look();
})"""
_BY_CELLS = """key => (async () => {
  const panel = window.jupyterapp.shell.currentWidget, { commands } = window.jupyterapp;
  const text = each => each.model.sharedModel.getSource();
  const at = [...panel.content.widgets].findIndex(each => text(each).startsWith(`ask("${key}")`));
  panel.content.activeCellIndex = at;
  const began = performance.now();
  await commands.execute('notebook:run-cell');
  panel.content.activeCellIndex = at + 1;
  await commands.execute('notebook:run-cell');
  return performance.now() - began;
})()"""


def main(lesson: str = "station-passage") -> None:
    """Print every figure in one run."""
    with tempfile.TemporaryDirectory() as place, surface.course(Path(place)) as server:
        # As a learner does: the browser runs, with the start page in it.
        with server.page("start.ipynb", ready=False) as page:
            page.locator("[data-start=ready]").wait_for()
            row = page.locator(".nl-lessons > li", has_text=LESSONS[lesson].title).first
            began = time.monotonic()
            row.locator(".nl-sitting, button").first.click()
            page.locator(".nl-ask .nl-field").locator("visible=true").first.wait_for()
            first_s = time.monotonic() - began
            page.locator(surface.READY).wait_for()
            print(
                f"opened from the start page: first question after {first_s:.1f} s,"
                f" all of it after {time.monotonic() - began:.1f} s"
            )
        surface.again(server.root, lesson)
        for words in ("opened fresh by its address, JupyterLab with it", "opened again, its kernel gone"):
            began = time.monotonic()
            with server.page(f"{lesson}/{lesson}.ipynb", ready=False) as page:
                page.locator(".nl-ask .nl-field").locator("visible=true").first.wait_for()
                first_s = time.monotonic() - began
                page.locator(surface.READY).wait_for()
                print(
                    f"{words}: first question after {first_s:.1f} s, all of it after {time.monotonic() - began:.1f} s"
                )
                if words.startswith("opened fresh"):
                    _verdicts(page, lesson)
                page.wait_for_timeout(2000)


def _verdicts(page: object, lesson: str) -> None:
    by_field, by_cells, flown = [], [], []
    for key in LESSONS[lesson].questions:
        question = QUESTIONS[key]
        if isinstance(question, FlownByHand):
            continue
        card = surface.Card(page, key)
        card.show()
        card.fill(surface.answer_for(question))
        fields_ms = page.evaluate(_BY_FIELD, key)  # type: ignore[attr-defined]
        cells_ms = page.evaluate(_BY_CELLS, key)  # type: ignore[attr-defined]
        (flown if isinstance(question, FilledPlan) else by_field).append(fields_ms)
        by_cells.append(cells_ms)
        print(f"  {key:24} field {fields_ms:6.0f} ms   two cells {cells_ms:6.0f} ms")
    median_ms, cells_ms = statistics.median(by_field), statistics.median(by_cells)
    ratio = cells_ms / median_ms
    print(f"Enter to verdict, median: field {median_ms:.0f} ms, two cells {cells_ms:.0f} ms, ratio {ratio:.2f}")
    if flown:
        print(f"filled plans, which are flown: {', '.join(f'{each:.0f} ms' for each in flown)}")


if __name__ == "__main__":
    main(*sys.argv[1:2])
