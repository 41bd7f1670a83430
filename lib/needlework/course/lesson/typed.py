"""What is wrong with a line that was typed: read from its text, and said in one clause with the line itself."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from typing import TypeAlias

Clause: TypeAlias = str
"""What is wrong and how it is written, as a clause."""

_CURLY = "\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2032\u2033`\u00b4"
_UNITS = (
    r"degrees?|deg|magnetic|true|feet|foot|ft|fpm|knots?|kts?|kn|nautical|miles?|NM|nm|metres?|m|"
    r"seconds?|secs?|s|minutes?|mins?|hours?|hrs?|h|dots?|percent"
)
_UNIT = re.compile(rf"(?<![\w.])(\d[\d.]*)(?:[XY]\b|\s*(?:\u00b0|%|(?:{_UNITS})\b))")
_SIGNS = {"\u00f7": "/ divides", "\u00d7": "* multiplies", "\u2212": "- is the sign on the keyboard",
          "\u2013": "- is the sign on the keyboard"}  # fmt: skip
_FRACTION = re.compile("[\u00bc-\u00be\u2150-\u215f]")
_OPENING, _CLOSING = "([{", ")]}"


def bare(line: str) -> str:
    """Take the comment and what stands in quotation marks out of a line.

    Parameters
    ----------
    line : str
        A line of a cell.

    Returns
    -------
    str
        The line with ``""`` in place of every text; a text that is not closed ends it with a single mark.
    """
    found: list[str] = []
    at = 0
    while at < len(line):
        letter = line[at]
        if letter == "#":
            break
        if letter in "\"'":
            end = line.find(letter, at + 1)
            if end < 0:
                return "".join(found) + letter
            found.append('""')
            at = end + 1
            continue
        found.append(letter)
        at += 1
    return "".join(found).rstrip()


def _curly(line: str, text: str) -> Clause:
    return 'the quotation marks are curly: type straight ones, as in "A"' if re.search(f"[{_CURLY}]", text) else ""


def _open_quote(line: str, text: str) -> Clause:
    if text.endswith(('"', "'")) and not text.endswith('""'):
        return "a quotation mark is missing: a text has one before it and one behind it"
    return ""


def _unit(line: str, text: str) -> Clause:
    found = _UNIT.search(text)
    if not found:
        return ""
    number = re.sub(r"^0+(?=\d)", "", found[1])
    return f"a number stands alone, without its unit: {number}, not {found[0].strip()}"


def _zero(line: str, text: str) -> Clause:
    found = re.search(r"(?<![\w.])0+([1-9]\d*)(?![\d.])", text)
    return f"no number begins with 0: write {found[1]}, not {found[0]}" if found else ""


def _comma_within(line: str, text: str) -> Clause:
    found = re.search(r"(?<![\w.])(\d+),(\d+)(?!\s*[\w.])", text)
    if not found:
        return ""
    if len(found[2]) == 3:
        return f"thousands have no comma: {found[1]}{found[2]}, not {found[0]}"
    return f"decimals have a point: {found[1]}.{found[2]}, not {found[0]}"


def _two_points(line: str, text: str) -> Clause:
    found = re.search(r"\d+\.\d+\.\d*", text)
    return f"{found[0]} has two points: one is for the decimals" if found else ""


def _sign(line: str, text: str) -> Clause:
    for sign, instead in _SIGNS.items():
        if sign in text:
            return f"{sign} is not taken: {instead}"
    if re.search(r"\d\s*[xX]\s*[\d(]", text):
        return "x is not taken: * multiplies"
    if "\u00b1" in text or "+/-" in text:
        return "one number is asked for, without plus or minus"
    if _FRACTION.search(text):
        return "a fraction is written as a division: 1/2"
    if re.search(r";\s*\S", text):
        return "; is not taken: between two entries stands a comma"
    found = re.search(r"[?!;]\s*$", text)
    return f"take the {found[0].strip()} at its end away" if found else ""


def _clock(line: str, text: str) -> Clause:
    found = re.search(r"=\s*(\d+):(\d\d)\b", text)
    if not found:
        return ""
    return f"minutes and seconds are no number: {found[1]}:{found[2]} is {60 * int(found[1]) + int(found[2])} seconds"


def _blank_within(line: str, text: str) -> Clause:
    found = re.search(r"(?<![\w.])(\d+) (\d+)(?![\w.])", text)
    return f"a number has no blank in it: {found[1]}{found[2]}, or a comma between two" if found else ""


def _stray_equals(line: str, text: str) -> Clause:
    if re.match(r'\s*""\s*=', text):
        return "between a label and its value stands a colon, not ="
    if re.search(r"^\s*=|[:,\[({]\s*=|=\s*=|=.*[^=<>!]=(?!=)", text):
        return "there is one = too many"
    return ""


def _nothing_behind(line: str, text: str) -> Clause:
    if re.search(r":\s*(,|}|$)", text) or re.search(r"=\s*$", text):
        return "nothing stands behind it: fill the value in, or leave None"
    return ""


def _label(line: str, text: str) -> Clause:
    if re.match(r"\s*[A-Za-z][\w ]*:\s*\S", text):
        return "the label has lost its quotation marks"
    return ""


def _words(line: str, text: str) -> Clause:
    found = re.search(r"[=:\[,]\s*([A-Za-z]+(?: [A-Za-z]+)+)\s*(?:[,\]}]|$)", text)
    if found and found[1].isupper():
        return f'it needs quotation marks: "{found[1]}"'
    found = re.search(r"[=:]\s*[A-Za-z]+ +[\w\"]|[=:]\s*\d[\d.]* +[A-Za-z]", text)
    return "a number stands alone, without words; words and letters stand in quotation marks" if found else ""


def _missing_comma(line: str, text: str) -> Clause:
    found = re.search(r'[\w"\])]\s+""\s*:|""\s+""', text)
    return "a comma is missing between two entries" if found else ""


def _unended(line: str, text: str) -> Clause:
    found = re.search(r"[-+*/]\s*$", text)
    return f"it ends with {found[0].strip()}, and nothing stands behind that" if found else ""


def _name(line: str, text: str) -> Clause:
    found = re.match(r"([A-Za-z_]\w*) +(\d[\d.]*)$", text)
    if found:
        return f"the = is missing: {found[1]} = {found[2]}"
    found = re.match(r"([A-Za-z]\w*(?: +[A-Za-z]\w*)+) *=", text)
    if found and not found[1].startswith(("from ", "import ", "for ", "if ", "def ", "not ")):
        return f"the name in front of the = has no blank in it: {'_'.join(found[1].split())}"
    found = re.match(r"([\d.]+) *= *([A-Za-z_]\w*)$", text)
    return f"the name stands in front of the =: {found[2]} = {found[1]}" if found else ""


def _too_far_right(line: str, text: str) -> Clause:
    found = re.match(r"\s+\w+\s*=|\s+[\d.]+\s*$", text)
    return "it begins with a blank: let it begin at the left edge" if found else ""


_OF_A_LINE: tuple[Callable[[str, str], Clause], ...] = (
    _curly, _open_quote, _unit, _zero, _two_points, _clock, _sign, _blank_within, _stray_equals, _missing_comma,
    _nothing_behind, _label, _name, _words, _unended,
)  # fmt: skip


def _brackets(lines: list[str]) -> tuple[Clause, str]:
    """See whether every bracket that opens is closed; give what is wrong and where."""
    opened: list[tuple[str, str]] = []
    for line in lines:
        for letter in bare(line):
            if letter in _OPENING:
                opened.append((letter, line))
            elif letter in _CLOSING:
                wanted = _OPENING[_CLOSING.index(letter)]
                if not opened or opened[-1][0] != wanted:
                    return f"there is a {letter} too many, or its {wanted} is missing", line
                opened.pop()
    if opened:
        letter, line = opened[-1]
        return f"the {_CLOSING[_OPENING.index(letter)]} that closes the {letter} is missing", line
    return "", ""


def _comma_at_the_end(lines: list[str]) -> tuple[Clause, str]:
    """Find an entry of a table that has lost the comma behind it."""
    texts = [(line, bare(line)) for line in lines]
    texts = [(line, text) for line, text in texts if text.strip()]
    for (line, text), (_, after) in itertools.pairwise(texts):
        inside = text.lstrip().startswith('""') or text.strip() == "None"
        if inside and after.lstrip().startswith('""') and not text.endswith((",", "{", "[", "(")):
            return "a comma is missing at its end", line
    return "", ""


def fault(cell: str) -> tuple[Clause, str]:
    """Find out why a cell cannot be read.

    Parameters
    ----------
    cell : str
        The text of the cell.

    Returns
    -------
    tuple of (str, str)
        A clause that says what is wrong and how it is written, and the line it stands in; both empty where it
        cannot be told.
    """
    lines = [line for line in cell.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    found = _comma_at_the_end(lines)
    inside = False
    for line in lines:
        text = bare(line)
        for each in _OF_A_LINE:
            why = each(line, text)
            if each is _nothing_behind and inside and text.endswith("="):
                why = ""
            if why:
                return why, line.strip()
        if inside or text.rstrip(" ,").endswith(("}", "]")):
            why = _comma_within(line, text)
            if why:
                return why, line.strip()
        inside = (inside or text.endswith(("{", "["))) and not text.strip().startswith(("}", "]"))
    if found[0]:
        return found[0], found[1].strip()
    found = _brackets(lines)
    if found[0]:
        return found[0], found[1].strip()
    for line in lines:
        why = _too_far_right(line, bare(line))
        if why:
            return why, line.strip()
    return "", ""


def not_given(cell: str, name: str) -> str:
    """Say why an answer cell that ran gave no answer; empty where it was left as it was.

    Parameters
    ----------
    cell : str
        The text of the answer cell.
    name : str
        The name that the answer belongs to; empty if it is not known.

    Returns
    -------
    str
        A sentence.
    """
    for line in cell.splitlines():
        text = line.strip()
        if not text or text.startswith(("#", "ask(", "fly(", "from ", "import ")):
            continue
        if re.fullmatch(r"[-+]?[\d.,]+|\"[^\"]*\"|'[^']*'", text):
            like = f"{name} = {text}" if name else f"... = {text}"
            return f"Your {text} stands on a line of its own: write it in place of None, as in {like}."
        compared = re.match(r"(\w+)\s*==\s*(.+)", text)
        if compared:
            return f"Two = only compare. Write {compared[1]} = {compared[2]}."
        colon = re.match(r"(\w+)\s*:\s*(\S+)$", text)
        if colon:
            return f"Between the name and the answer stands =, not a colon: {colon[1]} = {colon[2]}."
        other = re.match(r"(\w+)\s*=\s*(.+)", text)
        if other and name and other[1] != name and not re.search(rf"\b{name}\s*=\s*(?!None)", cell):
            return f"The name in front of the = has changed: it is {name}."
    return ""


def doubtful(cell: str) -> str:
    """Name a sign in an answer that means something else than on paper; empty if there is none.

    Parameters
    ----------
    cell : str
        The text of the answer cell.

    Returns
    -------
    str
        A sentence.
    """
    texts = "\n".join(bare(line) for line in cell.splitlines())
    if "^" in texts:
        return "The sign ^ is no power here: 60 squared is 60**2."
    if re.search(r"~\s*[\d(]", texts):
        return "The sign ~ turns a number round here: leave it out."
    if re.search(r"=\s*[\d.]+\s*[-\u2013]\s*[\d.]+\s*$", texts, re.M):
        return "A minus between two numbers takes one from the other: write one number."
    if re.search(r"\d\s+or\s+\d", texts):
        return "Write one number: of two with an “or” between them the first is taken."
    return ""
