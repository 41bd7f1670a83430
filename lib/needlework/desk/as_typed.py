"""Numbers as pilots write them: a text in an answer cell counts as the field above the cell would read it.

The field (``numberFrom`` in ``course/jupyter/labextensions/needlework/static/reading.js``) turns ``1,588 ft`` into
1588 before anything stands in the cell. Who types into the cell itself writes the same, and it means the same. Read
here is one number, alone or with the unit that is asked for. No sum is: the cell's own arithmetic is followed.
"""

from __future__ import annotations

import ast
import re
import unicodedata
import warnings
from collections.abc import Mapping
from typing import Any

from needlework.exercises.flown import FilledPlan
from needlework.exercises.kinds import Givens, Number, Question, Table

_LONGEST = 60
_DASHES = str.maketrans(dict.fromkeys("\u2212\u2013\u2012", "-"))
_NAMED = re.compile(r"(?:radial|r|heading|hdg|course|dme|d|channel|ch\.?)\s*(?=\d)", re.IGNORECASE)
_TIME = re.compile(
    r"""(\d+)(?::|\s*(?:m|min\.?|minutes?|['’′])\s*)([0-5]?\d)\s*(?:s|sec\.?|seconds?|["“”]|['’′]{2})?""",
    re.IGNORECASE,
)
_SPLIT = re.compile(r"([-+]?[\d.,\s'’]*[\d.])\s*([^\d]*)")
_BLANKS = re.compile(r"[\s'’]")
_PARTED = re.compile(r"[-+]?\d{1,3}([\s'’]\d{3})+([.,]\d+)?")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?")
_COMMA = re.compile(r"[-+]?\d*,\d+")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)", re.ASCII)
_UNITS = {
    "ft/NM": r"(ft|feet|foot)\s*(\/|per)\s*(a\s+)?(nm|miles?|nautical miles?)",
    "fpm": r"(fpm|(ft|feet)\s*(\/|per|a)\s*min(ute)?)",
    "degrees": r"(°|º|deg\.?|degrees?)?\s*(m|mag\.?|magnetic|t|true)?",
    "feet": r"(ft|feet|foot)\.?",
    "knots": r"(kts?|kn|knots?)\.?",
    "miles": r"(nm|nmi|nautical miles?|miles?|dme)",
    "seconds": r"""((s|secs?|seconds?)\.?|["“”]|['’′]{2})""",
    "minutes": r"(min\.?|mins|minutes?|['’′])",
    "per cent": r"(%|per ?cent)",
    "dots": r"dots?",
    "channel": r"(channel|[xy])",
}
_BEFORE = ("channel",)


def _unit_of(words: str, asked: str = "") -> str:
    # One stroke is a foot where feet are asked for, else a minute.
    if asked == "feet" and words.strip() in ("'", "’", "′"):
        return asked
    return next((unit for unit, form in _UNITS.items() if re.fullmatch(form, words.strip(), re.IGNORECASE)), "")


def _asked(words: str) -> str:
    """Give the unit that a question asks for, from its words: "degrees magnetic", "NM"."""
    first = words.strip()
    return (_unit_of(first) or _unit_of(re.split(r"[ ,;(]", first)[0])) if first else ""


def number(typed: str, unit: str, label: str = "") -> float | None:
    """Read one number.

    Parameters
    ----------
    typed : str
        As it was written.
    unit : str
        In which it is asked for, in the words of the question.
    label : str
        Of its line in a table.

    Returns
    -------
    float or None
        None where the field would not take it.
    """
    text = unicodedata.normalize("NFKC", typed).translate(_DASHES).strip()
    if not text or len(text) > _LONGEST:
        return None
    asked = _asked(unit)
    time = _TIME.fullmatch(text)
    if time is not None:
        said = asked or ("minutes" if re.search("minute", label, re.IGNORECASE) else "")
        if asked not in ("", "seconds", "minutes") or (
            not asked and not re.search("second|clock|time|minute", label, re.IGNORECASE)
        ):
            return None
        seconds = 60.0 * int(time[1]) + int(time[2])
        return round(seconds / 60.0, 2) if said == "minutes" else seconds
    split = _SPLIT.fullmatch(_NAMED.sub("", text, count=1) if _NAMED.match(text) else text)
    if split is None:
        return None
    given = _unit_of(split[2], asked) if split[2].strip() else ""
    if split[2].strip() and (not given or (asked and given != asked) or (given in _BEFORE and given != asked)):
        return None
    digits = split[1].strip()
    if _PARTED.fullmatch(digits):
        digits = _BLANKS.sub("", digits)
    if _THOUSANDS.fullmatch(digits):
        digits = digits.replace(",", "")
    elif _COMMA.fullmatch(digits):
        digits = digits.replace(",", ".")
    return float(digits) if _NUMBER.fullmatch(digits) else None


def as_the_field(question: Question, givens: Givens, answer: Any) -> Any:
    """Give an answer with every number in it that was written as a text, or with a comma, as the field would hold it.

    Parameters
    ----------
    question : Question
        The question.
    givens : mapping
        The student's numbers; a plan needs none.
    answer : object
        As it stands in the answer cell.

    Returns
    -------
    object
        The same where there is nothing to read so.
    """
    if isinstance(question, Number):
        return _read(answer, question.unit, "")
    if not isinstance(answer, (dict, list)) or not any(
        isinstance(each, (str, tuple)) for each in (answer.values() if isinstance(answer, dict) else answer)
    ):
        return answer
    # In a plan no line says its unit, so that any is taken.
    units: dict[str, str | None] = {}
    if isinstance(question, Table):
        cells = question.cells(givens)
        units = {label: cell.unit if isinstance(cell, Number) else None for label, cell in cells.items()}
    elif isinstance(question, FilledPlan):
        units = {label: None if blank.words else "" for label, blank in question.blanks.items()}
    return _each(answer, units)


def _each(answer: Any, units: Mapping[str, str | None]) -> Any:
    """Read the values of a table or a list, each by the unit of its line; None where it is no number."""
    if isinstance(answer, dict):
        known = {label.strip().casefold(): label for label in units}
        names = {label: known.get(str(label).strip().casefold(), "") for label in answer}
        return {label: _read(value, units.get(names[label]), names[label]) for label, value in answer.items()}
    if len(answer) != len(units):
        return answer
    return [_read(value, unit, label) for value, (label, unit) in zip(answer, units.items(), strict=True)]


def _read(value: Any, unit: str | None, label: str) -> Any:
    if unit is None:
        return value
    if isinstance(value, tuple) and len(value) == 2 and all(type(part) is int for part in value):
        # A comma in a number makes two of it.
        value = f"{value[0]},{value[1]}"
    if type(value) is not str:
        return value
    found = number(value, unit, label)
    return value if found is None else found


_LINE = re.compile(
    r"""(?m)^(?P<head>[ \t]*(?:[A-Za-z_]\w*[ \t]*=(?!=)|"[^"\n]*"[ \t]*:|'[^'\n]*'[ \t]*:)[ \t]*)"""
    r"""(?P<said>[^#"'\[\]{}()=\n]+?|\d+[ \t]*(?:'[ \t]*\d+[ \t]*)?(?:"|'{1,2})?)(?P<tail>[ \t]*,?[ \t]*(?:\#.*)?)$"""
)


def mended(source: str) -> str:
    """Put quotation marks round numbers that stop an answer cell, so that they are read as its field would read them.

    Parameters
    ----------
    source : str
        Text of the cell.

    Returns
    -------
    str
        The same where the cell can be read as it stands, or what stops it is something else.
    """
    if _is_python(source):
        return source
    made = _LINE.sub(_quoted, source)
    return made if _is_python(made) else source


def _quoted(line: re.Match[str]) -> str:
    said = line["said"].strip()
    in_table = line["head"].rstrip().endswith(":")
    as_it_stands = _is_python(said) and not (in_table and "," in said)
    if as_it_stands or number(said, "", "time") is None:
        return line[0]
    quoted = f'"{said}"' if '"' not in said else repr(said)
    return f"{line['head']}{quoted}{line['tail']}"


def _is_python(text: str) -> bool:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            ast.parse(text)
        except (SyntaxError, ValueError, MemoryError, RecursionError):
            return False
    return True
