"""Files of a desk: written whole or not at all, by one command at a time; what goes wrong is told in one sentence."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

from needlework.basis.errors import BadData

_FULL = {errno.ENOSPC, errno.EDQUOT}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


def write(path: Path, content: str | bytes) -> None:
    """Write a file so that it is there whole or, if anything stops this, as it was before.

    Parameters
    ----------
    path : pathlib.Path
        The file; its folder is made if it is not there.
    content : str or bytes
        What is to be in it.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name[:100]}.part")
    # A text of a hand-in's code may hold half a letter, which no file can.
    part.write_bytes(content.encode("utf-8", "replace") if isinstance(content, str) else content)
    os.replace(part, path)


def digest(*parts: bytes) -> str:
    """Give the same short text for the same contents, and another for any others.

    Parameters
    ----------
    *parts : bytes
        Contents.

    Returns
    -------
    str
        SHA-256 in hexadecimal.
    """
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


def stops_everything(error: OSError) -> bool:
    """Say whether an error of the disk is one that the next file would have as well."""
    return error.errno in _FULL | _FORBIDDEN | {errno.EIO}


@contextlib.contextmanager
def told(folder: Path) -> Iterator[None]:
    """Tell what the disk refuses in one sentence.

    Parameters
    ----------
    folder : pathlib.Path
        The desk.

    Raises
    ------
    BadData
        In place of the error; what was written before is whole.
    """
    try:
        yield
    except OSError as error:
        where = error.filename or folder
        if error.errno in _FULL:
            raise BadData(
                f"The disk of {folder} is full: make room there and type the same again; what is done so far is kept."
            ) from error
        if error.errno in _FORBIDDEN:
            raise BadData(
                f"{where} cannot be written to or read: is the folder yours, and may its disk be written to?"
            ) from error
        raise BadData(f"{where} cannot be used ({error.strerror or error}): type the same again.") from error


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Keep a desk for one command.

    Parameters
    ----------
    folder : pathlib.Path
        The desk.

    Raises
    ------
    BadData
        If another command is at work on it.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / ".in-use").open("a+b") as file:
        if not _kept(file.fileno()):
            raise BadData(
                f"Another command is at work on the desk {folder}: wait until it is done and type the same again."
            )
        # The system lets go of it when this process ends, in whatever way.
        yield


def _kept(number: int) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(number, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EAGAIN, errno.EACCES, errno.EDEADLK):
            return False
        # A disk that knows no locks: two at once are then the instructor's own care.
    return True
