"""What goes into the installed package: the lessons as learners get them and the data, and no solution of any lesson.

It is used by setuptools alone, which loads this file by itself.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from setuptools.command.build_py import build_py

FOLDERS = {"datasets": "datasets", "lessons": "released"}
"""From the checkout's folder to the package's."""


class WithLessons(build_py):  # type: ignore[misc]
    """Copies the library as always, and the released lessons and the data into it."""

    def _beside(self) -> dict[str, Path]:
        return {
            path.as_posix(): Path(inside, path.relative_to(folder))
            for folder, inside in FOLDERS.items()
            for path in sorted(Path(folder).rglob("*"))
            if path.is_file() and not any(part.startswith(".") for part in path.parts)
        }

    def run(self) -> None:
        """Build; an installation that only points at the checkout needs no copies."""
        super().run()
        if not self.editable_mode:
            for source, inside in self._beside().items():
                target = Path(self.build_lib, "needlework", inside)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)

    def get_source_files(self) -> list[str]:
        """List what a source archive needs, for a package built from one."""
        return [*super().get_source_files(), *self._beside()]
