"""A flight of the learner's own, handed in as its file in place of one flown on the panel.

The file comes from a simulator, a receiver or a recorder, in any format :mod:`needlework.flying.tracklog` reads, and
may bring the procedure that was flown. Both are kept as they came, in one text that goes where the text of a recording
goes: into the learner's folder, into the notebook, to the desk.

What it is worth. The seal notices that the text was changed after it was handed in. What was in the file before that
nobody can vouch for: the desk checks what it can, and a person looks at the rest.
"""

from __future__ import annotations

import base64
import hashlib
import json
import tempfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from needlework.basis.errors import BadData
from needlework.exercises import recording
from needlework.exercises.recording import OWN_HEAD, Recording
from needlework.flying.tracklog import CAUTION

if TYPE_CHECKING:
    from needlework.debrief import Debrief
    from needlework.flying.tracklog import Track
    from needlework.world.procedure import Procedure

FORMATS = (".csv", ".gpx", ".kml", ".igc", ".nmea")
"""Endings of the files that are taken."""

ENDED = "handed in as a file"
_HEAD_BYTES = 2_000
# How files begin that are no text, and what they are.
_NO_TEXT = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"RIFF": "a picture or a sound",
    b"%PDF": "a PDF page",
    b"PK\x03\x04": "a packed file: unpack it first, and choose what is inside",
}
_MOST_BYTES = 3_000_000
_MOST_OPENED = 64_000_000


@dataclass(frozen=True)
class OwnFlight(Recording):
    """One flight handed in as a file; ``about`` says besides ``file``, its name, and ``procedure``, the learner's own."""

    @property
    def content(self) -> bytes:
        """The file as it came; BadData where it cannot be unpacked."""
        try:
            packed = base64.b64decode(self.text.splitlines()[2], validate=True)  # behind the head and its seal
            opening = zlib.decompressobj()
            content = opening.decompress(packed, _MOST_OPENED)
        except (ValueError, IndexError, zlib.error):
            raise BadData(f"{self.file} was damaged on its way: hand the file in again.") from None
        return content

    @property
    def file(self) -> str:
        """Name of the file."""
        return str(self.about["file"])

    @property
    def digest(self) -> str:
        """What tells this file from every other."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def track(self) -> Track:
        """The flown track."""
        from needlework.flying import tracklog

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / self.file
            path.write_bytes(self.content)
            return tracklog.read(path)

    @property
    def flown_s(self) -> float:
        """How long was flown. [s]"""
        times = self.track.time_s
        return float(times[-1] - times[0])

    @property
    def by_the_course(self) -> str:
        """Say that the course's own pilot flew it; empty where it is not so."""
        head = self.content[:_HEAD_BYTES]
        # What a person flew on the panel says so in its head; what else the course writes its own pilot has flown.
        if CAUTION.encode() not in head or recording.HEAD.encode() in head:
            return ""
        return (
            f"{self.file} was flown by the course's own pilot, not by you: it does not count. "
            "Choose the recording of a flight that you flew."
        )

    def way(self, published: str) -> Procedure:
        """Give the procedure that was flown: the learner's own, or the published one of that name."""
        from needlework.world import procedure

        own = self.about.get("procedure")
        if not own:
            return procedure.load(published)
        # What was in force when it was handed in is judged by that, however late it is marked.
        day = datetime.fromisoformat(str(self.about["start_utc"])).date()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / str(own["file"])
            path.write_text(str(own["text"]), encoding="utf-8")
            return procedure.load(path, day)

    def report(self, published: str) -> Debrief:
        """Have the examiner judge it; BadData where the flight has nothing to do with the procedure."""
        from needlework import debrief

        # Nobody knows what was flown: its speeds are not judged.
        return debrief.debrief(self.track, self.way(published))


def handed_in(
    name: str,
    about: Mapping[str, Any],
    file: tuple[str, bytes],
    own: tuple[str, bytes] | None = None,
    *,
    published: str,
) -> OwnFlight:
    """Take a flight that is handed in as a file, and see that it can be judged.

    Parameters
    ----------
    name : str
        Name of the exercise.
    about : mapping
        Whose it is, as in a recording flown on the panel.
    file : tuple of (name, content)
        The recording, in one of :data:`FORMATS`.
    own : tuple of (name, content), optional
        The procedure that was flown, as a file of the course's format.
    published : str
        Name of the procedure that is meant without one.

    Returns
    -------
    OwnFlight
        To be kept with :func:`keep`.

    Raises
    ------
    BadData
        One sentence: what was wrong, what was expected, what to do.
    """
    names = Path(file[0].replace("\\", "/")).name
    if Path(names).suffix.lower() not in FORMATS:
        raise BadData(f"{names or 'The file'} is no recording of a flight: expected {', '.join(FORMATS)}.")
    if not file[1].strip():
        raise BadData(f"{names}: the file is empty. Nothing was recorded, or it was not saved: choose another one.")
    kind = next((said for begin, said in _NO_TEXT.items() if file[1].startswith(begin)), None)
    if kind is not None:
        raise BadData(f"{names}: this is no recording of a flight. Whatever its name says, it is {kind}.")
    packed = zlib.compress(file[1], 9)
    if len(packed) > _MOST_BYTES:
        raise BadData(f"{names} is too large to be handed in: expected one approach; cut the recording to it.")
    head: dict[str, Any] = {"name": name, "start_utc": datetime.now(UTC).isoformat(timespec="milliseconds"), **about}
    head |= {"file": names, "procedure": None if own is None else _own_procedure(*own)}
    pieces = [f"{OWN_HEAD}{json.dumps(head, sort_keys=True)}\n", base64.b64encode(packed).decode("ascii") + "\n"]
    flight = read(recording.sealed_pieces(pieces))
    flight.report(published)
    return flight


def _own_procedure(name: str, content: bytes) -> dict[str, str]:
    file = Path(name.replace("\\", "/")).name
    if Path(file).suffix.lower() != ".toml":
        raise BadData(f"{file or 'The procedure'} is no procedure file: expected a text file that ends in .toml.")
    try:
        return {"file": file, "text": content.decode("utf-8-sig")}
    except UnicodeDecodeError:
        raise BadData(f"{file} is not plain text in UTF-8: save it again as that.") from None


def read(text: str) -> OwnFlight:
    """Read the text of a flight handed in as a file; BadData if it is none."""
    pieces = [f"{line}\n" for line in text.splitlines() if not line.startswith("# seal ")]
    try:
        about = json.loads(pieces[0][len(OWN_HEAD) :])
        datetime.fromisoformat(about["start_utc"])
        str(about["name"]), str(about["file"])
    except (ValueError, TypeError, KeyError, IndexError):
        raise BadData("This is not a flight that was handed in as a file.") from None
    same = recording.sealed_pieces(pieces) == text
    why = "" if same else f"{about['file']} was changed after it was handed in: its seal does not fit."
    return OwnFlight(about, same, why, ENDED, text)


def keep(flight: OwnFlight) -> Path:
    """Write it into the learner's folder, beside what was flown on the panel; BadData where nothing can be written."""
    return recording.keep(str(flight.about["name"]), flight.text, ".own")
