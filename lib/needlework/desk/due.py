"""When homework is due, in which zone, and what is taken off when it is late: a file on the desk that people edit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from needlework.basis.errors import BadData
from needlework.world.datafiles import did_you_mean

NAME = "due.toml"
TEMPLATE = """\
# When homework is due. A line that begins with # counts for nothing: take the # away and put in your own.
# The name in brackets is that under which the homework is marked; times are those of the zone.

# zone = "Europe/London"

# [late]                        # for all homework; without it nothing is taken off, and late work has a note
# per_day = "10 %"              # of the full marks, for each day of 24 hours begun
# at_most = "50 %"
# grace_minutes = 15
# closes_after_days = 7         # what comes later has no marks left

# [station-passage]
# due = "2026-11-30 18:00"
# [station-passage.extra]       # longer for one student: a time, or how much longer
# finch-7 = "2026-12-07 18:00"
# robin-2 = "3 days"
# [station-passage.came]        # when one came in, where no file tells it: a time, or how late
# owl-4 = "2026-12-01 09:30"
# wren-3 = "2 hours"
"""
_LATE = ("per_day", "at_most", "grace_minutes", "closes_after_days")
_OF_ONE = ("due", "late", "extra", "came")
_LONGER = re.compile(r"(\d+(?:\.\d+)?) (minute|hour|day|week)s?")
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Late:
    """What is taken off when it is late.

    Parameters
    ----------
    per_day : float
        Share of the full marks for each day begun, 0 to 1.
    at_most : float
        Largest share that is taken off while it is open.
    grace_minutes : float
        So much later is not late. [min]
    closes_after_days : float or None
        After so many days all marks are taken off; None for never.
    """

    per_day: float = 0.0
    at_most: float = 1.0
    grace_minutes: float = 0.0
    closes_after_days: float | None = None


@dataclass(frozen=True)
class Due:
    """When one homework is due.

    Parameters
    ----------
    when : datetime
        For everybody without an extension, UTC.
    zone : ZoneInfo
        In which it is told.
    late : Late
        What is taken off.
    extra : dict of str to datetime
        By student, until when it is extended, UTC.
    came : dict of str to datetime
        By student, when it came in as a person says, UTC; it goes before the time of the file.
    """

    when: datetime
    zone: ZoneInfo
    late: Late
    extra: dict[str, datetime] = field(default_factory=dict)
    came: dict[str, datetime] = field(default_factory=dict)

    def of(self, student: str) -> datetime:
        """Give until when one student has time, UTC."""
        return self.extra.get(student, self.when)

    def told(self, when: datetime) -> str:
        """Write a time in the zone of the homework."""
        local = when.astimezone(self.zone)
        return f"{local:%A} {local.day} {local:%B %Y, %H:%M} ({self.zone.key})"


@dataclass(frozen=True)
class Lateness:
    """What comes of the time at which a work came in.

    Parameters
    ----------
    off : float
        Marks that are taken off.
    says : str
        What is told of it, to the student as well; empty where it is not late.
    unknown : bool
        True where only that it is late is known.
    """

    off: float = 0.0
    says: str = ""
    unknown: bool = False


def lateness(due: Due | None, student: str, when: datetime, out_of: float, has: float, said: str = "") -> Lateness:
    """Work out what being late costs.

    Parameters
    ----------
    due : Due or None
        When it was due; None where nothing is said.
    student : str
        Whose.
    when : datetime
        Time of the file, UTC.
    out_of : float
        Full marks.
    has : float
        Marks of the work: no more is taken off.
    said : str
        What a learning platform says of the time: ``late``, ``in time``, or empty.

    Returns
    -------
    Lateness
        Nothing taken off where it is in time.
    """
    if due is None:
        return Lateness()
    limit, late = due.of(student), due.late
    if student in due.came:
        when = due.came[student]
    elif said.startswith("in time"):
        return Lateness()
    elif said.startswith("late"):
        begins = "the learning platform says that it came late"
        if student in due.extra:
            return Lateness(
                0.0, f"{begins}; there was longer time, until {due.told(limit)}, and nothing is taken off"
            )
        if not late.per_day and late.closes_after_days is None:
            return Lateness(0.0, f"{begins}, and nothing is taken off")
        return Lateness(0.0, f"{begins}; how late is not known, and so far nothing is taken off", True)
    behind = when - limit
    if behind <= timedelta(minutes=late.grace_minutes):
        return Lateness()
    days = -(-behind // _DAY)
    how = f"more than {days - 1} {'day' if days == 2 else 'days'}" if behind > _DAY else _hours(behind)
    begins = f"it came {how} after {due.told(limit)}"
    if late.per_day and has <= 0:
        return Lateness(0.0, f"{begins}: late, and there are no marks to take off")
    if late.closes_after_days is not None and behind > timedelta(days=late.closes_after_days):
        return Lateness(has, f"{begins}, when it was closed: all marks are taken off")
    share = min(late.per_day * days, late.at_most)
    if not share:
        return Lateness(0.0, f"{begins}: late, and nothing is taken off")
    off = round(share * out_of, 2)
    how = f"{share * 100:g} % of {out_of:g}"
    if off > has:
        return Lateness(has, f"{begins}: all {has:g} marks are taken off ({how} are {off:g})")
    return Lateness(off, f"{begins}: {off:g} marks are taken off ({how})")


def _hours(behind: timedelta) -> str:
    minutes = int(behind.total_seconds() // 60)
    return f"{minutes // 60} h {minutes % 60} min" if minutes >= 60 else f"{minutes} min"


def read(path: Path, homework: str, student_of: Callable[[str], str]) -> Due | None:
    """Read when one homework is due; what is written of others is not looked at.

    Parameters
    ----------
    path : pathlib.Path
        The file; it need not exist.
    homework : str
        Under which name it is marked.
    student_of : callable
        From what is written, the student's id; raises BadData where nobody is meant.

    Returns
    -------
    Due or None
        None where nothing is said of it.

    Raises
    ------
    BadData
        With one sentence that says which line or word cannot be used, and what was expected.
    """
    text = ""
    try:
        text = path.read_text(encoding="utf-8-sig")
        told = tomllib.loads(text)
    except FileNotFoundError:
        return None
    except UnicodeDecodeError:
        raise BadData(f"{path} cannot be read: save it as plain text in UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise BadData(f"{path}, {_not_read(text, str(error))}") from None
    if not told:
        return None
    try:
        zone = _zone(told.pop("zone", None), [word for word, value in told.items() if isinstance(value, str)])
        late = _late(told.pop("late", {}), Late(), "late")
        return _due(homework, told[homework], zone, late, student_of) if homework in told else None
    except BadData as fault:
        raise BadData(f"{path}: {fault}") from None


_CURLY = str.maketrans({**dict.fromkeys("“”„‟«»″", '"'), **dict.fromkeys("‘’‚‛‹›′", "'")})
_SAID_LINE = re.compile(r"at line (\d+)")
_NAME = re.compile(r"[A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*")


def _not_read(text: str, problem: str) -> str:
    """Say of a file that is no TOML in which line it stops, what is wrong there, and what to write."""
    lines = [line.strip() for line in text.splitlines()] or [""]
    found = _SAID_LINE.search(problem)
    last = max((n for n, line in enumerate(lines, 1) if line), default=1)
    number = min(int(found[1]), len(lines)) if found else last
    line = lines[number - 1]
    name, equals, value = (part.strip() for part in line.partition("="))
    bare = name.strip("\"'")
    straight = line.translate(_CURLY)
    if straight != line:
        return f"line {number}: its quotation marks are curly ones; write straight ones: {straight}"
    if line.startswith("["):
        head = re.sub(r"\s*#.*", "", line)
        first = next((n for n, one in enumerate(lines[: number - 1], 1) if re.sub(r"\s*#.*", "", one) == head), 0)
        if first:
            return (
                f"line {number}: {head} stands there a second time, after line {first}; write what belongs to it "
                f"below line {first}, and take line {number} out."
            )
        inside = head.strip("[] ")
        brackets = inside if _NAME.fullmatch(inside) else f'"{inside}"'
        return f"line {number}: {line} is no name in brackets that can be read; write it like [{brackets}]"
    if not equals:
        return f'line {number}: {line} has no = sign; write it like due = "2026-11-30 18:00"'
    value = re.sub(r"""^((?:"[^"]*"|'[^']*'|[^"'#])*)#.*""", r"\1", value).strip()
    first = _said_before(lines, number, bare)
    if first:
        return f"line {number}: {bare} stands there a second time, after line {first}; take one of the two out."
    plain = re.sub("[\"']", "", value).strip()
    kept = f'"{plain}"' if not re.fullmatch(r"\d+", plain) else plain
    if bare in ("grace_minutes", "closes_after_days"):
        kept = number_in[0] if (number_in := re.search(r"\d+", plain)) else "15"
    better = f"{name if _NAME.fullmatch(name) else chr(34) + bare + chr(34)} = {kept if plain else chr(34) * 2}"
    if not value:
        return f'line {number}: nothing stands behind the = sign; write it like {bare} = "2026-11-30 18:00"'
    if better.partition(" = ")[0] != name:
        wrong = f"{name} has other signs than letters without accents, digits and dashes, and no quotation marks"
    elif value[0] not in "\"'":
        wrong = f"{value} stands there without quotation marks" if kept[0] == '"' else f"{value} is no plain number"
    elif value.count(value[0]) == 1:
        wrong = f"the quotation mark that begins {value} is not closed"
    else:
        wrong = f"{value} is no text in one pair of quotation marks"
    return f"line {number}: {wrong}; write it like this: {better}"


def _said_before(lines: Sequence[str], number: int, name: str) -> int:
    """Give the line above, in the same brackets, with the same name; 0 for none."""
    for earlier in range(number - 1, 0, -1):
        line = lines[earlier - 1]
        if line.startswith("["):
            return 0
        if "=" in line and line.partition("=")[0].strip().strip("\"'") == name:
            return earlier
    return 0


def strange(path: Path, known: Collection[str]) -> list[str]:
    """Say what in the file is no homework, and no word of the file's own.

    Parameters
    ----------
    path : pathlib.Path
        The file; it need not exist.
    known : collection of str
        Names of lessons and homework.

    Returns
    -------
    list of str
        One sentence each; none where the file cannot be read, which is told where it is used.
    """
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError):
        return []
    said = []
    for name, value in told.items():
        if name in known or name in ("zone", "late"):
            continue
        if isinstance(value, Mapping):
            near = did_you_mean(name, [*known, "late"], known)
            said.append(f"{path}: [{name}] is no homework and no lesson, so nothing of it counts: {near}")
        else:
            said.append(
                f"{path}: '{name}' stands before the first name in brackets, so it belongs to no homework: "
                f"{did_you_mean(name, ['zone'], ['it below such a name'])}"
            )
    return said


def _near(word: str, words: Sequence[str], where: str) -> BadData:
    return BadData(f"[{where}] has no word '{word}': it takes {', '.join(words)}.{_meant(word, words)}")


def _meant(word: str, words: Sequence[str]) -> str:
    meant = did_you_mean(word, words, ())
    return f" D{meant[1:]}" if meant.startswith("did") else ""


def _zone(named: Any, written: Sequence[str] = ()) -> ZoneInfo:
    if named is None:
        near = next((word for word in written if _meant(word, ["zone"])), "")
        meant = f" Is '{near}' meant for it?" if near else ""
        raise BadData(f'there is no zone: begin it with a line such as zone = "Europe/London".{meant}')
    try:
        return ZoneInfo(str(named))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadData(
            f"'{named}' is no zone that this machine knows: write its name in the zone database, for example "
            '"Europe/London" or "UTC".'
        ) from None


def _late(told: Any, usual: Late, where: str) -> Late:
    if not isinstance(told, Mapping):
        raise BadData(f"'{where}' stands in brackets, [{where}], and what belongs to it on lines of its own below.")
    other = next((name for name in told if name not in _LATE), None)
    if other is not None:
        raise _near(other, _LATE, where)
    values: dict[str, Any] = {**vars(usual)}
    for name, value in told.items():
        share = name in ("per_day", "at_most")
        found = _share(value) if share else value
        if isinstance(found, bool) or not isinstance(found, (int, float)) or found < 0 or (share and found > 1):
            expected = 'a share such as "10 %"' if share else "a number such as 15"
            raise BadData(f"{name} = {value!r} in [{where}] cannot be used: expected {expected}.")
        values[name] = float(found)
    return Late(**values)


def _share(value: Any) -> Any:
    found = re.fullmatch(r"(\d+(?:[.,]\d+)?) ?%", value.strip()) if isinstance(value, str) else None
    return float(found[1].replace(",", ".")) / 100 if found else None


def _due(name: str, told: Any, zone: ZoneInfo, late: Late, student_of: Callable[[str], str]) -> Due:
    if not isinstance(told, Mapping) or "due" not in told:
        near = next((word for word in told if _meant(word, ["due"])), "") if isinstance(told, Mapping) else ""
        meant = f" Is '{near}' meant for it?" if near else ""
        raise BadData(f'[{name}] does not say when it is due: add a line such as due = "2026-11-30 18:00".{meant}')
    other = next((each for each in told if each not in _OF_ONE), None)
    if other is not None:
        raise _near(other, _OF_ONE, name)
    when = _time(told["due"], zone, f"due in [{name}]")
    own = _late(told.get("late", {}), late, f"{name}.late")
    extra = told.get("extra", {})
    if not isinstance(extra, Mapping):
        raise BadData(f'[{name}.extra] has a line for each student, for example finch-7 = "3 days".')
    came = told.get("came", {})
    if not isinstance(came, Mapping):
        raise BadData(f'[{name}.came] has a line for each student, for example finch-7 = "2 hours".')
    return Due(
        when,
        zone,
        own,
        {
            student_of(who): _after(how, when, zone, f"{who} in [{name}.extra]", "longer")
            for who, how in extra.items()
        },
        {student_of(who): _after(how, when, zone, f"{who} in [{name}.came]", "later") for who, how in came.items()},
    )


def _after(how: Any, when: datetime, zone: ZoneInfo, where: str, word: str) -> datetime:
    found = _LONGER.fullmatch(how.strip()) if isinstance(how, str) else None
    if found is None:
        return _time(how, zone, where, f', or how much {word}, like "3 days"')
    # A day longer is the same time of the clock on another day, whatever the clocks do in between.
    longer = timedelta(**{f"{found[2]}s": float(found[1])})
    if found[2] in ("day", "week"):
        return _utc(when.astimezone(zone).replace(tzinfo=None) + longer, zone)
    return when + longer


def _time(value: Any, zone: ZoneInfo, where: str, more: str = "") -> datetime:
    try:
        local = value if isinstance(value, datetime) else datetime.fromisoformat(str(value).strip())
        if not isinstance(value, datetime) and len(str(value).strip()) <= len("2026-11-30"):
            raise ValueError(value)
    except ValueError:
        raise BadData(f"{where} = '{value}' is no date and time: write it like \"2026-11-30 18:00\"{more}.") from None
    if local.tzinfo is not None:
        return local.astimezone(UTC)
    there = _utc(local, zone)
    if there.astimezone(zone).replace(tzinfo=None) != local:
        raise BadData(f"{where} = '{value}' is a time that the clocks of {zone.key} leave out: choose another one.")
    return there


def _utc(local: datetime, zone: ZoneInfo) -> datetime:
    """Give a time of the clock in UTC; of an hour that comes twice, the later one is meant."""
    return local.replace(tzinfo=zone, fold=1).astimezone(UTC)
