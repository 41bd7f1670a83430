"""How fast a slider answers and a panel flies, in a real JupyterLab and Chromium: prints times and ratios.

Run it as ``python tests/benchmarks/sliders.py``. Four things are moved in the same notebook, in the same run, on
the course's own server: the what-if on station passage, the same picture drawn by matplotlib through
``interactive_output``, a bare label written by the kernel (the floor for whatever the kernel computes), and the live
panel at ten times the speed.
A time runs from the key press on the slider to the frame after the picture has changed. The three take turns, so
that whatever else the machine does weighs on all alike.

Then the same with 100 ms of delay on the connection, each way: a small relay between browser and server holds
back everything it passes on. Besides the ratios it is measured how a picture follows a hand that does not wait: a
slider is moved 120 times in three seconds, and what is counted is how many pictures came, and how long after the
hand had come to rest the last place was shown.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import sys
import tempfile
import threading
from pathlib import Path
from typing import Any

import psutil

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import browser
from needlework.course import command
from needlework.showing import faces

REPEATS = int(os.environ.get("NEEDLEWORK_REPEATS", "40"))
FLIGHT_SECONDS = 8
DELAY_S = 0.1

# The same picture: the plan with its lines, cone and words, the instrument with its dots, four readings, a sentence.
MATPLOTLIB = """%matplotlib inline
import ipywidgets as widgets
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.patches import Circle, FancyBboxPatch
def draw(x):
    places = [["plan", "face", "face"], ["plan", "dme", "time"], ["plan", "heading", "cone"]]
    figure, axes = plt.subplot_mosaic(places, figsize=(9, 5), width_ratios=(5, 2, 2), height_ratios=(3, 1, 1))
    for axis in axes.values():
        axis.set(xticks=[], yticks=[])
    plan, face = axes["plan"], axes["face"]
    plan.set(xlim=(-2, 2), ylim=(-2, 2), aspect="equal")
    along = np.linspace(-3, 3, 200)
    plan.plot(along * 0.56, along * 0.83, "--", color="tab:blue", lw=2)
    plan.plot(along * 0.56 - 0.1, along * 0.83, ":", color="0.3")
    plan.add_patch(Circle((0, 0), 0.5, fc="linen", ec="chocolate", ls="--"))
    plan.add_patch(Circle((0, 0), 0.08, fc="white", ec="black"))
    plan.plot(-x / 60 * 0.56, -x / 60 * 0.83, "kx", ms=14, mew=3)
    plan.annotate("wind 304/15", (1.6, 1.5), (0.6, 1.8), color="chocolate", arrowprops={"arrowstyle": "->"})
    plan.plot([-1.9, -0.9], [-1.8, -1.8], "k", lw=2)
    words = ((-1.9, -1.7, "1 NM"), (0.1, -0.05, "OVK"), (0.4, 0.4, "cone"), (-1.8, 1.8, "magnetic north"))
    for left, up, word in words:
        plan.text(left, up, word)
    face.set(xlim=(-6, 6), ylim=(-3, 3))
    for dot in range(-5, 6):
        face.add_patch(Circle((dot, 0), 0.3 if dot == 0 else 0.12, fc="none", ec="black"))
    face.plot([x / 40, x / 40], [-1, 1], "k", lw=4)
    face.add_patch(FancyBboxPatch((-1.5, -2.6), 3, 0.9, fc="none"))
    words = ((-5.5, 2.3, "VOR OVK"), (1, 2.3, "course 214"), (-0.5, -2.4, "TO"), (-5, -2, "10"), (4, -2, "10"))
    for left, up, word in words:
        face.text(left, up, word)
    for name in ("dme", "time", "heading", "cone"):
        axes[name].text(0.1, 0.7, name)
        axes[name].text(0.1, 0.2, f"{x / 40:.1f}", size=16)
    figure.suptitle(f"{x} s from the station: needle {x / 40:.1f} dots left, flag TO, heading 223", y=0.02)
    plt.show()
slider = widgets.IntSlider(description="matplotlib", value=0, min=-100, max=100)
widgets.VBox([slider, widgets.interactive_output(draw, {"x": slider})])"""
LABEL = """import ipywidgets as widgets
moved, label = widgets.IntSlider(description="label", value=0, min=-100, max=300), widgets.Label("0")
label.add_class("bench-label")
moved.observe(lambda change: setattr(label, "value", str(change["new"])), "value")
widgets.VBox([moved, label])"""
PASSAGE = "from needlework import sliders\nsliders.station_passage()"
FLIGHT = """import os
from needlework.showing import panel
print("pid", os.getpid())
panel.fly("bench", "Fly.", day="Breeze", course_1_deg=214, course_2_deg=304,
    start={"radial_deg": 34, "dme_nm": 15, "altitude_ft": 3600, "heading_deg": 214, "ias_kt": 98})"""

# Presses a key on a slider's handle and waits for the frame after the watched part of the page has changed.
MOVE = """([cell, watched, key]) => new Promise((done, fail) => {
  const root = document.querySelectorAll('.jp-Notebook .jp-Cell')[cell];
  const handle = root.querySelector('.noUi-handle');
  const target = root.querySelector(watched.find);
  handle.focus();
  let begin = 0;
  const painted = () => requestAnimationFrame(() => setTimeout(() => done(performance.now() - begin), 0));
  const observer = new MutationObserver(() => {
    const image = watched.image && root.querySelector('img');
    if (watched.image && !image) return;
    observer.disconnect();
    if (image && !image.complete) image.addEventListener('load', painted); else painted();
  });
  observer.observe(target, {subtree: true, childList: true, attributes: true, characterData: true});
  setTimeout(() => { observer.disconnect(); fail(new Error('nothing moved')); }, 15000);
  begin = performance.now();
  handle.dispatchEvent(new KeyboardEvent('keydown', {key, code: key, bubbles: true, cancelable: true}));
})"""
FRAMES = """(seconds) => new Promise((done) => {
  const watched = ['dme', 'flown', 'needle 1', 'altimeter', 'airspeed', 'heading', 'needle 2']
    .map((name) => document.querySelector(`[data-face="${name}"]`));
  let frames = 0, all_frames = 0, moved = false;
  const observer = new MutationObserver(() => { moved = true; });
  const all = {subtree: true, attributes: true, characterData: true, childList: true};
  watched.forEach((face) => observer.observe(face, all));
  const end = performance.now() + seconds * 1000;
  const tick = () => {
    all_frames += 1;
    if (moved) { frames += 1; moved = false; }
    if (performance.now() < end) requestAnimationFrame(tick);
    else { observer.disconnect(); done([frames / seconds, all_frames / seconds]); }
  };
  requestAnimationFrame(tick);
})"""


# Moves the last slider of a cell a place every 25 ms without waiting, and watches what the picture says.
HAND = """([cell, moves]) => new Promise((done) => {
  const root = document.querySelectorAll('.jp-Notebook .jp-Cell')[cell];
  const handle = [...root.querySelectorAll('.noUi-handle')].at(-1);
  const readout = [...root.querySelectorAll('.widget-readout')].at(-1);
  const said = root.querySelector('.nw-sentence') ?? root.querySelector('.bench-label');
  handle.focus();
  let pictures = 0, last = 0, rested = 0, moved = 0;
  const observer = new MutationObserver(() => { pictures += 1; last = performance.now(); });
  observer.observe(said, {subtree: true, childList: true, characterData: true});
  const push = setInterval(() => {
    handle.dispatchEvent(new KeyboardEvent('keydown', {key: 'ArrowRight', code: 'ArrowRight', bubbles: true}));
    moved += 1;
    if (moved < moves) return;
    clearInterval(push);
    rested = performance.now();
    setTimeout(() => {
      observer.disconnect();
      done({pictures, late: last - rested, place: readout.textContent, said: said.textContent});
    }, 4000);
  }, 25);
})"""


class Relay:
    """Passes on what comes and goes between a browser and a server, ``delay_s`` later."""

    def __init__(self, port: int) -> None:
        self.delay_s = 0.0
        self._to = port
        self._loop = asyncio.new_event_loop()
        self._server = self._loop.run_until_complete(asyncio.start_server(self._met, "127.0.0.1", 0))
        self.address = f"127.0.0.1:{self._server.sockets[0].getsockname()[1]}"
        threading.Thread(target=self._loop.run_forever, daemon=True).start()

    async def _met(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        there, back = await asyncio.open_connection("127.0.0.1", self._to)
        await asyncio.gather(self._passed(reader, back), self._passed(there, writer))

    async def _passed(self, source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
        held: asyncio.Queue[tuple[float, bytes]] = asyncio.Queue()

        async def deliver() -> None:
            while True:
                due, data = await held.get()
                await asyncio.sleep(max(0.0, due - self._loop.time()))
                if not data:
                    target.close()
                    return
                target.write(data)

        delivering = asyncio.ensure_future(deliver())
        try:
            while data := await source.read(65536):
                held.put_nowait((self._loop.time() + self.delay_s, data))
        except ConnectionError:
            pass
        held.put_nowait((self._loop.time() + self.delay_s, b""))
        await delivering


WATCHED: dict[int, dict[str, object]] = {
    0: {"find": ".jp-OutputArea-output .jp-OutputArea, .jupyter-widgets-output-area", "image": True},
    1: {"find": ".bench-label"},
    2: {"find": ".nw-stage"},
}


def moves_ms(page: browser.Page, repeats: int) -> list[list[float]]:
    """Move three sliders to and fro by turns; the first two moves of each warm up and do not count. [ms]"""
    times: list[list[float]] = [[], [], []]
    for number in range(repeats + 2):
        key = "ArrowRight" if number % 2 else "ArrowLeft"
        for cell, watched in WATCHED.items():
            times[cell].append(page.evaluate(MOVE, [cell, watched, key]))
            page.wait_for_timeout(120)
    return [each[2:] for each in times]


def line(name: str, times: list[float]) -> str:
    """One line of the table."""
    ordered = sorted(times)
    p95 = ordered[int(0.95 * (len(ordered) - 1))]
    return f"{name:<34} median {statistics.median(times):7.1f} ms   95 % {p95:7.1f} ms"


def ratios(picture: list[float], label: list[float], passage: list[float]) -> None:
    """Print three lines and two ratios."""
    print(line("matplotlib, interactive_output", picture))
    print(line("bare kernel round trip (a label)", label))
    print(line("station passage, live picture", passage))
    middle = statistics.median
    print(f"live picture against matplotlib      {middle(picture) / middle(passage):6.1f} times faster (wanted: 5)")
    print(f"live picture against round trip      {middle(passage) / middle(label):6.2f} times as long (wanted: 1.2)")


def delayed(page: browser.Page) -> dict[int, dict[str, Any]]:
    """Let a hand move the label's slider and the picture's without waiting for either."""
    return {cell: page.evaluate(HAND, [cell, 120]) for cell in (1, 2)}


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        browser.write_notebook(folder / "bench.ipynb", MATPLOTLIB, LABEL, PASSAGE, FLIGHT)
        with browser.lab(folder, environment=command.jupyter_environment(folder)) as server:
            relay = Relay(int(server.address.rpartition(":")[2]))
            server.address = relay.address
            with server.page("bench.ipynb", 1600, 1000) as page:
                page.run_all()
                page.locator(".nw-board[tabindex]").wait_for()
                # As round a lesson: JupyterLab measures a toolbar that is seen each time the kernel is busy.
                page.evaluate("() => window.jupyterapp.shell.currentWidget.toolbar.hide()")
                page.wait_for_timeout(3000)
                quick = moves_ms(page, REPEATS)
                frames, most, cores = flown(page)
                relay.delay_s = DELAY_S
                far = moves_ms(page, REPEATS // 2)
                hand = delayed(page)
                relay.delay_s = 0.0
                outside, errors = list(page.outside), list(page.errors)

    weight = sum(path.stat().st_size for path in faces._HERE.iterdir() if path.suffix in (".js", ".css"))
    ratios(*quick)
    print(f"\nwith {DELAY_S * 1000:.0f} ms of delay each way:")
    ratios(*far)
    for cell, name in ((1, "label"), (2, "live picture")):
        seen = hand[cell]
        print(
            f"120 moves in 3 s, {name:<12}       {seen['pictures']:6d} pictures; the last {seen['late']:.0f} ms"
            f" after the hand rested, at {seen['place']!r}: {seen['said'][:28]!r}"
        )
    print(f"\npanel at x10                         {frames:6.1f} frames a second (wanted: 30)")
    print(
        f"frames the browser had to give       {most:6.1f} a second; the panel moved in {frames / most:.0%} of them"
    )
    print(f"kernel while it flies at x10         {cores:6.2f} cores (wanted: under 0.5)")
    print(f"page weight of the widgets           {weight / 1000:6.1f} kB (wanted: under 100)")
    print(f"requests to outside addresses        {len(outside):6d} (wanted: 0) {outside or ''}")
    print(f"console errors                       {len(errors):6d} (wanted: 0) {errors or ''}")


def flown(page: browser.Page) -> tuple[float, float, float]:
    """Fly the panel at ten times the speed: frames in which it moved, frames there were, cores of the kernel."""
    pid = int(page.cell(3).locator("pre").first.inner_text().split()[1])
    page.locator(".nw-board[tabindex]").focus()
    page.keyboard.press("Space")
    page.keyboard.press("0")
    # A turn that lasts through the whole measurement, so that there is something to move in every frame.
    for _ in range(34):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(500)
    kernel = psutil.Process(pid)
    before = sum(kernel.cpu_times()[:2])
    frames, most = page.evaluate(FRAMES, FLIGHT_SECONDS)
    cores = (sum(kernel.cpu_times()[:2]) - before) / FLIGHT_SECONDS
    page.keyboard.press("Space")
    return frames, most, cores


if __name__ == "__main__":
    main()
