"""The lines of a lesson's file: prose, notes and blocks with their settings, texts and cells."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from needlework.building import settings
from needlework.building.faults import Faults, meant, near
from needlework.building.settings import LOADERS, Settings

_OPEN = re.compile(r"(:{3,})\s*\{([\w-]+)\}\s*(.*?)\s*$")
_CLOSE = re.compile(r"(:{3,})\s*$")
_FENCE = re.compile(r"\s*(`{3,}|~{3,})\s*(\w*)[ \t]*([\w-]*)\s*$")
_NOTE = re.compile(r"<!--\s*([\w-]+)\s*(?::\s*(.*?))?\s*-->\s*$")
_BULLET = re.compile(r"(\s*)[-*+]\s+(.*)$")
_TEXTS = ("given", "hint", "model", "why", "look", "close", "also", "goal")
_ITEM = re.compile(
    r"(?:(?P<text>" + "|".join(_TEXTS) + r")"
    r"|(?P<often>slip|rare)\s+(?P<slip>[A-Z][A-Z0-9_]*(?: [A-Z0-9_]+)*(?:/[a-z0-9-]+)?)(?:\s*=\s*(?P<value>[^:]+?))?"
    r"|because\s+(?P<pair>[A-Z0-9]{2})"
    r"|text\s+(?P<named>[\w-]+)"
    r"|(?P<option>[A-Z0-9][A-Z0-9]*(?: [A-Z0-9]+)*))\s*:(?:\s+|$)(?P<says>.*)$"
)


@dataclass(frozen=True)
class Item:
    """One text of a block.

    Parameters
    ----------
    kind : str
        ``"option"``, ``"slip"``, ``"because"`` or the name of the text.
    says : str
        The text, its lines joined.
    line : int
        Line of the file.
    name : str
        Letter of the option, name of the slip or pair of the reason.
    value : str or None
        Of a slip: what stands behind ``=``.
    under : str
        Of a slip: the option it hangs below.
    taken : bool
        True where it is taken from another block.
    rare : bool
        Of a slip: True where it is named if the numbers tell it, and refuses no draw.
    """

    kind: str
    says: str
    line: int
    name: str = ""
    value: str | None = None
    under: str = ""
    taken: bool = False
    rare: bool = False


@dataclass
class Block:
    """A block as it is written.

    Parameters
    ----------
    kind, name : str
        What stands in the opening line.
    line : int
        Line of the opening.
    settings : Settings
        What stands in the fence of settings.
    prompt : str
        The text before the first item, paragraphs parted by line ends.
    items : list of Item
        The texts, in order.
    cells : list of Block
        The blocks within.
    code : dict of str to str
        Fences of code by their role: ``"worked"``, or empty for a plain one.
    broken : bool
        True where something could not be read, so that what follows from it is not told as well.
    """

    kind: str
    name: str
    line: int
    settings: Settings
    prompt: str = ""
    items: list[Item] = field(default_factory=list)
    cells: list[Block] = field(default_factory=list)
    code: dict[str, str] = field(default_factory=dict)
    broken: bool = False


@dataclass(frozen=True)
class Prose:
    """Text for the notebook, as it is written."""

    lines: tuple[str, ...]
    line: int


@dataclass(frozen=True)
class Note:
    """A note between blocks: ``<!-- name: value -->``."""

    name: str
    value: str
    line: int


Part = Prose | Note | Block


class _Reader:
    def __init__(self, lines: list[str], faults: Faults, loader: Any) -> None:
        self.lines = lines
        self.faults = faults
        self.loader = loader

    def parts(self, begin: int) -> list[Part]:
        """Read from a line (from 0) to the end of the file."""
        found: list[Part] = []
        prose: list[str] = []
        start = at = begin

        def flush() -> None:
            nonlocal prose
            while prose and not prose[-1].strip():
                prose.pop()
            skipped = 0
            while skipped < len(prose) and not prose[skipped].strip():
                skipped += 1
            if prose[skipped:]:
                found.append(Prose(tuple(prose[skipped:]), start + skipped + 1))
            prose = []

        while at < len(self.lines):
            line = self.lines[at]
            note, opened = _NOTE.match(line), _OPEN.match(line)
            if _FENCE.match(line) and not opened:
                end = self._fence_end(at, len(self.lines), "")
                prose += self.lines[at : end + 1]
                at = end + 1
                continue
            if note or opened or line.startswith("## "):
                flush()
                start = at
            if note:
                found.append(Note(note[1], note[2] or "", at + 1))
                at += 1
                start = at
            elif opened:
                block, at = self._block(at, len(self.lines))
                found.append(block)
                start = at
            else:
                if _CLOSE.match(line):
                    self.faults.add(
                        at + 1, "", f"`{line.strip()}` closes nothing: expected `:::{{kind}} label` before it"
                    )
                else:
                    prose.append(line)
                at += 1
        flush()
        return found

    def _fence_end(self, at: int, stop: int, where: str) -> int:
        """Index of the line that closes the fence of code begun on a line."""
        opened = _FENCE.match(self.lines[at])
        assert opened
        for end in range(at + 1, stop):
            if self.lines[end].strip().startswith(opened[1]) and not self.lines[end].strip().strip(opened[1][0]):
                return end
        self.faults.add(at + 1, where, f"this fence is never closed: expected a line `{opened[1]}`")
        return stop - 1

    def _block(self, at: int, stop: int) -> tuple[Block, int]:
        """Read the block opened on a line; give it with the index of the line after it."""
        opened = _OPEN.match(self.lines[at])
        assert opened
        colons, kind, name = opened.groups()
        block = Block(kind, name, at + 1, Settings(at + 1))
        end, after = self._end(at, stop, colons, name or kind)
        self._body(block, at + 1, end, len(colons))
        if after > end and end > at + 1 and self.lines[end - 1].strip():
            self.faults.add(
                end + 1,
                name,
                f"expected an empty line before `{colons}`, or a formatter takes it for part of the text",
            )
        return block, after

    def _end(self, at: int, stop: int, colons: str, where: str) -> tuple[int, int]:
        """Find the end of a block's lines and the line after its closing."""
        here = at + 1
        while here < stop:
            line = self.lines[here]
            if _FENCE.match(line):
                opened = _FENCE.match(line)
                assert opened
                here = (
                    next(
                        (e for e in range(here + 1, stop) if self.lines[e].strip() == opened[1]),
                        here,
                    )
                    + 1
                )
                continue
            closed, again = _CLOSE.match(line), _OPEN.match(line)
            if closed and len(closed[1]) == len(colons):
                return here, here + 1
            if (again and len(again[1]) >= len(colons)) or line.startswith("## ") or _NOTE.match(line):
                self.faults.add(
                    at + 1, where, f"this block is not closed before line {here + 1}: expected a line `{colons}`"
                )
                return here, here
            here += 1
        self.faults.add(at + 1, where, f"this block is never closed: expected a line `{colons}`")
        return stop, stop

    def _body(self, block: Block, at: int, stop: int, colons: int) -> None:
        paragraphs: list[list[str]] = [[]]
        rows: list[list[str]] | None = None  # of the item being read, by paragraph
        pending: dict[str, Any] = {}
        option = ""

        def finish() -> None:
            nonlocal rows
            if rows is not None:
                block.items.append(Item(says=_joined(rows), **pending))
            rows = None

        seen_settings = False
        while at < stop:
            line = self.lines[at]
            fence, opened, bullet = _FENCE.match(line), _OPEN.match(line), _BULLET.match(line)
            if fence:
                finish()
                end = self._fence_end(at, stop, block.name)
                body = self.lines[at + 1 : end]
                if fence[2] == "yaml" and seen_settings:
                    self.faults.add(at + 1, block.name, "a second fence of settings: expected one a block")
                elif fence[2] == "yaml":
                    seen_settings = True
                    read = settings.read("\n".join(body), at + 2, block.name, self.faults, self.loader)
                    if read is None:
                        block.broken = True
                    else:
                        read.line = block.line
                        block.settings = read
                elif fence[2] == "python":
                    if fence[3] in block.code:
                        self.faults.add(at + 1, block.name, "a second fence of this code: expected one")
                    block.code[fence[3]] = "\n".join(body)
                else:
                    self.faults.add(
                        at + 1,
                        block.name,
                        f"`{line.strip()}`: expected a fence of `yaml` (settings) or of `python worked`",
                    )
                    block.broken = True
                at = end + 1
                continue
            if opened:
                finish()
                cell, at = self._block(at, stop)
                block.cells.append(cell)
                continue
            if bullet:
                finish()
                item = _ITEM.match(bullet[2])
                nested = len(bullet[1]) >= 2
                if item is None:
                    # It goes on as what was meant, so that nothing that follows from it is told.
                    rows, pending = (
                        [[bullet[2]]],
                        {"kind": self._unknown_item(block, at + 1, bullet[2]), "line": at + 1},
                    )
                else:
                    rows = [[item["says"]]]
                    pending = self._item(item, at + 1, nested, option)
                    if pending["kind"] == "option":
                        option = pending["name"]
            elif rows is not None and line.startswith("  "):
                rows[-1].append(line.strip())
            elif not line.strip():
                if rows is not None:
                    rows.append([])
                else:
                    paragraphs.append([])
            elif _CLOSE.match(line):
                self.faults.add(at + 1, block.name, f"`{line.strip()}` closes nothing here")
            elif rows is not None or block.items:
                # After an item an unindented line still belongs to it for Markdown, and to nothing for a reader.
                self.faults.add(
                    at + 1,
                    block.name,
                    f"`{line.strip()[:40]}`: a text goes on with two blanks before it, or begins with `- name: `",
                )
            else:
                paragraphs[-1].append(line.strip())
            at += 1
        finish()
        block.items = [item for item in block.items if item.kind]
        block.prompt = _joined(paragraphs)

    def _item(self, found: re.Match[str], line: int, nested: bool, option: str) -> dict[str, Any]:
        if found["text"]:
            return {"kind": found["text"], "line": line}
        if found["slip"]:
            under = option if nested else ""
            rare = found["often"] == "rare"
            return {
                "kind": "slip",
                "line": line,
                "name": found["slip"],
                "value": found["value"],
                "under": under,
                "rare": rare,
            }
        if found["pair"]:
            return {"kind": "because", "line": line, "name": found["pair"]}
        if found["named"]:
            return {"kind": "text", "line": line, "name": found["named"]}
        return {"kind": "option", "line": line, "name": found["option"]}

    def _unknown_item(self, block: Block, line: int, text: str) -> str:
        """Tell of an item that is none, and give the kind of text it was meant to be, if that can be seen."""
        word = text.partition(":")[0].split(" ")[0]
        known = (*_TEXTS, "slip", "rare", "because", "text")
        self.faults.add(
            line,
            block.name,
            f"`- {text[:40]}`: expected `- hint:`, `- slip CODE = value:`, `- A:` or another text with its name"
            f"{near(word, known)}",
        )
        found = meant(word, known)
        return found if found in _TEXTS else ""


def _joined(paragraphs: list[list[str]]) -> str:
    """Join the lines of each paragraph with one blank, and the paragraphs with a line end."""
    whole = (" ".join(row.strip() for row in rows if row.strip()) for rows in paragraphs)
    return "\n".join(text for text in whole if text)


def scan(text: str, faults: Faults, loader: Any = LOADERS[0]) -> tuple[Settings, list[Part]]:
    """Take a lesson's file apart.

    Parameters
    ----------
    text : str
        The file.
    faults : Faults
        Where to tell what is wrong.
    loader : class
        The parser of settings.

    Returns
    -------
    tuple of (Settings, list)
        What stands at the top, and the parts in order.
    """
    lines = text.split("\n")
    top, begin = Settings(1), 0
    if lines[0].rstrip() != "---":
        faults.add(1, "", "expected `---`, then what the lesson is (key, title, ...), then `---` again")
    else:
        end = next((at for at in range(1, len(lines)) if lines[at].rstrip() == "---"), None)
        if end is None:
            faults.add(1, "", "the top of the file is never closed: expected a second line `---`")
            end = 0
        else:
            top = settings.read("\n".join(lines[1:end]), 2, "top of the file", faults, loader) or top
        begin = end + 1
    return top, _Reader(lines, faults, loader).parts(begin)
