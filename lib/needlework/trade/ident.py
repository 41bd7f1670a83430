"""Identification: Morse letters, when VOR and DME send them, how they sound, what they prove."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import NoSolution, OutOfRange
from needlework.basis.quantity import Constant, Floats, Result, one, one_among, one_of, plain, shown, within, yes_no

VOR_TONE_HZ = Constant(1020.0, "Hz", "AIM-1-1-7", "figure from memory")
DME_TONE_HZ = Constant(1350.0, "Hz", "AIM-1-1-7", "figure from memory")
SPEED_WPM = Constant(7.0, "words/min", "ANX10", "figure from memory")
CYCLE_S = Constant(30.0, "s", "IFH9", "the DME sends once in about this time, p. 9-17")
DASH_UNITS = Constant(3.0, "dots", "ITU")
LETTER_GAP_UNITS = Constant(3.0, "dots", "ITU")
WORD_GAP_UNITS = Constant(7.0, "dots", "ITU")
UNITS_PER_WORD = Constant(50.0, "dots", "TM11-459", "PARIS and the gap after it")
EDGE_S = Constant(0.005, "s", "common-practice", "rise and fall of a keyed tone: shorter edges click")

MORSE: dict[str, str] = {
    "A": ".-", "B": "-...", "C": "-.-.", "D": "-..", "E": ".", "F": "..-.", "G": "--.", "H": "....", "I": "..",
    "J": ".---", "K": "-.-", "L": ".-..", "M": "--", "N": "-.", "O": "---", "P": ".--.", "Q": "--.-", "R": ".-.",
    "S": "...", "T": "-", "U": "..-", "V": "...-", "W": ".--", "X": "-..-", "Y": "-.--", "Z": "--..",
    "1": ".----", "2": "..---", "3": "...--", "4": "....-", "5": ".....", "6": "-....", "7": "--...", "8": "---..",
    "9": "----.", "0": "-----",
}  # fmt: skip
"""Code of every letter and figure (ITU-R M.1677-1)."""
_LETTER = {code: letter for letter, code in MORSE.items()}

SENDS: tuple[str, ...] = ("ident", "test", "silent")
"""What a transmitter may send: its letters, the word TEST, or nothing."""
_MOST_LETTERS = 40
"""More than any group of letters that a station sends, or a pilot practises."""
DME_EVERY: tuple[int, ...] = (4, 5)
"""Idents in one cycle of which the DME sends one: three or four of the VOR to one of the DME."""


@dataclass(frozen=True)
class Sent:
    """One identification as it goes on the air.

    Parameters
    ----------
    start_s : float
        Moment of the first dot or dash. [s]
    kind : str
        ``"VOR"`` or ``"DME"``.
    letters : str
        What is sent.
    """

    start_s: float
    kind: str
    letters: str


@dataclass(frozen=True)
class Proof:
    """What an identification proves.

    Parameters
    ----------
    vor : bool
        The VOR may be used.
    dme : bool
        The DME may be used.
    reason : str
        One sentence for the pilot.
    """

    vor: bool
    dme: bool
    reason: str


def _letters(letters: str, name: str = "letters") -> str:
    text = letters.upper() if isinstance(letters, str) else ""
    if not text or len(text) > _MOST_LETTERS or any(sign not in MORSE for sign in text):
        raise OutOfRange(
            f"{name} = {shown(letters)} cannot be sent: expected up to {_MOST_LETTERS} letters A to Z and figures, "
            "for example 'OVK'"
        )
    return text


def _wpm(speed_wpm: ArrayLike) -> Floats:
    return within("speed_wpm", speed_wpm, 3.0, 30.0, "words/min")


def code(letters: str) -> str:
    """Write letters in Morse.

    Parameters
    ----------
    letters : str
        Letters and figures without blanks.

    Returns
    -------
    str
        Dots and dashes, a blank between letters.

    Raises
    ------
    OutOfRange
        If there is nothing to send, or more than 40 letters, or a sign has no code here.

    Notes
    -----
    Source: ``ITU``.

    Terms: Morse; ident in Morse.

    Examples
    --------
    >>> code("OVK")
    '--- ...- -.-'
    """
    return " ".join(MORSE[sign] for sign in _letters(letters))


def decode(text: str) -> str:
    """Read letters from Morse.

    Parameters
    ----------
    text : str
        Dots and dashes, blanks between letters.

    Returns
    -------
    str
        The letters.

    Raises
    ------
    OutOfRange
        If a group is the code of no letter or figure.

    Notes
    -----
    Source: ``ITU``.

    Terms: Morse.

    Examples
    --------
    >>> decode("--- ..- -.-")
    'OUK'
    """
    groups = text.split() if isinstance(text, str) else []
    wrong = [group for group in groups if group not in _LETTER]
    if wrong or not groups:
        raise OutOfRange(
            f"text = {shown(wrong[0] if wrong else text)} is not Morse for a letter: expected dots and dashes, "
            "a blank between letters, for example '--- ...- -.-'"
        )
    return "".join(_LETTER[group] for group in groups)


def dot_s(speed_wpm: ArrayLike = SPEED_WPM) -> Result:
    """Length of a dot at a speed in words a minute.

    Parameters
    ----------
    speed_wpm : float or array_like, default 7
        Speed. [words/min], 3 to 30.

    Returns
    -------
    float or numpy.ndarray
        Length of one dot, in the shape of the input. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The standard word PARIS takes 50 dots with the gap after it: 1.2 s over the speed.
    Source: ``TM11-459``.

    Terms: Morse speed; dot in Morse.

    Examples
    --------
    >>> round(dot_s(), 3)
    0.171
    """
    return plain(60.0 / (UNITS_PER_WORD * _wpm(speed_wpm)))


def units(letters: str) -> int:
    """Length of a group of letters in dots, without the gap after it.

    Parameters
    ----------
    letters : str
        Letters and figures without blanks.

    Returns
    -------
    int
        Length. [dots]

    Raises
    ------
    OutOfRange
        If there is nothing to send, or more than 40 letters, or a sign has no code here.

    Notes
    -----
    A dash is three dots, the gap inside a letter one, between letters three. Source: ``ITU``.

    Terms: Morse length.

    Examples
    --------
    >>> units("PARIS"), units("TEST")
    (43, 21)
    """
    text = _letters(letters)
    signs = sum(sum(3 if mark == "-" else 1 for mark in MORSE[sign]) + len(MORSE[sign]) - 1 for sign in text)
    return signs + 3 * (len(text) - 1)


def duration_s(*, letters: str, speed_wpm: float = SPEED_WPM) -> float:
    """Time a group of letters takes on the air, without the gap after it.

    Parameters
    ----------
    letters : str
        Letters and figures without blanks.
    speed_wpm : float, default 7
        Speed. [words/min], 3 to 30.

    Returns
    -------
    float
        Length. [s]

    Raises
    ------
    OutOfRange
        If there is nothing to send, a sign has no code here, or the speed is outside its range.

    Notes
    -----
    :func:`units` times :func:`dot_s`. Source: ``ITU``.

    Terms: Morse length; ident: how long it takes.

    Examples
    --------
    >>> round(duration_s(letters="TEST"), 2)
    3.6
    """
    return units(letters) * float(dot_s(one("speed_wpm", _wpm(speed_wpm))))


def key_times_s(*, letters: str, speed_wpm: float = SPEED_WPM) -> Floats:
    """When the key goes down and up.

    Parameters
    ----------
    letters : str
        Letters and figures without blanks.
    speed_wpm : float, default 7
        Speed. [words/min], 3 to 30.

    Returns
    -------
    numpy.ndarray
        One row for each dot or dash: down, up, from the start of the group; shape (marks, 2). [s]

    Raises
    ------
    OutOfRange
        If there is nothing to send, a sign has no code here, or the speed is outside its range.

    Notes
    -----
    Source: ``ITU``.

    Terms: Morse timing.

    Examples
    --------
    >>> (key_times_s(letters="N") / dot_s()).round(6).tolist()
    [[0.0, 3.0], [4.0, 5.0]]
    """
    rows, now = [], 0.0
    for sign in _letters(letters):
        for mark in MORSE[sign]:
            end = now + (DASH_UNITS if mark == "-" else 1.0)
            rows.append((now, end))
            now = end + 1.0
        now += LETTER_GAP_UNITS - 1.0
    return np.array(rows) * float(dot_s(one("speed_wpm", _wpm(speed_wpm))))


def schedule(
    *,
    letters: str,
    duration_s: float,
    vor: str = "ident",
    dme: str = "ident",
    speed_wpm: float = SPEED_WPM,
    cycles: int = 4,
) -> tuple[Sent, ...]:
    """Say which ident goes on the air when: VOR and DME of one station take turns.

    Parameters
    ----------
    letters : str
        The station's ident.
    duration_s : float
        How long to listen. [s], 1 to 600.
    vor, dme : {"ident", "test", "silent"}
        What each transmitter sends; a station without DME is silent there.
    speed_wpm : float, default 7
        Speed. [words/min], 3 to 30.
    cycles : {4, 5}
        Idents in 30 s, of which the last is the DME's: three or four of the VOR to one of the DME.

    Returns
    -------
    tuple of Sent
        Every ident that starts within the time, in order.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or a state is unknown.
    NoSolution
        If an ident is too long for its turn at this speed.

    Notes
    -----
    Half a minute is cut into equal turns; the DME's turn stays empty when it is silent, so a single
    ident about every 30 s means: DME only. Source: ``IFH9`` p. 9-17; ``AIM-1-1-3`` c for TEST.

    Terms: ident: when it is sent.

    Examples
    --------
    >>> [(sent.start_s, sent.kind) for sent in schedule(letters="OVK", duration_s=30.0)]
    [(0.0, 'VOR'), (7.5, 'VOR'), (15.0, 'VOR'), (22.5, 'DME')]
    >>> [sent.start_s for sent in schedule(letters="OVK", duration_s=60.0, vor="silent")]
    [22.5, 52.5]
    """
    end_s = one("duration_s", within("duration_s", duration_s, 1.0, 600.0, "s", "is this in minutes?"))
    dot = float(dot_s(one("speed_wpm", _wpm(speed_wpm))))
    text = _letters(letters)
    for name, state in (("vor", vor), ("dme", dme)):
        one_of(name, state, SENDS, "what a station sends")
    of_them = int(
        one_among("cycles", cycles, DME_EVERY, "idents in 30 s is not how stations take turns: expected 4 or 5")
    )
    turn_s = CYCLE_S / of_them
    sent = []
    for turn in range(int(np.ceil(end_s / turn_s))):
        kind = "DME" if turn % of_them == of_them - 1 else "VOR"
        state = dme if kind == "DME" else vor
        if state == "silent":
            continue
        group = "TEST" if state == "test" else text
        if (units(group) + LETTER_GAP_UNITS) * dot > turn_s:
            raise NoSolution(
                f"{group} takes longer than its turn of {turn_s:g} s at {float(speed_wpm):g} words/min: "
                "send it faster, or take 4 turns"
            )
        sent.append(Sent(float(turn * turn_s), kind, group))
    return tuple(sent)


def tone(
    *, letters: str, tone_hz: float = VOR_TONE_HZ, speed_wpm: float = SPEED_WPM, sample_hz: float = 8000.0
) -> Floats:
    """Sound of a group of letters, ready to be played.

    Parameters
    ----------
    letters : str
        Letters and figures without blanks.
    tone_hz : float, default 1,020
        Pitch. [Hz], 200 to 3,000.
    speed_wpm : float, default 7
        Speed. [words/min], 3 to 30.
    sample_hz : float, default 8,000
        Samples in a second. [Hz], 6,000 to 48,000.

    Returns
    -------
    numpy.ndarray
        Samples, -1 to 1, from the first dot to the end of the last; shape (samples,).

    Raises
    ------
    OutOfRange
        If a value is outside its range, or a sign has no code here.

    Notes
    -----
    A sine keyed by raised-cosine edges of 5 ms, centred on the moments of :func:`key_times_s`, so that
    dots keep their length and the key does not click. Source: ``ITU``; the edges ``common-practice``.

    Terms: Morse: how it sounds.

    Examples
    --------
    >>> round(len(tone(letters="E")) / 8000.0, 2)
    0.18
    """
    pitch = one("tone_hz", within("tone_hz", tone_hz, 200.0, 3000.0, "Hz"))
    rate = one("sample_hz", within("sample_hz", sample_hz, 6000.0, 48000.0, "Hz", "is this in kHz?"))
    keys = key_times_s(letters=letters, speed_wpm=speed_wpm)
    count = int(np.ceil((keys[-1, 1] + EDGE_S) * rate)) + 1
    time = np.arange(count) / rate - EDGE_S / 2.0
    loud = np.zeros(count)
    for down, up in keys:
        inside = np.clip(np.minimum(time - down, up - time) / EDGE_S + 0.5, 0.0, 1.0)
        loud = np.maximum(loud, 0.5 - 0.5 * np.cos(np.pi * inside))
    return np.asarray(loud * np.sin(2.0 * np.pi * pitch * time))


def audio(
    *,
    letters: str,
    duration_s: float,
    vor: str = "ident",
    dme: str = "ident",
    speed_wpm: float = SPEED_WPM,
    sample_hz: float = 8000.0,
    cycles: int = 4,
) -> Floats:
    """Sound of a station over time: the VOR's low tone and the DME's high one in turn.

    Parameters
    ----------
    letters : str
        The station's ident.
    duration_s : float
        How long to listen. [s], 1 to 600.
    vor, dme : {"ident", "test", "silent"}
        What each transmitter sends.
    speed_wpm : float, default 7
        Speed. [words/min], 3 to 30.
    sample_hz : float, default 8,000
        Samples in a second. [Hz], 6,000 to 48,000.
    cycles : {4, 5}
        Idents in 30 s, of which the last is the DME's.

    Returns
    -------
    numpy.ndarray
        Samples, -1 to 1, shape (duration times rate,).

    Raises
    ------
    OutOfRange
        If a value is outside its range, or a state is unknown.
    NoSolution
        If an ident is too long for its turn at this speed.

    Notes
    -----
    1,020 Hz for the VOR, 1,350 Hz for the DME. Source: ``AIM-1-1-7`` (the figures from memory).

    Terms: ident: how it sounds.

    Examples
    --------
    >>> audio(letters="OVK", duration_s=30.0).shape
    (240000,)
    """
    turns = schedule(letters=letters, duration_s=duration_s, vor=vor, dme=dme, speed_wpm=speed_wpm, cycles=cycles)
    rate = one("sample_hz", within("sample_hz", sample_hz, 6000.0, 48000.0, "Hz", "is this in kHz?"))
    samples = np.zeros(round(duration_s * rate))
    for sent in turns:
        sound = tone(
            letters=sent.letters,
            tone_hz=VOR_TONE_HZ if sent.kind == "VOR" else DME_TONE_HZ,
            speed_wpm=speed_wpm,
            sample_hz=rate,
        )
        start = round(sent.start_s * rate)
        room = samples[start : start + len(sound)]
        room += sound[: len(room)]
    return samples


def prove(*, letters: str, vor_heard: str, dme_heard: str = "", withdrawn: bool = False) -> Proof:
    """Say what may be used after listening for at least half a minute.

    Parameters
    ----------
    letters : str
        Ident of the station that is wanted.
    vor_heard, dme_heard : str
        Letters heard in the low and in the high tone; empty for silence.
    withdrawn : bool, default False
        The station is notified out of service.

    Returns
    -------
    Proof
        What may be used, and why or why not.

    Raises
    ------
    OutOfRange
        If the wanted ident, or what was heard, cannot be sent in Morse.

    Notes
    -----
    The ident is the only proof of the right station; silence means tune-up or repair even if the needle
    lives; TEST means do not use; a station notified out of service is not used even with its ident. One
    high-toned ident in about 30 s: only the DME works. Source: ``AIM-1-1-11``, ``AIM-1-1-3`` c,
    ``IFH9`` p. 9-17.

    Terms: ident: what it proves; TEST; station out of service.

    Examples
    --------
    >>> prove(letters="OVK", vor_heard="OUK", dme_heard="OUK").reason
    'Do not use: OUK is another station. A steady needle proves only that some station is there.'
    >>> prove(letters="OVK", vor_heard="", dme_heard="OVK").vor
    False
    >>> prove(letters="OVK", vor_heard="", dme_heard="OVK").dme
    True
    """
    wanted = _letters(letters)
    low, high = (
        "" if isinstance(heard, str) and not heard else _letters(heard, name)
        for name, heard in (("vor_heard", vor_heard), ("dme_heard", dme_heard))
    )
    if yes_no("withdrawn", withdrawn):
        return Proof(False, False, "Do not use: the station is notified out of service, whatever it sends.")
    if "TEST" in (low, high):
        return Proof(False, False, "Do not use: TEST means that the station is being worked on.")
    if not low and not high:
        return Proof(False, False, "Do not use: no ident, so nothing proves which station this is or that it works.")
    others = [heard for heard in (low, high) if heard and heard != wanted]
    if others and wanted not in (low, high):
        return Proof(
            False,
            False,
            f"Do not use: {others[0]} is another station. A steady needle proves only that some station is there.",
        )
    if others:
        which = "VOR" if low == wanted else "DME"
        return Proof(
            low == wanted,
            high == wanted,
            f"Use the {which} only: the two receivers are on different stations, the other one sends {others[0]}.",
        )
    if not low:
        return Proof(False, True, "Use the DME only: the high tone alone, about every 30 seconds, means no VOR.")
    if not high:
        return Proof(True, False, "Use the VOR only: no high tone in half a minute, so the DME is not identified.")
    return Proof(True, True, "Both may be used: low and high tone send the right letters.")
