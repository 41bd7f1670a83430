"""The course's data files: where they are, how one is read, what is said when one is wrong."""

from __future__ import annotations

import difflib
import os
import re
import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, ValidationInfo

from needlework.basis.errors import BadData, OutOfRange
from needlework.basis.quantity import within

_PACKAGE = Path(__file__).resolve().parents[1]
_MOST_BYTES = 200_000  # some fifty times the longest file of the course


class Part(BaseModel):
    """Base of every frozen object read from a data file: no unknown fields, no silent conversions."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, populate_by_name=True)


AnyPart = TypeVar("AnyPart", bound=Part)


def datasets_dir() -> Path:
    """Folder that holds the course's data.

    The environment variable ``NEEDLEWORK_DATASETS`` comes first, then the folder inside an installed
    package, then the one beside ``lib/`` in a checkout. Raises BadData if there is none.
    """
    wish = os.environ.get("NEEDLEWORK_DATASETS")
    if wish:
        if not Path(wish).expanduser().is_dir():
            raise BadData(f"NEEDLEWORK_DATASETS = {wish!r} is not a folder: set it to the folder of the course data")
        return Path(wish).expanduser()
    return course_datasets_dir()


def course_datasets_dir() -> Path:
    """Folder of the course's own data, whatever the environment says; BadData if there is none."""
    for folder in (_PACKAGE / "datasets", _PACKAGE.parents[1] / "datasets"):
        if (folder / "procedures").is_dir():
            return folder
    raise BadData(
        "The course data was not found: install the course again, or set the environment variable "
        "NEEDLEWORK_DATASETS to its folder 'datasets'"
    )


def did_you_mean(word: str, known: Iterable[str], otherwise: Iterable[str] | None = None) -> str:
    """Name the nearest known word as a question, else list them (or ``otherwise``): the end of a sentence."""
    names = sorted(known)
    by_lower = {name.lower(): name for name in names}
    near = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    if near:
        return f"did you mean {by_lower[near[0]]}?"
    choice = names if otherwise is None else sorted(otherwise)
    return f"expected {one_of(choice)}" if choice else "expected it left out"


def one_of(names: Iterable[str]) -> str:
    """Write a choice: ``a, b or c``."""
    words = list(names)
    return " or ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def read_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file as a table; BadData, in one sentence, for anything that cannot be read."""
    try:
        if path.is_dir():
            raise BadData(f"{path} is a folder: expected one file that ends in .toml")
        if not path.exists():
            raise BadData(f"{path} does not exist: check the name and the folder")
        if not path.is_file():
            raise BadData(f"{path} is not an ordinary file: expected a text file that ends in .toml")
        with path.open("rb") as file:
            raw = file.read(_MOST_BYTES + 1)
    except (OSError, ValueError) as problem:
        if isinstance(problem, BadData):
            raise
        reason = getattr(problem, "strerror", None) or problem
        raise BadData(f"{path} cannot be read ({reason}): check its name and that you may open it") from None
    if len(raw) > _MOST_BYTES:
        raise BadData(f"{path.name} is larger than {_MOST_BYTES // 1000} kB: expected a short text file in TOML")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw.count(b"\n", 0, problem.start) + 1
        raise BadData(
            f"{path.name}, line {line}: a character is not UTF-8: save the file again as plain text in UTF-8"
        ) from None
    if not text.strip():
        raise BadData(f"{path.name} is empty: copy one of the course's files and edit that")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise BadData(f"{path.name} is not valid TOML: {_toml_problem(str(problem), text)}") from None
    except (RecursionError, ValueError):
        raise BadData(f"{path.name} is not a file a person wrote: brackets too deep or a number too long") from None


def _toml_problem(problem: str, text: str) -> str:
    """Say where the reader of TOML stumbled, with the line and what it should look like."""
    place = re.search(r" \(at line (\d+), column (\d+)\)$", problem)
    form = 'expected lines such as elevation_ft = 66 or ident = "XSAM", a point in decimals, text in quotes'
    if not place:
        return f"{problem[:100]}; {form}"
    line = text.split("\n")[int(place[1]) - 1 : int(place[1])]
    found = f" in {line[0].strip()[:60]}" if line else ""
    return f"line {place[1]}, column {place[2]}: {problem[: place.start()][:100]}{found}; {form}"


def range_check(low: float, high: float, unit: str, slip: str = "") -> Callable[[Any, ValidationInfo], float]:
    """Make the check of one field: a finite number from low to high, else the house's sentence."""

    def check(value: Any, info: ValidationInfo) -> float:
        name = info.field_name or "value"
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise OutOfRange(f"{name} = {shown(value)} is not a number: expected {low:,.6g} to {high:,.6g} {unit}")
        if abs(value) > 1e300:
            raise OutOfRange(f"{name} is far outside {low:,.6g} to {high:,.6g} {unit}")
        return float(within(name, value, low, high, unit, slip))

    return check


def ranged(low: float, high: float, unit: str, slip: str = "") -> BeforeValidator:
    """Mark a field with its range, as in ``Annotated[float, ranged(0, 360, "deg")]``."""
    return BeforeValidator(range_check(low, high, unit, slip))


def shown(value: Any) -> str:
    """Show a value from a file the way it stands there, cut short."""
    if isinstance(value, str):
        text = '"' + value.replace("\n", "\\n") + '"'
    elif isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, dict):
        text = "a table of " + (", ".join(value) or "nothing")
    elif isinstance(value, list):
        text = "a list of " + str(len(value))
    elif isinstance(value, float):
        text = f"{value:g}" if abs(value) < 1e6 and float(f"{value:g}") == value else repr(value)
    else:
        text = str(value) if not isinstance(value, int) or abs(value) < 10**15 else "a very long number"
    return text if len(text) <= 60 else text[:57] + "..."


def make(kind: type[AnyPart], raw: Any, place: str, faults: list[str]) -> AnyPart | None:
    """Make one part from its table; add every fault found to the list and return None if there was one."""
    if not isinstance(raw, dict):
        faults.append(f"{place} = {shown(raw)}: expected a table of {', '.join(field_names(kind))}")
        return None
    try:
        return kind.model_validate(raw)
    except ValidationError as problem:
        faults.extend(_plain(kind, raw, place, problem))
        return None


def field_names(kind: type[Part]) -> list[str]:
    """Names of a part's fields as they stand in the file."""
    return [field.alias or name for name, field in kind.model_fields.items()]


def _plain(kind: type[Part], raw: dict[str, Any], place: str, problem: ValidationError) -> list[str]:
    """Turn the validator's findings into sentences: place.field = found: expected."""
    fields = {field.alias or name: field for name, field in kind.model_fields.items()}
    errors = problem.errors(include_url=False)
    missing = {str(e["loc"][0]) for e in errors if e["type"] == "missing"}
    spelt: dict[str, str] = {}
    for error in errors:
        if error["type"] == "extra_forbidden":
            name = str(error["loc"][0])
            near = difflib.get_close_matches(name.lower(), sorted(missing), n=1, cutoff=0.6)
            if near:
                spelt[name] = near[0]
                missing.discard(near[0])
    sentences = []
    for error in errors:
        name = str(error["loc"][0]) if error["loc"] else ""
        expected = fields[name].description if name in fields else ""
        cause = error.get("ctx", {}).get("error")
        if error["type"] == "missing":
            if name in missing:
                sentences.append(f"{place}.{name} is missing: expected {expected}")
        elif error["type"] == "extra_forbidden":
            absent = [known for known in fields if known not in raw]
            hint = f"did you mean {spelt[name]}?" if name in spelt else did_you_mean(name, fields, absent)
            sentences.append(f"{place}.{name} is not a known field: {hint}")
        elif isinstance(cause, OutOfRange):
            sentences.append(f"{place}.{cause}")
        elif cause is not None:
            sentences.append(f"{place}: {cause}")
        else:
            sentences.append(f"{place}.{name} = {shown(raw.get(name))}: expected {expected}")
    return list(dict.fromkeys(sentences))


def refuse(name: str, faults: list[str]) -> None:
    """Raise BadData with every fault, if there is any."""
    if len(faults) == 1:
        raise BadData(f"{name}: {faults[0]}", tuple(faults))
    if faults:
        listed = "".join(f"\n  {number}. {fault}" for number, fault in enumerate(faults, 1))
        raise BadData(f"{name} has {len(faults)} faults:{listed}", tuple(faults))
