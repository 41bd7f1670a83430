"""The settings of a block: YAML in which every value is a text unless it is a plain number, true or false.

Only the nodes of the YAML parser are used, so no value is turned into a date, an octal number or a "no" behind
the author's back. The compiled and the pure parser give the same.
"""

from __future__ import annotations

import re
from typing import Any

import yaml

from needlework.building.faults import Faults

LOADERS: tuple[Any, ...] = tuple(getattr(yaml, name) for name in ("CBaseLoader", "BaseLoader") if hasattr(yaml, name))
"""Parsers that can be used, the fastest first."""

_INT = re.compile(r"[-+]?(0|[1-9][0-9]*)")
_FLOAT = re.compile(r"[-+]?(0|[1-9][0-9]*)\.[0-9]+")
_LEADING_ZERO = re.compile(r"[-+]?0[0-9.]*[0-9]")
_TEXT_TAG = "tag:yaml.org,2002:str"
_QUOTE = "needs quotation marks"


class Settings(dict[str, Any]):
    """A mapping that knows the line of each of its keys."""

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.lines: dict[str, int] = {}

    def take_as(self, written: str, meant: str) -> None:
        """Go on with a mistyped key as the one that was meant, so that nothing that follows from it is told.

        Parameters
        ----------
        written, meant : str
            The key as it stands, and the known key; nothing is done where that is empty or stands there, too.
        """
        if meant and meant not in self:
            self[meant] = self.pop(written)
            self.lines[meant] = self.lines.pop(written)

    def line_of(self, key: str) -> int:
        """Give the line of a key, or of the whole where the key is not written here.

        Parameters
        ----------
        key : str
            Name of a setting.

        Returns
        -------
        int
            Line of the file.
        """
        return self.lines.get(key, self.line)


def read(text: str, first: int, where: str, faults: Faults, loader: Any = LOADERS[0]) -> Settings | None:
    """Read settings.

    Parameters
    ----------
    text : str
        What stands in the fence.
    first : int
        Line of the file at which it begins.
    where : str
        Label of the block.
    faults : Faults
        Where to tell what is wrong.
    loader : class
        The parser.

    Returns
    -------
    Settings or None
        None where nothing can be made of it.
    """
    lines = text.split("\n")

    def shown(row: int) -> str:
        return lines[row].strip()[:50] if row < len(lines) else ""

    try:
        for event in yaml.parse(text, loader):
            if getattr(event, "anchor", None):
                row = event.start_mark.line
                faults.add(first + row, where, f"`{shown(row)}`: a value that begins with * or & {_QUOTE}")
                return None
        node = yaml.compose(text, loader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        row, column = (mark.line, mark.column + 1) if mark else (0, 1)
        faults.add(
            first + min(row, len(lines) - 1),
            where,
            f"cannot be read at column {column} (`{shown(min(row, len(lines) - 1))}`): a value with a colon and a "
            f"blank after it, or one that begins with {{, [, *, &, %, @ or `, {_QUOTE} "
            f"({getattr(error, 'problem', error)})",
        )
        return None
    if node is None:
        return Settings(first)
    if not isinstance(node, yaml.MappingNode):
        faults.add(first, where, f"`{shown(node.start_mark.line)}`: expected lines `name: value`")
        return None
    return _mapping(node, lines, first, where, faults)


def _mapping(node: Any, lines: list[str], first: int, where: str, faults: Faults) -> Settings:
    made = Settings(first + node.start_mark.line)
    for key, value in node.value:
        line = first + key.start_mark.line
        if not isinstance(key, yaml.ScalarNode):
            faults.add(line, where, f"`{lines[key.start_mark.line].strip()[:50]}`: expected a name before the colon")
            continue
        if key.value in made:
            faults.add(line, where, f"`{key.value}` stands twice (first on line {made.lines[key.value]})")
        made[key.value] = _plain(value, lines, first, where, faults)
        made.lines[key.value] = line
    return made


def _plain(node: Any, lines: list[str], first: int, where: str, faults: Faults) -> Any:
    if isinstance(node, yaml.MappingNode):
        return _mapping(node, lines, first, where, faults)
    if isinstance(node, yaml.SequenceNode):
        return [_plain(each, lines, first, where, faults) for each in node.value]
    line, value = first + node.start_mark.line, node.value
    if node.tag not in (_TEXT_TAG, None, "", "!"):
        faults.add(line, where, f"`{lines[node.start_mark.line].strip()[:50]}`: a value that begins with ! {_QUOTE}")
        return value
    # The compiled parser says '' and the pure one None of a value without quotation marks.
    if node.style:
        return value
    if _INT.fullmatch(value):
        return int(value)
    if _FLOAT.fullmatch(value):
        return float(value)
    if value in ("true", "false"):
        return value == "true"
    if _LEADING_ZERO.fullmatch(value):
        faults.add(line, where, f"`{value}`: numbers have no leading zeros; a text of digits {_QUOTE}")
        return float(value)
    written = lines[node.start_mark.line][node.start_mark.column :]
    lost = re.match(r"\s+(#.*)", written[len(value) :]) if value and written.startswith(value) else None
    if lost:
        faults.add(
            line, where, f"everything from ` #` on is lost (`{lost[1][:30]}`): `{value[:30]}` with it {_QUOTE}"
        )
    return value
