"""A lesson of one of each kind in the form of the course's lessons, for the tests of its reader."""

from pathlib import Path

LESSON = """\
---
key: tiny
title: A tiny lesson
afterwards:
  - turn round
  - stay out of the way
  - say why
builds on: nothing
not here: everything else
quantities:
  radial_deg: direction
  course_deg: direction
  height_ft: feet
  dist_nm: tenths
  gs_kt: plain
  side: plain
  far: plain
---
<!-- sitting: 20 minutes -->

<!-- part: recall -->
## Recall
Two things, and a *star*.

:::{number} t-course
```yaml
title: "Course: the other end"
as: course
draw: a_radial
right: other_end
unit: degrees magnetic
to: 1
accept: 1.5
```
You are on radial {radial_deg}. Which course leads straight in to the
station?

- slip RECIP = radial_deg: That is radial {radial_deg} itself: it says where you **are**.
- slip SQUARE = a_quarter: A quarter round.
  Which end is in?
- hint: Sketch it.
- hint: Add or take away 180.
- hint: {radial_deg} and 180 make ...
- model: {answer}: the other end of {radial_deg}.
- why: In is the other end of out.

```python worked
from needlework.lesson import numbers

course = (numbers("t-course")["radial_deg"] + 180) % 360
```

:::

:::{choice} t-flag
```yaml
title: What the flag compares
as: flag
right: B
```
You turn round on the spot. What does the flag show?

- A: the other one
  - slip HEADING: The flag does not know the heading.
- B: the same
- C: nothing
  - slip FAULT: Turning takes no signal away.
- hint: Place or heading?
- hint: It compares place and course.
- hint: Neither has changed, so ...
- model: {answer}, the same.
- why: Heading is in neither.

:::

<!-- sitting: 15 minutes -->
<!-- part: exercise -->
## Now you

::::{table} t-places
```yaml
title: Flags
as: flags
marks: 2
draw: places
listed: 4
```
Which flag does each place show?

:::{choice} radial {radial_deg}, course {course_deg}
```yaml
for: {places: [radial_deg, course_deg]}
options: [TO, FROM]
right: the_flag
slips by: which_mistake
derive: {far: how_far}
```
- slip BEHIND: You chose {chosen}; the station is {far}.
- slip AHEAD: You chose {chosen}; it lies ahead.

:::

:::{number} miles to {radial_deg}
```yaml
for: {places: [radial_deg, course_deg]}
right: number
unit: NM
to: 1
with: {share: 3}
```
- slip DOUBLE = times: That is twice as far.
- look: Count.

:::

- given: ground speed {gs_kt} kt
- hint: Sketch it.
- hint: Within a right angle of the course it is FROM.
- hint: Take the first.
- model: {answer}.
- why: Place and course decide.

```python worked
flags = {}
```

::::

::::{table} t-band
```yaml
title: How much
as: how_much
draw: a_height
stub: ""
```
How much do you change?

:::{number} outside
```yaml
right: height_ft
unit: ft
to: 10
passes: [800, most]
slips by: how_wrong
example: 700
```
- slip FEW = 700: Too little.
- slip MANY/much = 2000: Too much.
- slip MANY/far = 9000: Far too much.
- look: Look up.

:::

:::{number} also
```yaml
right: 30
unit: degrees
to: 1
also: {from: 20}
sound: is_low
```
- slip NONE = 0: None.
- also: Twenty is taught, too.
- look: Look down.

:::

:::{number} again
```yaml
like: t-course
right: height_ft
unit: ft
with: {radial_deg: height_ft}
```
- slip RECIP = 5: Five.

:::

- hint: One.
- hint: Two.
- hint: Three.
- model: {answer}.
- why: So.

```python worked
how_much = {"outside": 900, "also": 30, "again": 900}
```

::::

:::{order} t-order
```yaml
title: In order
as: actions
right: CAB
```
Put them in order.

- A: turn
- B: talk
- C: time
- because CA: The clock first.
- slip TALK = BCA: Talking comes last.
- hint: Which cannot wait?
- hint: Time, turn, talk.
- hint: C first.
- model: {answer}.
- why: Time cannot be had later.

:::

:::{rule} t-rule
```yaml
title: A rule
as: rule
marks: 3
names: [h]
right: ten_times
case: a_case
within: 10 %
example: 10 * h
unit: seconds
stub: for example "2 * h"
```
Write the rule.

- slip HALF = 5 * h: Half of it.
- hint: Look.
- hint: Times.
- hint: Ten.
- model: {answer}.
- why: Ten times.

:::

<!-- part: task -->
## The task
No hints.

:::{number} t-task
```yaml
title: The task
as: task_answer
marks: 4
task: true
draw: a_radial
right: other_end
unit: degrees magnetic
to: 1
```
Once more from radial {radial_deg}.

- slip RECIP = radial_deg: The radial itself.
- model: {answer}.
- why: So.
- look: The other end.

```python worked
task_answer = (numbers("t-task")["radial_deg"] + 180) % 360
```

:::

:::{reveal}

:::
"""

FUNCTIONS = '''\
"""Numbers of the tiny lesson."""

from needlework.trade.angles import reciprocal


def a_radial(random):
    """Draw a radial."""
    return {"radial_deg": random.randrange(20, 160, 10)}


def other_end(*, radial_deg):
    """The other end of the line."""
    return float(reciprocal(direction_deg=radial_deg))


def a_quarter(*, radial_deg):
    """A quarter round; due south it is none of the mistakes."""
    return None if radial_deg == 90 else (radial_deg + 90.0) % 360


def places(random):
    """Draw two places on opposite sides."""
    radial = random.randrange(20, 160, 10)
    return {"places": [(radial, radial), (radial + 180, radial)], "gs_kt": 90}


def the_flag(*, radial_deg, course_deg):
    """The flag at a place."""
    return "FROM" if radial_deg == course_deg else "TO"


def which_mistake(*, answer, radial_deg):
    """A wrong flag, by what it says."""
    return "BEHIND" if answer == "TO" else "AHEAD"


def how_far(*, radial_deg):
    """In words."""
    return "behind you"


def times(*, number, share):
    """So many times the number of the row."""
    return float(number * share)


def a_height(random):
    """Draw a height."""
    return {"height_ft": random.choice([900, 1000, 1100])}


def most(*, height_ft):
    """The end of the band."""
    return height_ft + 200.0


def how_wrong(*, answer, height_ft):
    """By side and size."""
    if answer < 800:
        return "FEW"
    return "MANY/much" if answer < 3000 else "MANY/far"


def is_low(*, height_ft):
    """Leave out the highest."""
    return height_ft < 1100


def ten_times(*, h):
    """Ten times."""
    return 10.0 * h


def a_case(random):
    """Draw one case."""
    return {"h": random.randrange(10, 100)}
'''


def write(folder, lesson=LESSON, functions=FUNCTIONS):
    """Write the lesson into a folder named ``tiny`` and give that folder."""
    made = Path(folder) / "tiny"
    made.mkdir(parents=True, exist_ok=True)
    (made / "lesson.md").write_text(lesson, encoding="utf-8")
    (made / "functions.py").write_text(functions, encoding="utf-8")
    return made
