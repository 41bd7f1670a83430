"""Idents that are played, read back from their sound; and the faulty plates of the opening lesson."""

import io
import re
import wave

import numpy as np
import pytest
from needlework.basis.errors import BadData, OutOfRange
from needlework.exercises.catalogue import QUESTIONS, folder_of
from needlework.showing import listening, plate
from needlework.world import procedure

MORSE = {"O": "---", "V": "...-", "K": "-.-", "U": "..-", "R": ".-.", "T": "-", "E": ".", "S": "..."}
"""ITU-R M.1677-1, the letters used here."""


def heard(data):
    """Listen to a file: moment, frequency [Hz] and letters of each group, told by silence of more than 0.8 s."""
    with wave.open(io.BytesIO(data)) as sound:
        rate, frames = sound.getframerate(), sound.readframes(sound.getnframes())
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 1)
        assert sound.getnframes() == 30 * rate
    signal = np.frombuffer(frames, dtype=np.uint8).astype(float) - 128.0
    step = rate // 100
    loud = np.abs(signal[: len(signal) // step * step].reshape(-1, step)).max(axis=1) > 20
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(int), [0]])))
    runs = edges.reshape(-1, 2) * 0.01
    groups = []
    for begin, end in runs:
        if groups and begin - groups[-1][-1][1] < 0.8:
            groups[-1].append((begin, end))
        else:
            groups.append([(begin, end)])
    told = []
    for group in groups:
        dot = min(end - begin for begin, end in group)
        letters, sign = "", ""
        for n, (begin, end) in enumerate(group):
            sign += "-" if end - begin > 2 * dot else "."
            last = n == len(group) - 1
            if last or group[n + 1][0] - end > 2 * dot:
                letters += next(letter for letter, code in MORSE.items() if code == sign)
                sign = ""
        part = signal[int(group[0][0] * rate) : int(group[-1][1] * rate)]
        spectrum = np.abs(np.fft.rfft(part))
        told.append((group[0][0], np.argmax(spectrum) * rate / len(part), letters))
    return told


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        ("OVK", "OVK", ["OVK 1020"] * 3 + ["OVK 1350"]),
        ("OVK", "", ["OVK 1020"] * 3),
        ("", "OVK", ["OVK 1350"]),
        ("OUK", "OUK", ["OUK 1020"] * 3 + ["OUK 1350"]),
        ("OVR", "OVR", ["OVR 1020"] * 3 + ["OVR 1350"]),
        ("TEST", "", ["TEST 1020"] * 3),
        ("", "", []),
    ],
)
def test_what_is_played_can_be_read_back(low, high, expected):
    """AIM 1-1-7 (figures from memory): VOR at 1,020 Hz three times, then DME at 1,350 Hz, in half a minute."""
    told = heard(listening.wav(low, high))
    # A spectrum of five seconds is good to a fifth of a hertz; the keying spreads it by a few.
    assert [f"{letters} {round(hertz / 10) * 10}" for _, hertz, letters in told] == expected
    assert len(listening.signs(low, high)) == len(expected)


def test_signs_are_written_only_on_request():
    """Definition: a player each, without network; what is sent stands behind a line that opens, never as letters."""
    page = listening.markup([["OVK", "OVK"], ["", ""]])
    assert page.count("<audio controls") == 2 and page.count("<details>") == 2 and "http" not in page
    bare = re.sub(r'src="[^"]*"', "", page)
    assert "OVK" not in bare and "--- ...- -.-" in bare and "nothing but silence" in bare
    assert "--- ...- -.-" not in re.sub(r"<details>.*?</details>", "", bare)


def test_one_station_sends_one_ident():
    """Definition: two different idents are two stations, and one sentence."""
    with pytest.raises(OutOfRange, match="expected the same letters"):
        listening.wav("OVK", "OUK")


SAID = {
    "arc_wrong_way": ("A", 'expected "left", the short way'),
    "channel": ("B", "does not pair"),
    "dme_without_dme": ("C", "has no DME"),
    "frequency": ("D", "is no VOR channel"),
    "map_beyond_runway": ("E", "threshold|runway"),
    "out_of_date": ("F", "out of date"),
    "reversed_course": ("G", "course_deg"),
    "steep_final": ("H", "gradient"),
}
"""Each faulty copy, the option that names its fault, and words of what the loader says of it."""


@pytest.mark.parametrize("copy", range(1, 9))
def test_the_fault_of_a_plate_is_the_one_that_is_asked_for(copy, capsys):
    """Independent method: the loader finds the fault that the lesson's right option names; its plate is drawn."""
    name = procedure.names(faulty=True)[copy - 1]
    letter, words = SAID[name.removeprefix("faulty/")]
    question = QUESTIONS["bt-fault"]
    assert question.right({"copy": copy, "seed": ""}) == letter
    with pytest.raises(BadData) as told:
        procedure.load(name)
    assert re.search(words, str(told.value))
    plate.show_faulty(copy)
    assert capsys.readouterr().out.startswith("Field: ")


def test_lesson_asks_for_a_recall_first():
    """Definition: every sitting but the first begins with a recall, the first with an easy question."""
    text = (folder_of("briefing-and-identifying") / "lesson.md").read_text(encoding="utf-8")
    sittings = text.split("<!-- sitting: ")[1:]
    assert all(int(each.split(" ")[0]) <= 40 for each in sittings)
    firsts = [re.search(r":::+\{\w+\} (bt-[\w-]+)", each)[1] for each in sittings]
    assert firsts == ["bt-first", "bt-recall-floor", "bt-fault-again", "bt-recall-half"]
