"""Idents to be listened to: made by the library, played by the browser, readable as dots and dashes on request."""

from __future__ import annotations

import base64
import html
import io
import sys
import typing
import wave
from collections.abc import Sequence

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant
from needlework.exercises import progress
from needlework.trade import ident

SAMPLE_HZ = Constant(6000.0, "Hz", "common-practice", "four times the higher tone, and small enough for a notebook")
LISTEN_S = Constant(30.0, "s", "IFH9", "one round: three idents of the VOR and one of the DME, p. 9-17")
_LOUD = 0.6
_MIDDLE = 128


def sends(letters: str) -> str:
    """What a transmitter does that sends these letters: silent without any, TEST, else its ident."""
    return "silent" if not letters else "test" if letters == "TEST" else "ident"


def wav(low: str, high: str) -> bytes:
    """Give half a minute of a station as a sound file: the VOR's low tone, the DME's high one.

    Parameters
    ----------
    low, high : str
        Letters sent in each tone; empty for silence.

    Returns
    -------
    bytes
        WAV, one channel, 8 bits, 6,000 samples a second.

    Raises
    ------
    OutOfRange
        If both tones send letters, and not the same ones.
    """
    if low and high and low != high:
        raise OutOfRange(f"low = {low!r} and high = {high!r}: expected the same letters, as one station sends them")
    samples = ident.audio(
        letters=low if sends(low) == "ident" else high or "OVK",
        duration_s=LISTEN_S,
        vor=sends(low),
        dme=sends(high),
        sample_hz=SAMPLE_HZ,
    )
    frames = np.clip(np.round(_MIDDLE + _LOUD * (_MIDDLE - 1) * samples), 0, 255).astype(np.uint8)
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(round(SAMPLE_HZ))
        out.writeframes(frames.tobytes())
    return buffer.getvalue()


def signs(low: str, high: str) -> list[tuple[float, str, str]]:
    """Give what is sent in half a minute: moment [s], tone, dots and dashes."""
    sent = ident.schedule(
        letters=low if sends(low) == "ident" else high or "OVK",
        duration_s=LISTEN_S,
        vor=sends(low),
        dme=sends(high),
    )
    return [(each.start_s, "low" if each.kind == "VOR" else "high", ident.code(each.letters)) for each in sent]


def _told(low: str, high: str) -> str:
    sent = [f"at {start:.0f} s, {tone} tone: {code}" for start, tone, code in signs(low, high)]
    return "; ".join(sent) or "nothing but silence"


def play(recordings: Sequence[Sequence[str]]) -> None:
    """Display recordings of stations, A, B, C ...; outside a notebook, print them as dots and dashes.

    Parameters
    ----------
    recordings : sequence of (low, high)
        Letters sent in the low and in the high tone of each; empty for silence.
    """
    if progress.being_marked():
        return
    names = [chr(ord("A") + number) for number in range(len(recordings))]
    plain = "\n".join(f"{name}: {_told(low, high)}" for name, (low, high) in zip(names, recordings, strict=True))
    if "IPython" not in sys.modules or sys.modules["IPython"].get_ipython() is None:
        print(plain)
        return
    from IPython.display import display

    display({"text/html": markup(recordings), "text/plain": plain}, raw=True)  # type: ignore[no-untyped-call]


def markup(recordings: Sequence[Sequence[str]]) -> str:
    """Give recordings as HTML: a player each, and what is sent behind a line that opens.

    Parameters
    ----------
    recordings : sequence of (low, high)
        As :func:`play`.

    Returns
    -------
    str
        Needs no network.
    """
    parts = []
    for number, (low, high) in enumerate(recordings):
        name = chr(ord("A") + number)
        source = base64.b64encode(wav(low, high)).decode("ascii")
        rows = "".join(f"<li>{html.escape(words)}</li>" for words in _told(low, high).split("; "))
        parts.append(
            f'<figure style="margin:0.4em 0"><figcaption><strong>Recording {name}</strong>, half a minute'
            "</figcaption>"
            f'<audio controls preload="none" aria-label="Recording {name}" src="data:audio/wav;base64,{source}">'
            "</audio><details><summary>Write down what is sent: recording "
            f"{name}</summary><ul>{rows}</ul></details></figure>"
        )
    return "".join(parts)


__all__: typing.Final = ["markup", "play", "sends", "signs", "wav"]
