"""The rubric of the debrief: what is judged, by which tolerance, with which words; data, not code."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from needlework.basis.errors import BadData
from needlework.basis.sources import SOURCES
from needlework.world.datafiles import Part, datasets_dir, did_you_mean, make, ranged, read_toml, refuse


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


class Row(Part):
    """One thing that is judged."""

    key: str = Field(pattern=r"^[a-z_]+$", description="small letters, in quotes")
    segment: str = Field(min_length=1, description="part of the flight in quotes")
    quantity: str = Field(min_length=1, description="what is looked at, in quotes")
    short: str = Field(min_length=1, max_length=24, description="two or three words for a picture, in quotes")
    limit: dict[str, Annotated[float, ranged(0, 10_000, "")]] = Field(
        default_factory=dict, description="a table such as { limit_deg = 7.5 }"
    )
    fcl: dict[str, Annotated[float, ranged(0, 10_000, "")]] = Field(
        default_factory=dict, description="the same where the European standard differs"
    )
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


class Rubric(Part):
    """All rows and errors, and what counts as established and as passed."""

    pass_mark: float
    established_deg: float
    established_s: float
    near_nm: float
    prompt_s: float
    rows: tuple[Row, ...]
    errors: tuple[Error, ...]
    standards: dict[str, Standard]
    standard: str = "ACS"

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
                    "limit": {**row.limit, **row.fcl},
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

    Raises BadData with every fault found: a wrong field, a row nobody can judge, a tolerance that row
    needs and does not have is named when it is used.
    """
    path = path or datasets_dir() / "rubric.toml"
    raw = read_toml(path)
    faults: list[str] = []
    rows = [
        make(Row, _tupled(row), f"row {_label(row, 'key', n)}", faults) for n, row in enumerate(_list(raw, "rows"), 1)
    ]
    errors = [
        make(Error, row, f"error {_label(row, 'number', n)}", faults) for n, row in enumerate(_list(raw, "errors"), 1)
    ]
    tables = ("rows", "errors", "standards")
    head = make(_Head, {key: value for key, value in raw.items() if key not in tables}, "rubric", faults)
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
        faults += [f"row {row.key}.errors: there is no error {n}" for n in row.errors if n not in numbers]
    refuse(path.name, faults)
    assert head is not None
    return Rubric(
        **head.model_dump(),
        rows=tuple(filter(None, rows)),
        errors=tuple(filter(None, errors)),
        standards={name: each for name, each in standards.items() if each is not None},
    )


def _list(raw: dict[str, object], name: str) -> list[object]:
    rows = raw.get(name)
    return rows if isinstance(rows, list) else []


def _label(row: object, field: str, number: int) -> str:
    return str(row.get(field, number)) if isinstance(row, dict) else str(number)


def _tupled(row: object) -> object:
    if isinstance(row, dict) and isinstance(row.get("errors"), list):
        return {**row, "errors": tuple(row["errors"])}
    return row
