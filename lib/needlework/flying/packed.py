"""Recordings as they come: plain, or packed by a website or a mail program (``.gz``, ``.zip``, ``.kmz``)."""

from __future__ import annotations

import contextlib
import gzip
import zipfile
import zlib
from collections.abc import Collection, Iterator
from pathlib import Path, PurePosixPath
from typing import Any

from needlework.basis.errors import BadData

_ARCHIVES = (".zip", ".kmz")
PACKED = (".gz", *_ARCHIVES)
"""Endings of packed files."""


@contextlib.contextmanager
def opened(path: Path, endings: Collection[str]) -> Iterator[tuple[Path, Any]]:
    """Open a recording for reading, unpacked as it is read.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    endings : collection of str
        Endings of what may lie in an archive.

    Yields
    ------
    pathlib.Path
        The name that says what it is: that of the file inside, where it is packed.
    binary stream
        What it holds, from the beginning.

    Raises
    ------
    BadData
        If it is packed, and damaged, locked, or holds no recording or several.
    """
    suffix = path.suffix.lower()
    try:
        if suffix == ".gz":
            with gzip.open(path, "rb") as stream:
                yield path.with_suffix(""), stream
        elif suffix in _ARCHIVES:
            with zipfile.ZipFile(path) as archive, _inside(path, archive, endings) as stream:
                yield path.with_suffix(Path(stream.name).suffix), stream
        else:
            with path.open("rb") as stream:
                yield path, stream
    except (gzip.BadGzipFile, zipfile.BadZipFile, EOFError, zlib.error) as fault:
        raise BadData(f"{path.name}: is damaged and cannot be unpacked: fetch it again") from fault


def _inside(path: Path, archive: zipfile.ZipFile, endings: Collection[str]) -> Any:
    name = _the_one(path, archive, endings)
    try:
        return archive.open(name)
    except RuntimeError as fault:  # a password, or a packing that Python does not know
        raise BadData(f"{path.name}: is locked or packed in a way of its own: unpack it, and give {name}") from fault


def _the_one(path: Path, archive: zipfile.ZipFile, endings: Collection[str]) -> str:
    """Find the recording in an archive; what a Mac puts beside each file is none."""
    names = [
        name
        for name in archive.namelist()
        if PurePosixPath(name).suffix.lower() in endings and not name.startswith("__MACOSX/")
    ]
    if len(names) != 1:
        held = "no recording" if not names else f"{len(names)} recordings"
        raise BadData(f"{path.name}: holds {held}: unpack it and give the files, {', '.join(sorted(endings))}")
    return names[0]
