"""Tables as spreadsheets write them: any of their separators, byte-order marks and decimal commas; no formulas."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from needlework.basis.errors import BadData

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""What a spreadsheet may take for a formula (OWASP, "CSV Injection"), and the same with apostrophes before it."""
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_MOST_BYTES = 20_000_000


@dataclass(frozen=True)
class Table:
    """A table that was read.

    Parameters
    ----------
    columns : list of str
        Heads of the columns.
    rows : list of dict of str to str
        What stands below them.
    sign : str
        What stands between two cells.
    lines : list of list of str
        The same as it stands in the file, its first line included.
    """

    columns: list[str]
    rows: list[dict[str, str]]
    sign: str
    lines: list[list[str]]


def read(path: Path) -> Table:
    """Read a table that a spreadsheet saved as CSV.

    Parameters
    ----------
    path : pathlib.Path
        The file: UTF-8 or UTF-16, with or without a byte-order mark; commas, semicolons or tabs between.

    Returns
    -------
    Table
        Columns without a head are left out of ``rows``.

    Raises
    ------
    BadData
        If there is no such file, or it is no such table.
    """
    what = f"{path} cannot be read: save it as CSV in UTF-8 (in the spreadsheet: Save as, CSV UTF-8)."
    try:
        content = path.read_bytes()
    except OSError as error:
        raise BadData(f"{path} cannot be read ({error.strerror}): give the CSV file.") from error
    if len(content) > _MOST_BYTES:
        raise BadData(f"{path} is larger than {_MOST_BYTES // 1_000_000} MB: give the CSV file with the marks.")
    wide = content[:2] in (b"\xff\xfe", b"\xfe\xff")
    # A head's first letter is a plain one: a byte of nothing beside it tells UTF-16 that has no mark.
    bare = {b"\0": "utf-16-be"}.get(content[:1]) or {b"\0": "utf-16-le"}.get(content[1:2])
    try:
        # What was a mark before a second one was put there is no letter of the first head.
        text = content.decode("utf-16" if wide else bare or "utf-8-sig").lstrip("\ufeff")
        head = text.lstrip("\r\n").partition("\n")[0]
        if head.casefold().startswith("sep="):
            # A line that some spreadsheets write for themselves.
            text = text.lstrip("\r\n").partition("\n")[2]
            head = text.partition("\n")[0]
        if "\0" in text:
            raise BadData(what)
        sign = max(",;\t", key=_outside_quotes(head).count)
        lines = [
            line for line in csv.reader(io.StringIO(text, newline=""), delimiter=sign) if any(map(str.strip, line))
        ]
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadData(what) from error
    if not lines:
        raise BadData(f"{path} is empty: its first line should have the heads of the columns.")
    columns = [name.strip() for name in lines[0]]
    twice = next((name for name in columns if name and columns.count(name) > 1), "")
    if twice:
        raise BadData(f"{path} has two columns '{twice}': take one of them out.")
    rows = [dict(zip(columns, [*line, *[""] * len(columns)], strict=False)) for line in lines[1:]]
    for row in rows:
        row.pop("", None)
    return Table(columns, rows, sign, lines)


def _outside_quotes(line: str) -> str:
    return re.sub(r'"[^"]*"', "", line)


def number(text: str) -> float | None:
    """Read a number as people write it.

    Parameters
    ----------
    text : str
        With a decimal point or a decimal comma.

    Returns
    -------
    float or None
        None if it is none.
    """
    text = text.strip().removeprefix("'")
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None


def harmless(text: str) -> str:
    """Write a text so that no spreadsheet takes it for a formula; :func:`meant` gives it back letter for letter.

    Parameters
    ----------
    text : str
        As it is meant.

    Returns
    -------
    str
        With an apostrophe before what would begin a formula.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def meant(text: str) -> str:
    """Give the text that :func:`harmless` wrote.

    Parameters
    ----------
    text : str
        As it stands in the table.

    Returns
    -------
    str
        As it is meant.
    """
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def written(columns: Sequence[str], rows: Iterable[Mapping[str, object]], sign: str = ",") -> str:
    """Write a table.

    Parameters
    ----------
    columns : sequence of str
        Heads of the columns.
    rows : iterable of mapping
        By column; a cell that is not there stays empty. Numbers stay numbers, every text becomes harmless.
    sign : str
        What stands between two cells.

    Returns
    -------
    str
        The file's text.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, list(columns), restval="", delimiter=sign)
    writer.writerow({name: harmless(name) for name in columns})
    for row in rows:
        writer.writerow({name: harmless(cell) if isinstance(cell, str) else cell for name, cell in row.items()})
    return text.getvalue()
