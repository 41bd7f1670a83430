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
        self._found: dict[Fault, None] = {}

    def add(self, line: int, where: str, says: str) -> None:
        """Note a fault.

        Parameters
        ----------
        line : int
            Line of the file.
        where : str
            Label of the block.
        says : str
            What is wrong and what was expected.
        """
        self._found.setdefault(Fault(line, says, where))

    def __len__(self) -> int:
        return len(self._found)

    def sorted(self) -> list[Fault]:
        """Give them in the order of the file.

        Returns
        -------
        list of Fault
            Sorted by line.
        """
        return sorted(self._found)


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
    found = difflib.get_close_matches(word, list(words), 1, 0.6)
    return f"; did you mean `{found[0]}`?" if found else ""


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
