"""The rubric of the debrief: what is judged, by which tolerance, with which words; data, not code."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from needlework.basis.errors import BadData
from needlework.basis.sources import SOURCES
from needlework.world.datafiles import (
    Part,
    course_datasets_dir,
    datasets_dir,
    did_you_mean,
    make,
    ranged,
    read_toml,
    refuse,
)

_RETIRED = frozenset(  # tolerances of earlier versions that no row has any more
    {
        ("floor", "limit_ft"),
        ("missed_track", "limit_ft"),
        ("missed_turn", "limit_deg"),
        ("to_final", "procedure_turn_deg"),
        ("to_final", "reversal_deg"),
    }
)
_RENAMED = {"AIM-1-1-12": "AIM-1-1-11"}  # sources of earlier versions


class Error(Part):
    """One of the errors instructors see again and again."""

    number: int = Field(description="a whole number")
    phase: str = Field(min_length=1, description="part of the flight in quotes")
    name: str = Field(min_length=1, description="what was done, in quotes")
    cause: str = Field(default="", description="why, in quotes")
    looks_like: str = Field(min_length=1, description="how it shows, in quotes")
    next_time: str = Field(min_length=1, description="the words to take along, in quotes")
    frequency: Literal[1, 2, 3] = Field(description="3 often, 2 now and then, 1 rare")
    severity: Literal["A", "B", "C"] = Field(description='"A", "B" or "C"')
    told_by: Literal["recording", "instructor"] = Field(
        default="recording", description='"recording", or "instructor" for what no recording shows'
    )
    lesson: str = Field(default="", description="key of the lesson that trains it, in quotes")
    exercise: str = Field(default="", description="key of the question that trains it, in quotes")


class _Limits(dict[str, float]):
    """Tolerances by name; one that a judge needs and nobody gave is asked for in a sentence."""

    def __missing__(self, name: str) -> float:
        raise BadData(
            f"The rubric lacks the tolerance {name}: expected it in the table limit of the row that needs it"
        )


_Tolerances = Annotated[dict[str, Annotated[float, ranged(0, 10_000, "")]], AfterValidator(_Limits)]


class Row(Part):
    """One thing that is judged."""

    key: str = Field(pattern=r"^[a-z_]+$", description="small letters, in quotes")
    segment: str = Field(min_length=1, description="part of the flight in quotes")
    quantity: str = Field(min_length=1, description="what is looked at, in quotes")
    short: str = Field(min_length=1, max_length=24, description="two or three words for a picture, in quotes")
    limit: _Tolerances = Field(default_factory=_Limits, description="a table such as { limit_deg = 7.5 }")
    fcl: _Tolerances = Field(default_factory=_Limits, description="the same where the European standard differs")
    source: str = Field(description="key of a source in quotes")
    note: str = Field(default="", description="a text in quotes")
    weight: Annotated[float, ranged(0, 100, "")] = Field(description="a number, 0 to 100")
    critical: bool = Field(default=False, description="true or false")
    praise: str = Field(min_length=1, description="a sentence in quotes")
    errors: tuple[int, ...] = Field(default=(), description="a list of numbers")


class Standard(Part):
    """One published standard the tolerances come from."""

    name: str = Field(min_length=1, description="the name in quotes")
    source: str = Field(description="key of a source in quotes")


class _Head(Part):
    pass_mark: Annotated[float, ranged(0, 100, "")] = Field(description="a number, 0 to 100")
    established_deg: Annotated[float, ranged(0.5, 12, "deg")] = Field(description="degrees")
    established_s: Annotated[float, ranged(0, 60, "s")] = Field(description="seconds")
    near_nm: Annotated[float, ranged(0, 5, "NM")] = Field(description="NM")
    prompt_s: Annotated[float, ranged(0, 300, "s")] = Field(description="seconds")
    left_out: tuple[str, ...] = Field(default=(), description="a list of keys of rows")


class Rubric(Part):
    """All rows and errors, and what counts as established and as passed; ``notes`` say what was taken from where."""

    pass_mark: float
    established_deg: float
    established_s: float
    near_nm: float
    prompt_s: float
    rows: tuple[Row, ...]
    errors: tuple[Error, ...]
    standards: dict[str, Standard]
    standard: str = "ACS"
    notes: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def judged(self) -> tuple[Row, ...]:
        """Rows that are judged: all but those somebody wants left out."""
        return tuple(row for row in self.rows if row.key not in self.left_out)

    @property
    def standard_sources(self) -> frozenset[str]:
        """Sources that are one of the standards."""
        return frozenset(each.source for each in self.standards.values())

    def by(self, standard: str) -> Rubric:
        """Give the same rubric with the tolerances of one of its standards; BadData if there is none of that name."""
        if standard not in self.standards:
            raise BadData(f"There is no standard {standard!r}: {did_you_mean(standard, self.standards)}")
        if standard == self.standard:
            return self
        if self.standard != "ACS":
            raise BadData("The tolerances of one standard are laid over those of the rubric once: load it again")
        rows = tuple(
            row.model_copy(
                update={
                    "limit": _Limits({**row.limit, **row.fcl}),
                    "source": self.standards[standard].source if row.fcl else row.source,
                }
            )
            for row in self.rows
        )
        return self.model_copy(update={"rows": rows, "standard": standard})

    def row(self, key: str) -> Row:
        """Look a row up; BadData if there is none."""
        for row in self.rows:
            if row.key == key:
                return row
        raise BadData(f"The rubric has no row {key}: {did_you_mean(key, (row.key for row in self.rows))}")

    def error(self, number: int) -> Error:
        """Look a common error up; BadData if there is none."""
        for error in self.errors:
            if error.number == number:
                return error
        raise BadData(f"The rubric has no error number {number}: expected one of the numbers in it")


def load(path: Path | None = None, known: frozenset[str] | None = None) -> Rubric:
    """Read the rubric of the course, or another one; ``known`` are the rows the debrief can judge.

    A copy of somebody's own may come from an earlier version of the course: rows, tolerances and errors that
    it lacks are the course's own, and its ``notes`` say which. Raises BadData with every fault found: a wrong
    field, a row nobody can judge, a tolerance that no row of that name has.
    """
    path = path or datasets_dir() / "rubric.toml"
    course_path = course_datasets_dir() / "rubric.toml"
    return _loaded(path, _version(path), course_path, _version(course_path), known)


_Version = tuple[int, int, int, int]


def _version(path: Path) -> _Version | None:
    """What differs from file to file, and changes with each; None where there is none."""
    try:
        told = path.stat()
    except (OSError, ValueError):
        return None
    return told.st_dev, told.st_ino, told.st_mtime_ns, told.st_size


@lru_cache(maxsize=8)
def _loaded(
    path: Path,
    _path_version: _Version | None,
    course_path: Path,
    _course_version: _Version | None,
    known: frozenset[str] | None,
) -> Rubric:
    raw, own, notes = read_toml(path), read_toml(course_path), list[str]()
    if path.resolve() != course_path.resolve():
        raw, notes = _as_of_today(raw, own)
    faults: list[str] = []
    rows = [
        make(Row, _tupled(row), f"row {_label(row, 'key', n)}", faults) for n, row in enumerate(_list(raw, "rows"), 1)
    ]
    errors = [
        make(Error, row, f"error {_label(row, 'number', n)}", faults) for n, row in enumerate(_list(raw, "errors"), 1)
    ]
    tables = ("rows", "errors", "standards")
    head = make(_Head, _tupled({key: value for key, value in raw.items() if key not in tables}), "rubric", faults)
    standards = {
        str(name): make(Standard, table, f"standard {name}", faults)
        for name, table in dict(raw.get("standards") or {"ACS": {"name": "common practice", "source": "ACS"}}).items()
    }
    faults += [
        f"standard {name}.source = {each.source!r} is no known source: {did_you_mean(each.source, SOURCES)}"
        for name, each in standards.items()
        if each is not None and each.source not in SOURCES
    ]
    numbers = {error.number for error in errors if error}
    allowed = {str(row.get("key")): _limits(row) for row in _tables(own, "rows")}
    keys: set[str] = set()
    for row in filter(None, rows):
        if row.source not in SOURCES:
            faults.append(
                f"row {row.key}.source = {row.source!r} is no known source: {did_you_mean(row.source, SOURCES)}"
            )
        if known is not None and row.key not in known:
            faults.append(f"row {row.key} is nothing the debrief can judge: {did_you_mean(row.key, known)}")
        if row.key in keys:
            faults.append(f"row {row.key} stands twice: expected each row once")
        keys.add(row.key)
        faults += [
            f"row {row.key} has no tolerance {name}: {did_you_mean(name, allowed[row.key])}"
            for name in (*row.limit, *row.fcl)
            if row.key in allowed and name not in allowed[row.key]
        ]
        faults += [f"row {row.key}.errors: there is no error {n}" for n in row.errors if n not in numbers]
    left_out = head.left_out if head else ()
    faults += [
        f"{key!r} is to be left out and is no row: {did_you_mean(key, keys)}" for key in left_out if key not in keys
    ]
    refuse(path.name, faults)
    assert head is not None
    return Rubric(
        **head.model_dump(),
        rows=tuple(filter(None, rows)),
        errors=tuple(filter(None, errors)),
        standards={name: each for name, each in standards.items() if each is not None},
        notes=tuple(f"{path.name}: {note}" for note in notes),
    )


def _as_of_today(raw: dict[str, object], own: dict[str, object]) -> tuple[dict[str, object], list[str]]:
    """A rubric with what it lacks taken from the course's own, and sentences that say so; wrong fields stay wrong."""
    today = {**own, **raw}
    known = {str(row["key"]): row for row in _tables(own, "rows")}
    given = {str(row.get("key")): row for row in _tables(raw, "rows")}
    rows = [_row_as_of_today(row, known) for row in _list(raw, "rows")]
    today["rows"] = rows + [row for key, row in known.items() if key not in given]
    numbers = {error.get("number") for error in _tables(raw, "errors")}
    more = [error for error in _tables(own, "errors") if error["number"] not in numbers]
    today["errors"] = [*_list(raw, "errors"), *more]
    added = [key for key in known if key not in given]
    fuller = [key for key, row in known.items() if key in given and _limits(row) - _limits(given[key])]
    notes = []
    if added:
        notes.append(f"rows it does not have are those of the course ({', '.join(added)}).")
    stricter = [key for key, row in known.items() if row.get("critical") and "critical" not in given.get(key, row)]
    if stricter:
        notes.append(f"critical, as in the course, where it does not say: {', '.join(stricter)}.")
    if fuller:
        notes.append(f"tolerances it does not have are those of the course (in {', '.join(fuller)}).")
    return today, notes


def _row_as_of_today(row: object, known: dict[str, dict[str, object]]) -> object:
    """A row with the fields and tolerances it lacks taken from the course's; tolerances that are gone are dropped."""
    if not isinstance(row, dict) or str(row.get("key")) not in known:
        return row
    own = known[str(row["key"])]
    whole = {**own, **row}
    for table in ("limit", "fcl"):
        mine, theirs = row.get(table, {}), own.get(table, {})
        if isinstance(mine, dict) and isinstance(theirs, dict) and (mine or theirs):
            kept = {name: value for name, value in mine.items() if (str(own["key"]), name) not in _RETIRED}
            whole[table] = {**theirs, **kept}
    whole["source"] = _RENAMED.get(str(whole.get("source")), whole.get("source"))
    return whole


def _limits(row: dict[str, object]) -> set[str]:
    limit = row.get("limit")
    return set(limit) if isinstance(limit, dict) else set()


def _tables(raw: dict[str, object], name: str) -> list[dict[str, object]]:
    return [table for table in _list(raw, name) if isinstance(table, dict)]


def _list(raw: dict[str, object], name: str) -> list[object]:
    rows = raw.get(name)
    return rows if isinstance(rows, list) else []


def _label(row: object, field: str, number: int) -> str:
    return str(row.get(field, number)) if isinstance(row, dict) else str(number)


def _tupled(row: object) -> object:
    if isinstance(row, dict):
        return {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
    return row
