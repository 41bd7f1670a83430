"""A flight flown by hand, written down as it is flown, second by second, under a running seal.

The file is a CSV that :mod:`needlework.flying.tracklog` reads like any other. Besides the rows it has remarks: what
was flown, at the head, and after every row a seal over everything so far. A crash can cost the row being
written and nothing else.

What the seal is worth. It notices a row changed, added, moved or cut out by hand or by accident, and a
recording put under another exercise or another name. It does not stop a person who reads this module and
computes the seals anew: the course runs on the learner's own machine, and nothing there can be kept from
its owner.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import io
import json
import math
import os
import re
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from needlework.basis.errors import BadData
from needlework.exercises import progress
from needlework.flying.tracklog import CAUTION, COLUMNS, Track

_SEAL_KEY = b"needlework recording 1"
HEAD = "# flight "
"""How the line begins that says what was flown on the panel."""
_SEAL, _END = "# seal ", "# ended "
OWN_HEAD = "# own flight "
"""How the text of a flight begins that was handed in as a file; :mod:`needlework.exercises.own_flight` reads it."""
_FORMATS = {column.name: column.decimals for column in COLUMNS}
_NAMES = tuple(_FORMATS)
_FLAGS = {1: "TO", 0: "OFF", -1: "FROM"}
_MOST_BYTES = 5_000_000
MIME = "application/vnd.needlework.flight"
"""Kind of output under which a recording travels inside a notebook: for good, since copies of learners hold it."""


def slug(name: str) -> str:
    """Write a name so that it can be part of a file name anywhere."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "flight"


def folder() -> Path:
    """Where recordings go: ``flights`` beside the notebook, or where ``NEEDLEWORK_FLIGHTS`` says."""
    named = os.environ.get("NEEDLEWORK_FLIGHTS")
    return Path(named) if named else Path.cwd() / "flights"


def places_of(lesson: str, root: Path) -> tuple[Path, ...]:
    """Give the folders in which recordings of a lesson may lie.

    Parameters
    ----------
    lesson : str
        Lesson key.
    root : pathlib.Path
        The folder of a learner or a teacher.

    Returns
    -------
    tuple of pathlib.Path
        The one beside the start page and the one beside the lesson; they may not exist.
    """
    return root / "flights", root / lesson / "flights"


def _places(where: Path | None = None) -> list[Path]:
    """Give the folders in which recordings are kept and looked for: the one that is named, or all."""
    return [where] if where is not None else [folder(), progress.folder() / "flights"]


class Recorder:
    """Writes one recording, a row at a time; every row is on the disk, sealed, when :meth:`add` returns.

    Parameters
    ----------
    name : str
        Name of the exercise; begins the file name.
    about : mapping
        What was flown: plain texts and numbers, kept at the head under the seal.
    where : Path, optional
        Folder; by default :func:`folder`, or the learner's own folder if that cannot be written to.

    Raises
    ------
    BadData
        If neither folder can be written to.
    """

    def __init__(self, name: str, about: Mapping[str, Any], where: Path | None = None) -> None:
        now = datetime.now(UTC)
        file, self.path = _open_new(name, now, _places(where), ".csv")
        self._file: io.TextIOWrapper | None = file
        self._seals = _Seals()
        self._write(_header(name, about, now))

    def _write(self, text: str) -> None:
        assert self._file is not None
        # One call, one piece: what another program sees ends with a whole line.
        self._file.write(self._seals.add(text))
        self._file.flush()

    def add(self, row: Mapping[str, float]) -> None:
        """Write one row: a number for each column of :data:`needlework.flying.tracklog.COLUMNS`, nan for none."""
        self._write(_row(row))

    def close(self, how: str = "") -> None:
        """End the recording and say how it ended; a second call does nothing. Without a word it is broken off."""
        if self._file is None:
            return
        if how:
            self._write(f"{_END}{how}\n")
        os.fsync(self._file.fileno())
        self._file.close()
        self._file = None


def sealed(name: str, about: Mapping[str, Any], track: Track, how: str) -> str:
    """Write a track the model has flown as the text of a recording, sealed like one flown by hand."""
    seals, columns = _Seals(), {column: getattr(track, column) for column in _NAMES}
    rows = (
        {column: math.nan if values is None else float(values[i]) for column, values in columns.items()}
        for i in range(len(track.time_s))
    )
    parts = [_header(name, about, datetime.now(UTC)), *map(_row, rows), f"{_END}{how}\n"]
    return "".join(map(seals.add, parts))


def sealed_pieces(pieces: Sequence[str]) -> str:
    """Put a seal behind each piece of a text."""
    return "".join(map(_Seals().add, pieces))


def keep(name: str, text: str, ending: str) -> Path:
    """Write a text into the folder of recordings under the name of an exercise; BadData where nothing can be written."""
    file, path = _open_new(name, datetime.now(UTC), _places(), ending)
    with file:
        file.write(text)
    return path


def packed(text: str) -> str:
    """Pack a recording so that it can stand in a notebook's output and be handed in with the notebook."""
    return base64.b64encode(zlib.compress(text.encode("utf-8"), 9)).decode("ascii")


def unpacked(packed_text: object) -> Recording:
    """Take a recording out of a notebook's output again; BadData if there is none in it."""
    try:
        raw = base64.b64decode(str(packed_text), validate=True)
        inflating = zlib.decompressobj()
        plain = inflating.decompress(raw, _MOST_BYTES)
        if not inflating.eof:
            raise ValueError("cut short")
        return read(plain.decode("utf-8"))
    except (ValueError, zlib.error) as fault:
        raise BadData("A flight in this notebook cannot be unpacked.") from fault


class _Seals:
    """The running seal: each piece of text goes in and comes back with the seal over everything so far."""

    def __init__(self) -> None:
        self._seal = _new_seal()

    def add(self, text: str) -> str:
        self._seal.update(text.encode("utf-8"))
        seal = _seal_line(self._seal)
        self._seal.update(seal.encode("utf-8"))
        return text + seal


def _header(name: str, about: Mapping[str, Any], now: datetime) -> str:
    head = {"name": name, "start_utc": now.isoformat(timespec="milliseconds"), **about}
    return (
        f"# {CAUTION}\n{HEAD}{json.dumps(head, sort_keys=True)}\n# start_utc {head['start_utc']}\n"
        f"{','.join(_NAMES)}\n"
    )


def _row(row: Mapping[str, float]) -> str:
    return ",".join(_cell(name, row[name]) for name in _NAMES) + "\n"


def _open_new(name: str, now: datetime, places: list[Path], ending: str) -> tuple[io.TextIOWrapper, Path]:
    stem = f"{slug(name)}-{now:%Y%m%d-%H%M%S}"
    for place in places:
        for number in range(1, 100):
            path = place / (f"{stem}{ending}" if number == 1 else f"{stem}-{number}{ending}")
            try:
                place.mkdir(parents=True, exist_ok=True)
                return path.open("x", encoding="utf-8", newline="\n"), path
            except FileExistsError:
                continue
            except OSError:
                break
    raise BadData(f"The flight cannot be recorded: {places[0]} cannot be written to. Move the notebook elsewhere.")


def _new_seal() -> hmac.HMAC:
    return hmac.new(_SEAL_KEY, digestmod=hashlib.sha256)


def _seal_line(seal: hmac.HMAC) -> str:
    """The line that seals everything written so far."""
    return f"{_SEAL}{seal.hexdigest()[:24]}\n"


def _cell(name: str, value: float) -> str:
    if np.isnan(value):
        return ""
    if name.startswith("flag"):
        return _FLAGS[round(value)]
    return f"{value:.{_FORMATS[name]}f}"


@dataclass(frozen=True)
class Recording:
    """One recording read back.

    Parameters
    ----------
    about : dict
        What was flown, from the head of the file; ``name`` and ``start_utc`` besides.
    intact : bool
        True if every seal is right from the head to the last row.
    why : str
        What is wrong with the seals, in one sentence; empty when nothing is.
    ended : str
        How the flight ended; empty if it was broken off.
    text : str
        The file itself, to hand on.
    path : Path or None
        Where it lies, if it came from a file.
    """

    about: dict[str, Any]
    intact: bool
    why: str
    ended: str
    text: str
    path: Path | None = None

    @property
    def track(self) -> Track:
        """The flown track; BadData where there are too few rows for one."""
        rows = [line.split(",") for line in self.text.splitlines() if line and not line.startswith("#")]
        header, body = rows[0], rows[1:]
        values = {"TO": 1.0, "FROM": -1.0, "OFF": 0.0, "": np.nan}
        try:
            table = np.array(
                [[values[c] if c in values else float(c) for c in row] for row in body], dtype=np.float64
            )
            columns = {name: table[:, place] for place, name in enumerate(header) if name in _FORMATS}
        except (ValueError, IndexError) as fault:
            raise BadData(f"The recording {self.about['name']} has rows that cannot be read as numbers.") from fault
        start = datetime.fromisoformat(str(self.about["start_utc"]))
        return Track(**columns, start_utc=start, name=str(self.about["name"]))  # type: ignore[arg-type]

    @property
    def flown_s(self) -> float:
        """How long was flown. [s]"""
        last = [line for line in self.text.splitlines() if line and line[0].isdigit()][-1:]
        return float(last[0].partition(",")[0]) if last else 0.0


def read(source: Path | str) -> Recording:
    """Read a recording from its file (a Path) or from its text, and check its seals.

    Raises
    ------
    BadData
        If it is no recording of a flight flown by hand, or much too long for one.
    """
    path = source if isinstance(source, Path) else None
    name = path.name if path else "The text"
    if path is not None:
        try:
            if path.stat().st_size > _MOST_BYTES:
                raise BadData(f"{name} is too long for a recording: is it another file?")
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as fault:
            raise BadData(f"{name} cannot be read: is it a recording of a flight?") from fault
    else:
        text = str(source)
    if text.startswith(OWN_HEAD):
        from needlework.exercises import own_flight

        return replace(own_flight.read(text), path=path)
    head = next((line for line in text.splitlines() if line.startswith(HEAD)), None)
    try:
        about = json.loads((head or "")[len(HEAD) :])
        datetime.fromisoformat(about["start_utc"])
        str(about["name"])
    except (ValueError, TypeError, KeyError) as fault:
        raise BadData(f"{name} is not a recording of a flight flown by hand in a panel.") from fault
    whole, why = _checked(text)
    ended = next((line[len(_END) :] for line in whole.splitlines() if line.startswith(_END)), "")
    return Recording(about, not why, why, ended, whole, path)


def _checked(text: str) -> tuple[str, str]:
    """Return what is whole of the text, and what is wrong with its seals."""
    seal, rows, whole = _new_seal(), 0, 0
    at, loose = 0, 0
    # A line without its end was being written when the machine stopped.
    lines = text[: text.rfind("\n") + 1].splitlines(keepends=True)
    for line in lines:
        at += len(line)
        if line.startswith(_SEAL):
            if line != _seal_line(seal):
                return text, f"The recording was changed at or before row {rows}: its seal there does not fit."
            whole, loose = at, 0
        else:
            loose += 1
            rows += line[0].isdigit()
        seal.update(line.encode("utf-8"))
    # So was one whole line without its seal; more than one were added later.
    if loose > 1 or not rows:
        return text, "The recording has rows without a seal." if rows else "The recording holds no flight."
    return text[:whole], ""


def newest(name: str, where: Path | None = None) -> Recording | None:
    """Give the newest whole recording of an exercise that was flown to an end, or None."""
    found = [one for one in every(name, where, own=True) if one.ended]
    return found[-1] if found else None


def every(name: str, where: Path | None = None, own: bool = False) -> list[Recording]:
    """Give all recordings of an exercise, the oldest first; files that are none are passed over.

    ``own``: those handed in as a file as well.
    """
    found = []
    for place in _places(where):
        endings = (".csv", ".own") if own else (".csv",)
        for path in (each for ending in endings for each in place.glob(f"{slug(name)}-*{ending}")):
            try:
                one = read(path)
            except BadData:
                continue
            if one.about["name"] == name:
                found.append(one)
    return sorted(found, key=lambda one: (one.about["start_utc"], len(str(one.path)), str(one.path)))
