"""From a folder or zip of files under any name to one hand-in a student: each file is matched or listed."""

from __future__ import annotations

import difflib
import io
import os
import re
import stat
import unicodedata
import zipfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path, PurePosixPath

from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE
from needlework.desk import exchange, tables

_LARGEST_BYTES = 30_000_000
_LARGEST_BESIDE = 1_000
_MOST_FILES = 5_000
_NO_ZIP = "it is not a zip file that can be opened"
NO_NOTEBOOK = "it is not a notebook (.ipynb)"
_AS_NOTEBOOKS = (".ipynb", ".ipynb.json", ".ipynb.txt")
"""Some browsers save a notebook with a second ending."""
_KINDS = {
    "a Word file": ("doc", "docx", "odt", "rtf"),
    "a PDF": ("pdf",),
    "a picture": ("jpg", "jpeg", "png", "heic", "gif", "webp"),
    "a web page": ("html", "htm"),
    "a program": ("py",),
    "a text": ("txt", "md"),
}
_TOO_DEEP = "it is a zip inside a zip inside a zip: unpack it, and collect what is in it"
NO_TIME = datetime(1980, 1, 1, tzinfo=UTC)
NAMELESS = "in its path"
"""Stands in the reason of each file of which it cannot be told whose it is."""
_NOT_A_NAME = {
    "submissions",
    "submission",
    "submitted",
    "homework",
    "lessons",
    "needlework",
    "downloads",
    "ipynb",
    "copy",
    "handins",
}
# Letters that are no letter with an accent, written as a plain keyboard writes them.
_PLAIN = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ħ": "h"})


@dataclass(frozen=True)
class Found:
    """One file that came in.

    Parameters
    ----------
    name : str
        Its path inside the folder or zip.
    when : datetime.datetime
        Its own time, UTC.
    content : bytes
        What is in it; empty if ``fault`` says why it was not read.
    fault : str
        Why it cannot be a hand-in, in one clause; empty if it can.
    origin : Origin, optional
        What its place in an exchange says of it.
    above : tuple of str
        Of a file that was given alone, the folders above it, nearest first: they too may say whose it is.
    said : str
        What a learning platform says of its time, and the number it gave the file: ``late 123`` or ``in time 123``.
        Such a file's own time is that of the download; ``when`` is then that of no file.
    """

    name: str
    when: datetime
    content: bytes
    fault: str = ""
    origin: exchange.Origin | None = None
    above: tuple[str, ...] = ()
    said: str = ""

    def __post_init__(self) -> None:
        # A name may come from anybody: what would steer a terminal is taken out.
        object.__setattr__(self, "name", "".join(sign for sign in self.name if sign.isprintable()))
        object.__setattr__(self, "said", self.said or said_by_platform(self.name))
        if self.said or not has_time(self.when):
            object.__setattr__(self, "when", NO_TIME)

    @property
    def late(self) -> bool:
        """Say whether a platform marked it as late."""
        return self.said.startswith("late")


def has_time(when: datetime) -> bool:
    """Say whether a time can be that of a hand-in: a zip's first day stands where its maker wrote none."""
    return when > NO_TIME + timedelta(days=1)


def later(one: Found, other: Found) -> bool | None:
    """Say whether one version came after another.

    Parameters
    ----------
    one, other : Found
        Two versions of one student's work.

    Returns
    -------
    bool or None
        None where nothing tells it.
    """
    if has_time(one.when) and has_time(other.when):
        return None if one.when == other.when else one.when > other.when
    if one.late != other.late:
        return one.late
    # The platform counts the files that it is given (common practice, no source).
    mine, its = (int(found[0]) if (found := re.findall(r"\d+", each.said)) else 0 for each in (one, other))
    return mine > its if mine and its and mine != its else None


@dataclass(frozen=True)
class HandIn:
    """One file that belongs to one student.

    Parameters
    ----------
    student : str
        Student's id at the desk.
    found : Found
        The file.
    """

    student: str
    found: Found


def _lies_beside(name: str) -> bool:
    return PurePosixPath(name).name in exchange.BESIDE


def _is_zip(name: str) -> bool:
    return name.lower().endswith(".zip")


def _take(name: str, size: int, when: datetime, read: Callable[[], bytes]) -> Found:
    """Read one file, or say why not."""
    beside = _lies_beside(name) and size <= _LARGEST_BESIDE
    if not name.lower().endswith(_AS_NOTEBOOKS) and not beside and not _is_zip(name):
        return Found(name, when, b"", NO_NOTEBOOK)
    if size > _LARGEST_BYTES:
        return Found(name, when, b"", f"it is larger than {_LARGEST_BYTES // 1_000_000} MB")
    try:
        content = read()
    except (OSError, RuntimeError, zipfile.BadZipFile, NotImplementedError, ValueError) as error:
        return Found(name, when, b"", f"it cannot be read ({error})")
    return Found(name, when, content)


def _from_zip(archive: zipfile.ZipFile, prefix: str = "", inside: bool = False) -> Iterator[Found]:
    """Read the files in a zip, and those of a zip that lies in it; one in that is listed."""
    # All that lies in a zip inside another one is no larger together than one file may be.
    left = _LARGEST_BYTES
    for entry in archive.infolist():
        if entry.is_dir() or "__MACOSX" in entry.filename:
            continue
        name = prefix + entry.filename
        if stat.S_ISLNK(entry.external_attr >> 16):
            yield Found(name, NO_TIME, b"", "it is a link, not a file of its own")
            continue
        try:
            when = datetime(*entry.date_time, tzinfo=UTC)
        except ValueError:
            when = NO_TIME
        if inside and _is_zip(name):
            yield Found(name, when, b"", _TOO_DEEP)
            continue

        def read(entry: zipfile.ZipInfo = entry, most: int = left) -> bytes:
            with archive.open(entry) as file:
                # The size in the archive's list is only a claim.
                content = file.read(most + 1)
            if len(content) > most:
                many = f"more than {_LARGEST_BYTES // 1_000_000} MB in a zip inside a zip"
                raise ValueError(many if most < _LARGEST_BYTES else "much larger than it says")
            return content

        found = _take(name, entry.file_size, when, read)
        if inside:
            left -= len(found.content)
        if found.fault or not _is_zip(name):
            yield found
            continue
        try:
            inner = _opened_zip(io.BytesIO(found.content), name)
        except BadData:
            yield replace(found, content=b"", fault=_NO_ZIP)
            continue
        with inner:
            yield from _from_zip(inner, f"{name[: -len('.zip')]}/", inside=True)


def _files_in(place: Path) -> list[Path]:
    """List the files in a folder and in its folders; links to folders are listed, and not followed."""
    found = []
    for folder, inner, names in os.walk(place):
        inner[:] = [name for name in inner if name != ".ipynb_checkpoints"]
        links = [name for name in inner if os.path.islink(os.path.join(folder, name))]
        found += [Path(folder, name) for name in (*names, *links)]
    return sorted(path for path in found if path.is_file() or path.is_symlink())


def _opened_zip(source: Path | io.BytesIO, name: str) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(source)
    except (zipfile.BadZipFile, OSError) as error:
        raise BadData(f"{name} is not a zip file that can be opened: download it again.") from error


def read_all(place: Path) -> list[Found]:
    """Read every file that came in; zips inside a folder are looked into.

    Parameters
    ----------
    place : pathlib.Path
        A folder, a zip, or a single notebook.

    Returns
    -------
    list of Found
        In order of their names.

    Raises
    ------
    BadData
        If there is nothing at that place, or far too much.
    """
    if not place.exists():
        return _out_of_zip(place)
    found = settled(_read(place), str(place))
    if place.is_dir() or _is_zip(place.name):
        return found
    return [replace(item, above=_above(place)) for item in found]


def _above(place: Path) -> tuple[str, ...]:
    """Name the folders above a file, as its path was typed and as it leads there; a home folder says nothing."""
    named: list[str] = []
    for path in (place.expanduser(), place.expanduser().resolve()):
        for folder in path.parents:
            if folder == Path.home() or folder in Path.home().parents:
                break
            named.append(folder.name)
    return tuple(dict.fromkeys(filter(None, named)))


def _out_of_zip(place: Path) -> list[Found]:
    """Read one file out of a zip, given as it is printed: below the zip's own name, with or without its ending."""
    for folder in place.parents:
        archives = [folder] if folder.is_file() and _is_zip(folder.name) else []
        if folder.is_dir():
            stem = place.relative_to(folder).parts[0]
            archives = [path for path in sorted(folder.iterdir()) if _is_zip(path.name) and path.stem == stem]
            folder = folder / stem
        for archive in archives:
            inside = place.relative_to(folder).as_posix()
            chosen = [item for item in settled(_read(archive), str(archive)) if _as_shown(inside, item.name)]
            if chosen:
                above = tuple(dict.fromkeys([*reversed(PurePosixPath(chosen[0].name).parts[:-1]), *_above(archive)]))
                return [replace(chosen[0], above=above)]
        if folder.exists():
            break
    raise BadData(f"There is nothing at {place}: give the folder or zip with the hand-ins, or one file in them.")


def _as_shown(typed: str, name: str) -> bool:
    """Say whether a path inside a zip is meant; a zip in it may be written with its ending or without."""
    return name in (typed, re.sub(r"\.zip/", "/", typed, flags=re.I))


def _read(place: Path) -> list[Found]:
    found: list[Found] = []
    single = [place, *(path for path in map(place.with_name, exchange.BESIDE) if path.is_file())]
    for path in _files_in(place) if place.is_dir() else single:
        name = path.relative_to(place).as_posix() if place.is_dir() else path.name
        try:
            status = path.stat()
        except OSError as error:
            found.append(Found(name, datetime.fromtimestamp(0, UTC), b"", f"it cannot be read ({error.strerror})"))
            continue
        if place.is_dir() and path.is_symlink():
            # What it leads to may be anything on this machine.
            found.append(Found(name, datetime.fromtimestamp(0, UTC), b"", "it is a link, not a file of its own"))
            continue
        when = datetime.fromtimestamp(status.st_mtime, UTC).replace(microsecond=0)
        if not _is_zip(path.name):
            _add(found, [_take(name, status.st_size, when, path.read_bytes)], place)
            continue
        try:
            archive = _opened_zip(path, name)
        except BadData:
            if not place.is_dir():
                raise
            found.append(Found(name, when, b"", _NO_ZIP))
            continue
        with archive:
            _add(found, _from_zip(archive, f"{path.stem}/" if place.is_dir() else ""), place)
    return found


def _add(found: list[Found], more: Iterable[Found], place: Path) -> None:
    """Take more files, but not more than a homework can have."""
    for one in more:
        found.append(one)
        if len(found) > _MOST_FILES:
            raise BadData(f"There are more than {_MOST_FILES} files in {place}: give the folder of one homework.")


def settled(found: list[Found], place: str) -> list[Found]:
    """Leave out what is no hand-in of anybody, and read what lies beside hand-ins that came through an exchange.

    Parameters
    ----------
    found : list of Found
        As read.
    place : str
        Where, in words.

    Returns
    -------
    list of Found
        In the same order.

    Raises
    ------
    BadData
        If nothing is left.
    """
    beside = {item.name: item.content for item in found if _lies_beside(item.name) and not item.fault}
    # In a folder that a student handed in through an exchange the homework counts, and nothing that lies with it.
    whole = {
        str(PurePosixPath(item.name).parent)
        for item in found
        if exchange.lesson_of(PurePosixPath(item.name).parent.name) == PurePosixPath(item.name).stem
    }
    kept = []
    for item in found:
        path = PurePosixPath(item.name)
        # Beside a notebook that is an instructor's own lie its data, and come back with it.
        if item.name in beside or path.name.startswith((".", "._")) or BESIDE in path.parts:
            continue
        # Jupyter's own copy of the last saved state is no version that anybody handed in.
        if ".ipynb_checkpoints" in path.parts:
            continue
        home = next((str(folder) for folder in path.parents if str(folder) in whole), "")
        if home and (str(path.parent) != home or path.stem != exchange.lesson_of(path.parent.name)):
            continue
        origin = exchange.origin(item.name, beside)
        when = exchange.of_stamp(origin.stamp) if origin else None
        kept.append(replace(item, origin=origin, when=when or item.when))
    if not kept:
        raise BadData(f"{place} is empty: give the folder or zip in which the hand-ins are.")
    return kept


def read_exchange(folder: Path, lesson: str) -> list[Found]:
    """Read what was handed in of one homework through an exchange, every version of it.

    Parameters
    ----------
    folder : pathlib.Path
        The exchange.
    lesson : str
        Key of the homework.

    Returns
    -------
    list of Found
        In order of the names there.

    Raises
    ------
    BadData
        If there is no such exchange, or nothing was handed in.
    """
    inbound = exchange.inbound(folder)
    found: list[Found] = []
    for home in sorted(inbound.iterdir()):
        origin = exchange.origin(f"{home.name}/{lesson}.ipynb", {})
        if origin is None or origin.lesson != lesson:
            continue
        fault = exchange.put_by_somebody_else(home, origin.student)
        inside = [] if home.is_symlink() or fault else _read(home)
        if home.is_symlink() or not (fault or inside):
            fault = "it is a link, not a folder" if home.is_symlink() else "nothing in it can be read"
        if fault:
            found.append(Found(f"{home.name}/", exchange.of_stamp(origin.stamp) or NO_TIME, b"", fault))
        found += [replace(item, name=f"{home.name}/{item.name}") for item in inside]
    if not found:
        raise BadData(f"Nothing of '{lesson}' was handed in through {folder} yet.")
    return settled(found, str(inbound))


def words_of(text: str) -> list[str]:
    """Give the words of a name without capitals, accents and signs, so that they can be compared.

    Parameters
    ----------
    text : str
        A name as somebody wrote it.

    Returns
    -------
    list of str
        The words, in order.
    """
    plain = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", plain.translate(_PLAIN))


def _name_in(text: str, lesson: str) -> str:
    """Give the student's name in one part of a path: what is left without the lesson's name and additions."""
    text = re.sub(r"\s*\(\d+\)$", "", text)
    text = re.sub(re.escape(lesson).replace(r"\-", r"[\s_-]*"), " ", text, flags=re.I)
    # Long words of the lesson's name are no part of a student's; short ones such as "an" may be.
    others = _NOT_A_NAME | {word for word in words_of(lesson) if len(word) > 3}
    return "-".join(word for word in words_of(text) if word not in others)


def _label(name: str, lesson: str, crowded: set[str]) -> str:
    path = PurePosixPath(name)
    who = "-".join(words_of(handed_out_as(name)))
    if who:
        return who
    for folder in path.parents:
        if folder.name and str(folder) not in crowded and _name_in(folder.name, lesson):
            return _name_in(folder.name, lesson)
    return _name_in(path.stem, lesson)


def full_names(path: Path) -> dict[str, str]:
    """Give the names on the class list as they are written there, by student id; empty without a list.

    Parameters
    ----------
    path : pathlib.Path
        The file; it need not exist.

    Returns
    -------
    dict of str to str
        An id without a name has an empty one.

    Raises
    ------
    BadData
        If the file cannot be used.
    """
    return {student: name.strip() for student, name in _class_list(path) or ()}


def read_roster(path: Path) -> dict[str, list[str]] | None:
    """Read the class list, if there is one: a CSV with a column ``student`` and, if wanted, ``name``.

    Parameters
    ----------
    path : pathlib.Path
        The file; it need not exist.

    Returns
    -------
    dict of str to list of str, or None
        Words of the name by student id; None without a list.

    Raises
    ------
    BadData
        If the file has no such column, or an id twice.
    """
    listed = _class_list(path)
    return None if listed is None else {student: words_of(name) for student, name in listed}


def _class_list(path: Path) -> list[tuple[str, str]] | None:
    """Read the class list as ids and names."""
    listed = people(path) if as_written(path).exists() else None
    return None if listed is None else [(student, about["name"]) for student, about in listed.items()]


def as_written(path: Path) -> Path:
    """Find a file whose name somebody may have written with other capitals: ``Students.csv``.

    Parameters
    ----------
    path : pathlib.Path
        As it should be called.

    Returns
    -------
    pathlib.Path
        The file that is there; ``path`` itself where there is none.
    """
    if path.exists() or not path.parent.is_dir():
        return path
    return min((each for each in path.parent.iterdir() if each.name.casefold() == path.name.casefold()), default=path)


def people(path: Path) -> dict[str, dict[str, str]]:
    """Read the class list with all its columns; empty without one.

    Parameters
    ----------
    path : pathlib.Path
        The file; it need not exist.

    Returns
    -------
    dict of str to dict of str to str
        By student id: ``name``, and what other columns there are, by their heads in small letters.

    Raises
    ------
    BadData
        If the file cannot be used.
    """
    path = as_written(path)
    if not path.exists():
        return {}
    wanted = (
        f"{path} has no column 'student': its first line should be 'student,name', and each line below it one "
        "student, for example 'finch-7,Finch Seven'."
    )
    if not path.read_bytes().strip():
        raise BadData(wanted)
    table = tables.read(path)
    if "student" not in table.columns:
        raise BadData(wanted)
    listed: dict[str, dict[str, str]] = {}
    for row in table.rows:
        student = "-".join(words_of(row["student"]))
        if not student:
            continue
        if re.search(r"[,;\t]", row["student"]):
            signs = {",": "commas", ";": "semicolons", "\t": "tabs"}
            raise BadData(
                f"{path} has the line '{row['student']}', and the others have {signs[table.sign]} between columns: "
                "write it like them."
            )
        if student in listed:
            raise BadData(f"{path} names the student '{student}' twice: give each an id of their own.")
        about = {head.casefold(): tables.meant(text.strip()) for head, text in row.items() if head != "student"}
        listed[student] = {"name": "", **about}
    return listed


def spelled_alike(words: Iterable[str]) -> list[str]:
    """Give words so that those with an accent and those with it spelled out are one: Grünwald, Gruenwald, Grunwald.

    Parameters
    ----------
    words : iterable of str
        Of a name, without capitals and accents.

    Returns
    -------
    list of str
        In the same order; other names may become one as well, so what is written alike goes first.
    """
    return [re.sub("aa|ae", "a", word).replace("oe", "o").replace("ue", "u") for word in words]


def _on_roster(name: str, roster: dict[str, list[str]]) -> list[str]:
    """Find whom on the class list a name may mean; with accents spelled out, where it means nobody as it stands."""
    alike = {student: spelled_alike(names) for student, names in roster.items()}
    return _named(words_of(name), roster) or _named(spelled_alike(words_of(name)), alike)


def _named(words: list[str], roster: dict[str, list[str]]) -> list[str]:
    joined = f"-{'-'.join(words)}-"
    by_id = [student for student in roster if f"-{student}-" in joined]
    # An id that stands within a longer one is not meant for itself.
    by_id = [one for one in by_id if not any(one != other and f"-{one}-" in f"-{other}-" for other in by_id)]
    by_name = [student for student, names in roster.items() if names and set(names) <= set(words)]
    # The words of one's whole name may stand within another's: then the longer one is meant.
    by_name = [
        one for one in by_name if not any(set(roster[one]) < set(roster[other]) for other in by_name if other != one)
    ]
    return list(dict.fromkeys([*by_id, *by_name]))


# How learning platforms name what they hand out of an assignment, all in one zip. Moodle, mod/assign/locallib.php:
# the whole name, the number of the participant, the kind of the submission, and the student's own file, in a folder
# of its own or in one name. Canvas, lib/content_zipper.rb: the name as it is sorted, in small letters and without
# signs, LATE, the number of the person and of the file, and the student's own file.
_MOODLE = re.compile(r"(?P<who>[^/]+?)_(?P<number>\d+)_assignsubmission_[a-z]+(?:_|$)(?P<own>[^/]*)")
_CANVAS = re.compile(r"(?P<who>[^\W\d_]\w*?)_(?P<late>LATE_)?\d{3,}_(?P<file>\d{3,})_[^/]+")


def handed_out_as(name: str) -> str:
    """Give the name of the person for whom a learning platform named a file.

    Parameters
    ----------
    name : str
        Path of the file inside the zip.

    Returns
    -------
    str
        The name as the platform writes it; empty where this is no such file.
    """
    for part in PurePosixPath(name).parts:
        found = _MOODLE.fullmatch(part)
        if found is not None:
            return found["who"]
    found = _of_canvas(name)
    return found["who"] if found is not None else ""


def _of_canvas(name: str) -> re.Match[str] | None:
    """Find what the one platform calls a file, or the zip in which it lay."""
    parts = reversed(PurePosixPath(name).parts)
    return next((found for part in parts if (found := _CANVAS.fullmatch(part))), None)


def said_by_platform(name: str) -> str:
    """Give what a learning platform says of the time of a file, where the file's own time is that of the download.

    Parameters
    ----------
    name : str
        Path of the file inside the zip.

    Returns
    -------
    str
        ``late`` or ``in time`` and the number of the file; empty where the file's own time can be believed.
    """
    found = _of_canvas(name)
    return "" if found is None else f"{'late' if found['late'] else 'in time'} {found['file']}"


def _by_platform(who: str, roster: dict[str, list[str]]) -> list[str]:
    """Find whom a platform's name of a person means: a whole name, its words in any order, also without spaces."""
    alike = {student: spelled_alike(names) for student, names in roster.items()}
    return (
        _whole_name(words_of(who), roster)
        or _on_roster(who, roster)
        or _whole_name(spelled_alike(words_of(who)), alike)
    )


def _whole_name(words: list[str], roster: dict[str, list[str]]) -> list[str]:
    together = "".join(words)
    found = []
    for student, names in roster.items():
        turned = {"".join([*names[at:], *names[:at]]) for at in range(len(names))}
        if together and (
            together in turned or together == "".join(words_of(student)) or sorted(words) == sorted(names)
        ):
            found.append(student)
    return found


def _whose(name: str, roster: dict[str, list[str]]) -> list[str]:
    """Find whose a file is; where a platform says it, what a student called the file does not count against it."""
    who = handed_out_as(name)
    if not who:
        return _on_roster(name, roster)
    return _by_platform(who, roster) or [one for one in _on_roster(name, roster) if not roster[one]]


def _of_one(item: Found, roster: dict[str, list[str]]) -> list[str]:
    """Find whose a file is by its name, or where it was given alone by the folders above it, the nearest first.

    A folder that a learning platform named goes before what a student called the file in it.
    """
    below = PurePosixPath(item.name).name
    whose = _whose(item.name, roster)
    for folder in item.above:
        if handed_out_as(folder) or not whose:
            whose = _whose(f"{folder}/{below}", roster) or whose
    return whose


def _as_typed_inside(item: Found, several: list[str], roster: dict[str, list[str]]) -> list[str]:
    """Of several whom one name in a path fits, choose the one whose own name is typed in the file."""
    from needlework.desk.hand_in import typed_name

    typed = sorted(words_of(typed_name(item.content)))
    meant = [one for one in several if typed and typed in (sorted(words_of(one)), sorted(roster[one]))]
    at_once = any(set(_whose(part, roster)) == set(several) for part in PurePosixPath(item.name).parts)
    # Two names in two places, or one after the other, may be two persons, one of whom had the other's file.
    ways = [
        {tuple(sorted(spelled_alike(words))) for words in (words_of(one), roster[one]) if words} for one in several
    ]
    return meant if len(meant) == 1 and at_once and set.intersection(*ways) else []


def the_student(named: str, roster: dict[str, list[str]] | None) -> str:
    """Find the student that an instructor names: by id or by the whole name on the class list.

    Parameters
    ----------
    named : str
        As it was typed.
    roster : dict or None
        Class list, if there is one.

    Returns
    -------
    str
        Student's id at the desk.

    Raises
    ------
    BadData
        If nobody or more than one is meant.
    """
    if roster is None:
        student = "-".join(words_of(named))
        if not student:
            raise BadData(f"'{named}' is no name: give the student's name or number in letters and digits.")
        return student
    meant = _on_roster(named, roster)
    if len(meant) != 1:
        why = "is not on the class list" if not meant else f"may be {' or '.join(meant)}"
        near = "" if meant else _nearest(named, roster)
        raise BadData(f"'{named}' {why}: give the word in its column 'student'.{near}")
    return meant[0]


def _nearest(named: str, roster: dict[str, list[str]]) -> str:
    """Name up to three students of the class list whose word or name is written nearly like this."""
    asked = " ".join(words_of(named))
    written = {" ".join(words_of(student)): student for student in roster}
    written |= {" ".join(names): student for student, names in roster.items() if names}
    near = {written[each]: None for each in difflib.get_close_matches(asked, written, 3, 0.6)}
    return f" Did you mean {' or '.join(near)}?" if near else ""


def is_whole(content: bytes, names: set[str]) -> bool:
    """Say whether a file is a notebook of this lesson that can be read to its end.

    Parameters
    ----------
    content : bytes
        What is in the file.
    names : set of str
        Names of the lesson's answer and marked cells.

    Returns
    -------
    bool
        False for a damaged one.
    """
    inside = _questions_in(content)
    return inside is not None and bool(inside & names)


def _questions_in(content: bytes) -> set[str] | None:
    """Give the names of the marked and answer cells in a notebook; None if it is damaged."""
    from needlework.desk.hand_in import name_of, parsed

    try:
        return {name_of(cell) for cell in parsed(content)["cells"]}
    except BadData:
        return None


def _typed_in(content: bytes) -> str:
    """Say which name was typed in a file, as a clause; empty for none."""
    from needlework.desk.hand_in import printable, typed_name

    name = typed_name(content)
    return f" (typed in it is “{printable(name, 80)}”)" if name else ""


def _fault(item: Found, roster: dict[str, list[str]] | None, student: str) -> str:
    """Say why a file was not read, and who sent it where its name tells that."""
    if item.fault != NO_NOTEBOOK:
        return item.fault
    whose = [student] if student else _of_one(item, roster) if roster else []
    ending = PurePosixPath(item.name).suffix.lower().lstrip(".")
    kind = next((kind for kind, endings in _KINDS.items() if ending in endings), "another file")
    return f"{whose[0]} sent {kind}: {item.fault}" if len(whose) == 1 else item.fault


def match(
    found: list[Found],
    lesson: str,
    names: set[str],
    roster: dict[str, list[str]] | None,
    student: str = "",
    of_other: Callable[[bytes, bool], str] = lambda _, __: "",
) -> tuple[list[HandIn], list[tuple[str, str]]]:
    """Find whose each file is.

    Parameters
    ----------
    found : list of Found
        As read.
    lesson : str
        Lesson key.
    names : set of str
        Names of the lesson's answer and marked cells.
    roster : dict or None
        Class list, if there is one.
    student : str
        Whose all of them are, if the instructor says so; otherwise it is read from their paths.
    of_other : callable
        From a file, and whether a question of this homework is in it, of which other homework it is, in one clause;
        empty where of none that is known.

    Returns
    -------
    list of HandIn
        What belongs to a student, oldest first.
    list of tuple of str
        What does not: its name, and why in one clause.
    """
    own = [item for item in found if not item.fault]
    homes = Counter(str(PurePosixPath(item.name).parent) for item in own)
    # A folder with several notebooks is the class's, not one student's.
    crowded = {home for home, number in homes.items() if number > 1}
    matched, listed = [], [(item.name, _fault(item, roster, student)) for item in found if item.fault]
    named = {id(item): item.origin.student for item in own if item.origin is not None and item.origin.student}
    as_ids: dict[str, set[str]] = {}
    for name in named.values():
        as_ids.setdefault("-".join(words_of(name)), set()).add(name)
    for item in own:
        if item.origin is not None and item.origin.lesson not in ("", lesson):
            # In an exchange all homework lies in one folder.
            continue
        inside = _questions_in(item.content)
        if inside is not None:
            other = of_other(item.content, bool(inside & names))
            if other or not inside & names:
                listed.append((item.name, other or f"there is no question of '{lesson}' in it"))
                continue
        remedy = "rename it to NAME.ipynb and collect again, or collect this file with --student NAME"
        if student:
            whose = [student]
        elif id(item) in named:
            as_id = "-".join(words_of(named[id(item)]))
            whose = [exchange.meant(named[id(item)], roster, as_id)]
            if not whose[0] or len(as_ids[as_id]) > 1:
                why = "is not on the class list" if not whose[0] else f"and {len(as_ids[as_id]) - 1} more look alike"
                listed.append((item.name, f"{named[id(item)]} {why}: collect this file with --student NAME"))
                continue
        elif roster is not None:
            whose = _of_one(item, roster)
            if len(whose) > 1:
                whose = _as_typed_inside(item, whose, roster) or whose
            if len(whose) != 1:
                why = "no name of the class list" if not whose else f"several names ({', '.join(whose)})"
                listed.append((item.name, f"{why} {NAMELESS}{_typed_in(item.content)}: {remedy}"))
                continue
        else:
            platform = next((folder for folder in item.above if handed_out_as(folder)), "")
            whose = [_label(f"{platform}/{item.name}" if platform else item.name, lesson, crowded)]
            if not whose[0]:
                listed.append((item.name, f"no name {NAMELESS}{_typed_in(item.content)}: {remedy}"))
                continue
        matched.append(HandIn(whose[0], item))
    return sorted(matched, key=lambda one: (one.found.when, one.found.name)), listed
