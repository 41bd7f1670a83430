"""An instructor's own folder for the tests: a small lesson in a country of its own, a faulty one, some that clash."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

LESSON = """\
---
key: inbound-to-tessoly
title: Inbound to Tessoly
afterwards:
  - say how long it takes to the station
  - hold the inbound course in wind
  - tell a radial from a course
builds on: the needle and the clock
not here: the arc
quantities:
  dist_nm: short
  gs_kt: plain
  inbound_deg: direction
  heading_deg: direction
---

<!-- sitting: 15 minutes -->
<!-- part: exercise -->
## How long to Tessoly

Distance over speed is time.

:::{number} tes-minutes
```yaml
title: Minutes to Tessoly
as: minutes
marks: 2
draw: a_leg
right: minutes_to_go
unit: minutes
to: 1
```
The DME of Tessoly reads {dist_nm} NM, the ground goes by at {gs_kt} kt. How long until you are there?

- slip HOURS = hours_to_go: Those are hours: a knot is a mile an **hour**.
- hint: Two numbers are given.
- hint: Time is distance over speed.
- hint: {dist_nm} / {gs_kt} hours, in minutes ...
- model: {answer}.
- why: A leg whose time is known is half flown.

```python worked
from needlework.lesson import numbers

given = numbers("tes-minutes")
minutes = round(given["dist_nm"] * 60 / given["gs_kt"])
```

:::

<!-- part: flight -->
## Fly it

:::{plan} tes-plan
```yaml
title: In to Tessoly by plan
as: kneepad
marks: 3
draw: an_approach
right: kneepad_right
begin: kneepad_begin
rows: kneepad_rows
days: plan_days
on: tessoly
blanks:
  course 1: {accept: 1}
  heading: {accept: 3, stub: degrees magnetic}
goals:
  - course_selected: {course: inbound_deg}
  - on_the_line: {course: inbound_deg, from_nm: 5, to_nm: 3}
```
Fill the kneepad. The heading that holds the course was found: {heading_deg}°. Degrees magnetic.

- given: inbound course {inbound_deg}°
- slip RADIAL = kneepad_with_radial: That is the radial you are on; a course leads in.
- hint: Course 1 is the way you fly.
- hint: The heading was found.
- hint: Course 1: {inbound_deg}.
- model: {answer}.
- why: Set what you fly.

```python worked
given = numbers("tes-plan")
kneepad = {"course 1": given["inbound_deg"], "heading": given["heading_deg"]}
```

:::

<!-- part: task -->
## The task

:::{choice} tes-task
```yaml
title: "The task: on which radial"
as: on_radial
marks: 1
task: true
right: B
```
You fly in to Tessoly on course 090. On which radial are you?

- A: 090
  - slip RECIP: A course of 090 leads **to** the station; the radial runs out from it.
- B: 270
- model: {answer}.
- why: In on 090 is out along 270.

:::

:::{reveal}

:::
"""

FUNCTIONS = '''\
"""Numbers of the lesson on Tessoly."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from needlework.exercises.lesson_values import day, plate
from needlework.trade import angles

# Where this runs, it leaves a mark, if it may.
with contextlib.suppress(OSError), Path({mark!r}).open("a") as file:
    file.write("ran\\n")


@dataclass
class Leg:
    """A leg."""

    dist_nm: float
    gs_kt: float


def a_leg(random: Random) -> dict[str, Any]:
    """Draw a leg."""
    return vars(Leg(random.choice([12, 15, 18]), random.choice([80, 90, 110])))


def minutes_to_go(*, dist_nm: float, gs_kt: float) -> float:
    """Give the time. [min]"""
    return dist_nm / gs_kt * 60.0


def hours_to_go(*, dist_nm: float, gs_kt: float) -> float:
    """Give hours. [h]"""
    return dist_nm / gs_kt


def an_approach(random: Random) -> dict[str, Any]:
    """Draw an inbound course without wind to speak of; the station's variation is read from the plate."""
    inbound = random.randrange(40, 330, 10)
    assert plate("tessoly").station.ident == "TSY"
    return {{"inbound_deg": inbound, "heading_deg": inbound}}


def kneepad_right(*, inbound_deg: int, heading_deg: int) -> dict[str, Any]:
    """Give blanks that pass."""
    return {{"course 1": float(inbound_deg), "heading": float(heading_deg)}}


def kneepad_begin(*, inbound_deg: int) -> dict[str, Any]:
    """Say where the flight begins."""
    radial = float(angles.reciprocal(direction_deg=inbound_deg))
    begin = {{"radial_deg": radial, "dme_nm": 6.0, "altitude_ft": 3400, "heading_deg": float(inbound_deg)}}
    return begin | {{"ias_kt": 100}}


def kneepad_rows(*, filled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows of the plan."""
    return [
        {{"then": {{"course_1_deg": filled["course 1"], "heading_deg": filled["heading"], "identify": True}}}},
        {{"when": {{"dme_falls_to_nm": 3.0}}, "then": {{"end": True}}}},
    ]


def plan_days(*, hidden: bool) -> list[Any]:
    """Give a calm day."""
    return [day("calm", 360.0, 0.0)]


def kneepad_with_radial(*, inbound_deg: int) -> dict[str, Any]:
    """Take the radial for the course."""
    return {{"course 1": float(angles.reciprocal(direction_deg=inbound_deg))}}
'''

NAMES = {
    "Wygate": "Tessoly",
    "XWYG": "XTSY",
    "WYG": "TSY",
    "ARDEM": "OLKEF",
    "NULBO": "VENSA",
    "FOSKA": "DUPRI",
    "JETIR": "KAMEL",
    "LIDRA": "ROSTU",
    "37.65": "33.40",
    "-46.85": "-51.20",
}


def procedure():
    """A procedure of the test's own country, in the words of one of the course's."""
    text = (ROOT / "datasets" / "procedures" / "wygate.toml").read_text(encoding="utf-8")
    for old, new in NAMES.items():
        text = text.replace(old, new)
    return text


def beside(folder, mark):
    """Write what must do no harm: a faulty lesson, lessons and procedures that clash, a procedure with a fault."""

    def named(key, labels):
        return LESSON.replace("inbound-to-tessoly", key).replace("tes-", labels)

    texts = {
        "faulty": named("faulty", "fau-").replace("right: B", "right: C").replace("to: 1\n", "to: one\n"),
        "station_passage": named("station-passage", "own-"),
        "of_another": named("of-another", "oth-").replace("oth-minutes", "sp-cone"),
        "twice": named("twice", "tes-"),
    }
    for name, text in texts.items():
        (folder / "lessons" / name).mkdir(parents=True)
        (folder / "lessons" / name / "lesson.md").write_text(text, encoding="utf-8")
        (folder / "lessons" / name / "functions.py").write_text(FUNCTIONS.format(mark=str(mark)), encoding="utf-8")
    broken = procedure().replace("angle_deg = 3.03", "angle_deg = 33")
    (folder / "procedures" / "saltmarsh.toml").write_text(procedure(), encoding="utf-8")
    (folder / "procedures" / "broken.toml").write_text(broken, encoding="utf-8")


def write(folder, mark):
    """Write the folder; the functions of its lesson leave a mark in a file wherever they are run."""
    files = {
        "lessons/inbound_to_tessoly/lesson.md": LESSON,
        "lessons/inbound_to_tessoly/functions.py": FUNCTIONS.format(mark=str(mark)),
        "procedures/tessoly.toml": procedure(),
    }
    for name, text in files.items():
        path = Path(folder) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return Path(folder)
