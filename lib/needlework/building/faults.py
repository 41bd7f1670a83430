"""Faults of a lesson's file: all of them at once, each with its line and what was expected there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True, order=True)
class Fault:
    """One fault.

    Parameters
    ----------
    line : int
        Line of the file, from 1.
    says : str
        What is wrong, what was expected, what to do.
    where : str
        Label of the block; empty outside of one.
    """

    line: int
    says: str
    where: str = field(default="", compare=False)

    def told(self, file: str) -> str:
        """Give the line that is printed.

        Parameters
        ----------
        file : str
            Name of the file.

        Returns
        -------
        str
            ``file:line: block: what is wrong``.
        """
        return f"{file}:{self.line}: {self.where}: {self.says}" if self.where else f"{file}:{self.line}: {self.says}"


class Faults:
    """Collects faults; the same cause on the same line is told once."""

    def __init__(self) -> None:
        self._found: dict[tuple[int, str], Fault] = {}

    def add(self, line: int, where: str, says: str, once: bool = False) -> None:
        """Note a fault.

        Parameters
        ----------
        line : int
            Line of the file.
        where : str
            Label of the block.
        says : str
            What is wrong and what was expected.
        once : bool
            True for a cause outside of this block: it is told where it shows first.
        """
        # What is drawn differs from block to block where one is like another; the cause does not.
        at = 0 if once else line
        self._found.setdefault((at, says.partition(" (drawn: ")[0]), Fault(line, says, where))

    def __len__(self) -> int:
        return len(self._found)

    def sorted(self) -> list[Fault]:
        """Give them in the order of the file.

        Returns
        -------
        list of Fault
            Sorted by line.
        """
        return sorted(self._found.values())


def near(word: str, words: Iterable[str]) -> str:
    """Offer the known word that is most like a mistyped one.

    Parameters
    ----------
    word : str
        What was written.
    words : iterable of str
        What is known.

    Returns
    -------
    str
        The end of a sentence, empty if nothing is like it.
    """
    found = meant(word, words)
    return f"; did you mean `{found}`?" if found else ""


def meant(word: str, words: Iterable[str]) -> str:
    """Give the known word that is most like a mistyped one.

    Parameters
    ----------
    word : str
        What was written.
    words : iterable of str
        What is known.

    Returns
    -------
    str
        Empty if nothing is like it.
    """
    return next(iter(difflib.get_close_matches(word, list(words), 1, 0.6)), "")


def listed(words: Iterable[str]) -> str:
    """Write names one after another for a message.

    Parameters
    ----------
    words : iterable of str
        The names.

    Returns
    -------
    str
        Sorted, in backquotes, with commas; "nothing" where there is none.
    """
    return ", ".join(f"`{word}`" for word in sorted(words)) or "nothing"
