"""A bank of hand-ins, each made by a few lines, with the marks it must get and what must be said of it.

Every one begins as a copy of *Station passage* with every answer right but the flight, and is then changed. Some are
what students do by mistake, some are right in an unexpected form, some try to get marks, or to do harm.
"""

import copy
import json
import re

from class_maker import about, released, source_of, typed_in
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS

LESSON, STUDENT = "station-passage", "Finch 7"
CONE = "sp-cone"
NAMES = {"sp-cone": "cone_seconds_2", "sp-predict": "half_a_mile_out", "sp-flags": "indications"}


def right_of(key):
    return QUESTIONS[key].right(judging.draw(QUESTIONS[key], STUDENT))


def base():
    """Give the copy with every answer right but the flight."""
    book = typed_in(released(LESSON), STUDENT)
    for cell in book["cells"]:
        if not about(cell).get("solution"):
            continue
        key = about(cell)["grade_id"].removesuffix("-answer")
        if key == "sp-hand":
            continue
        source = source_of(cell)
        name = re.search(r"(?m)^(\w+) = ", source)[1]
        right = right_of(key)
        if key == "sp-flags" and isinstance(right, dict):
            right = list(right.values())
        cell["source"] = source[: source.index(f"{name} = ")] + f"{name} = {right!r}"
    return book


BASE = base()
FULL = sum(QUESTIONS[c["metadata"]["nbgrader"]["grade_id"]].points for c in BASE["cells"] if about(c).get("grade"))
ALL = FULL - QUESTIONS["sp-hand"].points
RIGHT = round(right_of(CONE))
TWO = QUESTIONS[CONE].points


def cell_of(book, name):
    (found,) = (cell for cell in book["cells"] if about(cell).get("grade_id") == name)
    return found


def cone(text):
    """Give a copy whose answer cell of the cone is the question and this text."""
    book = copy.deepcopy(BASE)
    cell_of(book, f"{CONE}-answer")["source"] = f'ask("{CONE}")\n{text}'
    return book


def first(text):
    book = copy.deepcopy(BASE)
    for cell in book["cells"]:
        if "setup" in cell["metadata"].get("tags", ()):
            cell["source"] = source_of(cell).replace(f"student = {STUDENT!r}", text)
    return book


def changed(change):
    book = copy.deepcopy(BASE)
    change(book)
    return book


def own_cell(text, kind="code"):
    def change(book):
        at = next(n for n, c in enumerate(book["cells"]) if about(c).get("grade_id") == "sp-predict-answer")
        cell = {"cell_type": kind, "id": "mine", "metadata": {}, "source": text}
        book["cells"].insert(at, cell | ({"outputs": [], "execution_count": None} if kind == "code" else {}))

    return changed(change)


def twice(name):
    def change(book):
        at = book["cells"].index(cell_of(book, name))
        book["cells"].insert(at + 1, copy.deepcopy(book["cells"][at]) | {"id": "copied"})

    return changed(change)


def without(name):
    return changed(lambda book: book["cells"].remove(cell_of(book, name)))


def kind_of(name, kind):
    return changed(lambda book: cell_of(book, name).update(cell_type=kind))


def text(book):
    return json.dumps(book).encode()


def old_format():
    cells = []
    for cell in BASE["cells"]:
        old = {"cell_type": cell["cell_type"], "metadata": cell["metadata"]}
        if cell["cell_type"] == "code":
            old |= {"input": source_of(cell), "language": "python", "outputs": [], "collapsed": False}
        else:
            old |= {"source": source_of(cell)}
        cells.append(old)
    return text(
        {"nbformat": 3, "nbformat_minor": 0, "metadata": {}, "worksheets": [{"cells": cells, "metadata": {}}]}
    )


def many_outputs(book):
    cell = cell_of(book, f"{CONE}-answer")
    cell["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x"} for _ in range(20_000)]


V = NAMES[CONE]
ANSWER = f"{V} = {RIGHT!r}"


def wrong_and(change):
    """Give a copy whose cone is wrong, and that tries something besides."""

    def both(book):
        cell_of(book, f"{CONE}-answer")["source"] = f'ask("{CONE}")\n{V} = 1'
        change(book)

    return changed(both)


def forged_outputs(book):
    verdict = {"version": 1, "verdict": {"outcome": "pass", "share": 1.0, "marks": TWO}}
    shown = {"application/vnd.needlework+json": verdict, "text/plain": repr(TWO)}
    for name in (CONE, f"{CONE}-answer"):
        result = {"output_type": "execute_result", "execution_count": 1, "metadata": {}, "data": shown}
        cell_of(book, name)["outputs"] = [result, result]


def forged_points(book):
    about(cell_of(book, CONE))["points"] = 99
    book["metadata"] |= {"nbgrader": {"score": FULL}, "needlework": {"marks": FULL}}


def another_mark(book):
    at = book["cells"].index(cell_of(book, CONE))
    book["cells"].insert(at + 1, copy.deepcopy(book["cells"][at]) | {"id": "forged", "source": f"{TWO}"})


def strange_schema(book):
    book["nbformat_minor"] = 99
    for cell in book["cells"]:
        if about(cell):
            about(cell)["schema_version"] = 99


FAIR = {
    "untouched-but-right": BASE,
    "comment": cone(f"{ANSWER}  # seconds, about"),
    "sum": cone(f"{V} = {RIGHT} + 2 - 2"),
    "helper": cone(f"seconds = {RIGHT}\n{V} = seconds"),
    "import-math": cone(f"import math\n{V} = round(math.sqrt({RIGHT} ** 2))"),
    "star-math": cone(f"from math import *\n{V} = floor({RIGHT} + 0.1)"),
    "text-number": cone(f'{V} = "{RIGHT}"'),
    "leading-zero": cone(f"{V} = 0{RIGHT}  # seconds"),
    "with-unit": cone(f"{V} = {RIGHT} s"),
    "text-with-unit": cone(f'{V} = "{RIGHT} seconds"'),
    "minutes-and-seconds": cone(f'{V} = "0:{RIGHT:02d}"'),
    "padded": cone(f'{V} = " 0{RIGHT} "'),
    "if": cone(f"if 3 > 2:\n    {ANSWER}\nelse:\n    {V} = 0"),
    "loop": cone(f"{V} = 0\nfor part in [{RIGHT} - 1, 1]:\n    {V} += part"),
    "comprehension": cone(f"{V} = sum([x for x in ({RIGHT}, 0) if x])"),
    "comma": cone(f"{V} = {RIGHT},"),
    "annotated": cone(f"{V}: int = {RIGHT}"),
    "printed": cone(f"{ANSWER}\nprint({V})"),
    "checked-again": cone(f'{ANSWER}\ncheck("{CONE}", {V})'),
    "table": cone(f"given = {{'a': {RIGHT}}}\n{V} = given['a']"),
    "numbers": cone(
        f"from needlework.lesson import numbers\ngiven = numbers('{CONE}')\n{V} = {RIGHT} + 0 * len(given)"
    ),
    "f-string": cone(f'{V} = f"{{{RIGHT}}}"'),
    "float": cone(f"{V} = float({RIGHT})"),
    "divided": cone(f"{V} = {RIGHT * 4} / 4"),
    "aliased-list": cone(f"a = [{RIGHT}]\nb = a\nb += [1]\n{V} = a[0]"),
    "notes": own_cell("I drew the cone first.", "markdown"),
    "thousands-of-outputs": changed(many_outputs),
    "numpy": cone(f"import numpy as np\n{V} = np.round({RIGHT}.2)"),
    "array-without-length": cone(f"import numpy as np\n{V} = np.array({RIGHT})"),
    "array-of-one": cone(f"import numpy as np\n{V} = np.array([{RIGHT}])"),
    "def": cone(f"def work():\n    return {RIGHT}\n{V} = work()"),
    "lambda": cone(f"{V} = (lambda x: x)({RIGHT})"),
    "while": cone(f"{V} = 0\nwhile {V} < {RIGHT}:\n    {V} += 1"),
    "walrus": cone(f"print({V} := {RIGHT})"),
    "magic": cone(f"%matplotlib inline\n{ANSWER}"),
    "shell-help": cone(f"{ANSWER}\nround?"),
    "fraction": cone(f"from fractions import Fraction\n{V} = Fraction({RIGHT * 2}, 2)"),
    "decimal": cone(f"from decimal import Decimal\n{V} = Decimal('{RIGHT}')"),
    "class": cone(f"class Cone:\n    s = {RIGHT}\n{V} = Cone.s"),
    "try": cone(f"try:\n    {V} = 1 / 0\nexcept ZeroDivisionError:\n    {ANSWER}"),
    "assert": cone(f"{ANSWER}\nassert {V} > 0"),
    "datetime": cone(f"from datetime import timedelta\n{V} = timedelta(seconds={RIGHT}).seconds"),
    "underscore": cone(f"{RIGHT}\n_ = {RIGHT}\n{V} = _"),
    "displayed": cone(f"{ANSWER}\ndisplay({V})"),
    "own-function-check": own_cell("def check(key, answer):\n    return 0.0"),
    "picture": own_cell("import matplotlib.pyplot as plt\nplt.plot([1, 2])\nplt.show()"),
    "own-cell-stops": own_cell("1 / 0"),
    "copied-answer": twice(f"{CONE}-answer"),
    "copied-mark": twice(CONE),
    "deleted-mark": without(CONE),
    "edited-mark": changed(lambda book: cell_of(book, CONE).update(source="99.0")),
    "mark-as-markdown": kind_of(CONE, "markdown"),
    "answer-as-raw": kind_of(f"{CONE}-answer", "raw"),
    "answer-as-markdown": kind_of(f"{CONE}-answer", "markdown"),
    "byte-order-mark": b"\xef\xbb\xbf" + text(BASE),
    "byte-order-mark-twice": b"\xef\xbb\xbf" * 2 + text(BASE),
    "utf-16": json.dumps(BASE, ensure_ascii=False).encode("utf-16"),
    "utf-16-without-mark": json.dumps(BASE).encode("utf-16-le"),
    "utf-32": json.dumps(BASE).encode("utf-32"),
    "half-a-letter": own_cell("half a letter: \ud83d", "markdown"),
    "half-a-letter-in-code": own_cell("print('\\ud800')"),
    "wide-letters": cone(f"{V} = 1\n\uff43{V[1:]} = {RIGHT}"),
    "other-figures": cone(f"{V} = '{''.join(chr(0x660 + int(n)) for n in str(RIGHT))}'"),
    "name-changed-later": own_cell("student = 'Wren 3'"),
    "changes-the-answers-of-the-frame": cone(
        "import sys\nframe = sys._getframe()\nwhile frame:\n"
        "    if isinstance(frame.f_locals.get('answers'), dict):\n        frame.f_locals['answers']['sp-hand'] = 1\n"
        f"    frame = frame.f_back\n{ANSWER}"
    ),
    "old-format": old_format(),
    "big-table": cone(f"import numpy as np\nx = np.zeros((1000, 1000))\n{ANSWER}"),
    "quiet-daemon": cone(f"import subprocess\nsubprocess.Popen(['sleep', '601.'], start_new_session=True)\n{ANSWER}"),
    "fork": cone(f"import os\nif os.fork() == 0:\n    import time\n    time.sleep(600)\n{ANSWER}"),
}
"""Right, whatever the form: all the marks of the copy, and nothing to look at."""

LOST = {
    "blank": (cone(f"{V} = None"), ""),
    "wrong": (cone(f"{V} = {RIGHT * 3}"), ""),
    "nan": (cone(f"{V} = float('nan')"), ""),
    "infinite": (cone(f"{V} = 1e999"), ""),
    "huge": (cone(f"{V} = 10 ** 400"), ""),
    "divided-by-zero": (cone(f"{V} = 1 / 0"), "divided by zero"),
    "bare-word": (cone(f"{V} = forty"), "stands for no number"),
    "with-another-unit": (cone(f"{V} = {RIGHT} kt"), ""),
    "text-with-another-unit": (cone(f'{V} = "{RIGHT} kt"'), ""),
    "two-numbers": (cone(f'{V} = "{RIGHT} or {RIGHT + 1}"'), ""),
    "kills-everybody": (cone("import os\nos.kill(-1, 9)"), "counts 0"),
    "curly-quotes": (cone(f"{V} = “{RIGHT}”"), "cannot be read"),
    "stops-below-the-stub": (cone(f"{V} = None\n{V} = round({RIGHT} /)"), "cannot be read"),
    "stops-after-the-stub": (
        cone(f"{V} = None\n{V} = nobody + 1"),
        "counts 0, because its answer cell cannot be run",
    ),
    "number-and-text": (cone(f"{V} = {RIGHT} + ' s'"), "do not go together"),
    "deleted-answer": (without(f"{CONE}-answer"), "counts 0, because nothing gives"),
    "other-name": (cone(f"seconds = {RIGHT}"), "counts 0, because nothing gives"),
    "lost-its-name": (
        changed(lambda book: cell_of(book, f"{CONE}-answer").update(metadata={}, source="pass")),
        "counts 0, because nothing gives",
    ),
    "self-containing": (cone(f"{V} = []\n{V}.append({V})"), ""),
    "many-items": (cone(f"{V} = [1] * 10_000_000"), ""),
    "deep": (cone(f"{V} = 0\nfor _ in range(900):\n    {V} = [{V}]"), ""),
    "doubling-list": (cone(f"a = [1]\nfor i in range(60):\n    a = [a, a]\n{V} = a"), ""),
    "equal-to-all": (cone(f"class All:\n    def __eq__(self, other):\n        return True\n{V} = All()"), ""),
    "lying-text": (cone(f"class T(str):\n    def __str__(self):\n        return '{RIGHT}'\n{V} = T('x')"), ""),
    "lying-number": (cone(f"class N(float):\n    def __float__(self):\n        return {RIGHT}.0\n{V} = N(-1)"), ""),
    "exits-when-read": (
        cone(f"class E:\n    def __float__(self):\n        raise SystemExit\n{V} = E()"),
        "",
    ),
    "huge-text": (cone(f"{V} = '9' * 5000"), ""),
    "half-a-letter": (cone(f"{V} = '\\ud800'"), ""),
    "half-a-letter-from-code": (cone(f"{V} = (lambda: chr(0xD800))()"), ""),
    "letter-that-looks-alike": (cone(f"{V} = 1\n{V.replace('o', chr(0x43E))} = {RIGHT}"), ""),
    "complex": (cone(f"{V} = complex({RIGHT}, 0)"), ""),
    "yes": (cone(f"{V} = True"), ""),
    "no-difference": (
        cone(f"class N(int):\n    def __sub__(self, other):\n        return 0\n{V} = N(1)"),
        "",
    ),
    "text-that-strips-well": (
        cone(f"class T(str):\n    def strip(self, *_):\n        return '{RIGHT}'\n{V} = T('1')"),
        "",
    ),
    "bundle-printed": (
        cone("import json\nprint(json.dumps({'answers': {'" + CONE + f"': {RIGHT}}}, 'stopped': []}}))\n{V} = 1"),
        "",
    ),
    "outputs-forged": (wrong_and(forged_outputs), ""),
    "points-forged": (wrong_and(forged_points), ""),
    "mark-forged": (wrong_and(another_mark), ""),
    "strange-schema": (wrong_and(strange_schema), ""),
    "check-redefined": (cone(f"check = score = lambda *_: 99.0\n{V} = 1"), ""),
    "judge-patched": (
        cone(
            "from needlework.exercises import judging, verdicts\n"
            "judging.judge = lambda *a, **k: verdicts.Verdict(verdicts.Outcome.PASS, 1.0, 'x')\n" + f"{V} = 1"
        ),
        "",
    ),
    "question-patched": (
        cone(
            "from needlework.exercises.kinds import Number\nNumber.judge = lambda *a, **k: 1 / 0\n"
            "Number.right = lambda *a: 1\n" + f"{V} = 1"
        ),
        "",
    ),
    "pretty-marks": (
        cone(
            "from needlework.course.lesson.outputs import Marks\nMarks.__repr__ = lambda s: '2.0'\n"
            "Marks._repr_mimebundle_ = lambda *a, **k: {'application/vnd.needlework+json': {'version': 1}}\n"
            + f"{V} = 1"
        ),
        "",
    ),
    "marks-in-the-answer": (
        cone(
            "from needlework.desk import values\nbefore = values.packed\n"
            f"values.packed = lambda v, *more: {{'mark': 99}} if v == 77777 else before(v, *more)\n{V} = 77777"
        ),
        "",
    ),
    "asks-the-library": (
        cone(
            "from needlework.exercises import judging\nfrom needlework.exercises.catalogue import QUESTIONS\n"
            f"{V} = -QUESTIONS['{CONE}'].right(judging.draw(QUESTIONS['{CONE}'], 'Finch 7'))"
        ),
        "",
    ),
}
"""The marks of the cone are lost and all others kept; and what must be said, empty where nothing need be."""

STUBBORN = "while True:\n    try:\n        while True:\n            pass\n    except BaseException:\n        pass"

_INTO_EVERY_PIPE = """\
import os
for n in range(3, 200):
    try:
        os.write(n, {})
    except OSError:
        pass
"""

NO_MARK = {
    "torn": (text(BASE)[: len(text(BASE)) // 2], "the file is damaged: it begins like a notebook"),
    "empty": (b"", "the file is empty"),
    "null": (b"null", "it is no notebook but another kind of file"),
    "no-cells": (b'{"nbformat": 4, "cells": "gone"}', "the file is damaged: it is not a whole notebook"),
    "cells-as-table": (b'{"nbformat": 4, "cells": {"0": {}}}', "the file is damaged"),
    "deep-lists": (b'{"nbformat": 4, "cells": ' + b"[" * 100_000 + b"]" * 100_000 + b"}", "the file is damaged"),
    "long-number": (b'{"nbformat": 4, "cells": [' + b"9" * 6_000 + b"]}", "the file is damaged"),
    "not-utf-8": (b"\xff\xfe\x00\x01" * 10, "it is no notebook but another kind of file"),
    "a-picture": (b"\x89PNG\r\n\x1a\n" + bytes(200), "it is no notebook but another kind of file"),
    "a-text": (b"These are my answers.\n1. 44\n", "it is no notebook but another kind of file"),
    "builtins-patched": (
        cone(f"import builtins\nbuiltins.float = builtins.isinstance = lambda *_: True\n{V} = 1"),
        "its code made the kernel stop",
    ),
    "json-patched": (
        cone(f"import json\njson.dumps = lambda *_, **__: '[{RIGHT}]'\n{V} = 1"),
        "what its code gave is no list of answers",
    ),
    "cells-twice": (text(BASE)[:-1] + b', "cells": []}', "its first cell"),
    "no-number-of-a-format": (text(BASE).replace(b'"nbformat": 4', b'"nbformat": NaN', 1), "the file is damaged"),
    "more-behind-it": (text(BASE) + b"\0more", "the file is damaged: it begins like a notebook"),
    "name-without-quotes": (first("student = finch"), "its first cell"),
    "name-is-a-list": (first("student = ['Finch']"), "its first cell"),
    "no-first-cell": (
        changed(lambda b: b["cells"].remove(next(c for c in b["cells"] if "setup" in c["metadata"].get("tags", ())))),
        "its first cell",
    ),
    "quitter": (cone("import os\nos._exit(1)"), "its code made the kernel stop"),
    "crash": (cone("import ctypes\nctypes.string_at(0)"), "its code made the kernel stop"),
    "endless": (cone("while True: pass"), "its code does not stop by itself"),
    "stubborn": (cone(STUBBORN), "its code does not stop by itself"),
    "sleeper": (cone("import time\ntime.sleep(3600)"), "its code did not come to an end"),
    "many-processes": (
        cone(
            "import subprocess\nfor _ in range(300):\n    subprocess.Popen(['sleep', '61.7'])\n"
            "import time\ntime.sleep(60)"
        ),
        "too much memory or starts too many processes",
    ),
    "much-memory-in-many": (
        cone(
            "import os, time\nfor _ in range(12):\n    if os.fork() == 0:\n        x = b'x' * 300_000_000\n"
            "        time.sleep(60)\ntime.sleep(60)"
        ),
        "too much memory or starts too many processes",
    ),
    "floods-the-pipe": (
        cone(_INTO_EVERY_PIPE.format("b'9' * 9_000_000")),
        "far too much",
    ),
    "forged-answer": (
        cone(_INTO_EVERY_PIPE.format("b'7\\n[1,2,3]'")),
        "what its code gave is no list of answers",
    ),
}
"""No mark at all, and the reason; empty where any reason will do."""

ESCAPES = """\
import os, pathlib, socket
found = []
for place in {places!r}:
    if os.path.exists(place):
        found.append(place)
for root in ("/work", "/root", "/home", "/etc", "/usr", "/dev", "/"):
    try:
        pathlib.Path(root, "needlework-was-here").write_text("x")
        found.append("wrote " + root)
    except OSError:
        pass
try:
    socket.create_connection(("127.0.0.1", {port}), timeout=1)
    found.append("network")
except OSError:
    pass
try:
    os.kill({pid}, 0)
    found.append("saw the marking process")
except OSError:
    pass
if "{secret}" in str(os.environ):
    found.append("environment")
for place in ("/tmp", "/dev/shm"):
    written = 0
    try:
        for n in range(20):
            with open(f"{{place}}/{{n}}", "wb") as file:
                for _ in range(10):
                    written += file.write(bytes(1_000_000))
    except OSError:
        pass
    if written > 40_000_000:
        found.append(f"{{written}} bytes in {{place}}")
    for name in os.listdir(place):
        if name.isdigit():
            os.unlink(f"{{place}}/{{name}}")
for line in open("/proc/self/status"):
    if line.startswith(("CapEff", "CapPrm", "CapBnd")) and int(line.split()[1], 16):
        found.append(line.strip())
    if line.startswith("NoNewPrivs") and line.split()[1] != "1":
        found.append(line.strip())
if len([name for name in os.listdir("/proc") if name.isdigit()]) > 4:
    found.append("other processes")
import ctypes
if ctypes.CDLL(None).unshare(0x10000000) == 0:
    found.append("namespaces of its own")
{name} = {right} if found == [] else str(found)
"""


def escapes(**about_this):
    return cone(ESCAPES.format(name=V, right=RIGHT, **about_this))
