"""Identification: Morse, timing, turns of VOR and DME, sound, proof."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import ident

LETTERS = st.text(st.sampled_from(sorted(ident.MORSE)), min_size=1, max_size=5)


@pytest.mark.parametrize(
    ("letters", "wanted"),
    [
        ("E", 1), ("T", 3), ("A", 5), ("I", 3), ("N", 5), ("M", 7), ("S", 5), ("R", 7), ("U", 7),
        ("D", 7), ("H", 7), ("B", 9), ("L", 9), ("V", 9), ("K", 9), ("G", 9), ("W", 9), ("F", 9), ("C", 11),
        ("O", 11), ("P", 11), ("X", 11), ("Z", 11), ("J", 13), ("Q", 13), ("Y", 13), ("PARIS", 43), ("TEST", 21),
        ("OKT", 29), ("CODEX", 53),
    ],
)  # fmt: skip
def test_units(letters, wanted):
    """ITU-R M.1677-1: dash 3, gap in a letter 1, between letters 3; counted by hand. TM 11-459: PARIS 43 + 7."""
    assert ident.units(letters) == wanted


def test_standard_word_and_speed():
    """TM 11-459: PARIS with its word gap is 50 units, sent as often in a minute as the speed says."""
    assert ident.units("PARIS") + ident.WORD_GAP_UNITS == ident.UNITS_PER_WORD
    assert ident.units("CODEX") + ident.WORD_GAP_UNITS == 60
    assert 50 * ident.dot_s(7) * 7 == pytest.approx(60)
    assert ident.dot_s(7) == pytest.approx(0.171, abs=5e-4)  # printed digits
    assert ident.dot_s([6, 12]).tolist() == pytest.approx([0.2, 0.1])
    assert ident.duration_s(letters="TEST") == pytest.approx(3.60, abs=0.005)
    assert ident.duration_s(letters="OKT") == pytest.approx(4.97, abs=0.005)


@pytest.mark.parametrize(
    ("letters", "wanted"),
    [
        ("OVK", "--- ...- -.-"), ("OUK", "--- ..- -.-"), ("WYG", ".-- -.-- --."), ("EZJ", ". --.. .---"),
        ("TVU", "- ...- ..-"), ("TEST", "- . ... -"), ("1234567890",
         ".---- ..--- ...-- ....- ..... -.... --... ---.. ----. -----"),
    ],
)  # fmt: skip
def test_codes(letters, wanted):
    """ITU-R M.1677-1 (TEST as printed in AIM 1-1-3 c)."""
    assert ident.code(letters) == wanted
    assert ident.decode(wanted) == letters


@given(LETTERS)
def test_code_and_back(letters):
    """Definition: no two signs share a code."""
    assert ident.decode(ident.code(letters.lower())) == letters
    keys = ident.key_times_s(letters=letters, speed_wpm=12)
    assert keys.shape == (len(ident.code(letters).replace(" ", "")), 2)
    assert keys[-1, 1] == pytest.approx(ident.duration_s(letters=letters, speed_wpm=12))
    assert (np.diff(keys.ravel()) > 0).all()
    # Gaps are one or three dots of 0.1 s, marks one or three.
    assert set(np.round(np.diff(keys.ravel()) / 0.1).astype(int)) <= {1, 3}


@pytest.mark.parametrize("bad", ["", "A B", "Ö", "A-", None, 7, "E" * 41])
def test_no_letters(bad):
    """Definition: one sentence with an example."""
    with pytest.raises(OutOfRange, match="cannot be sent: expected up to 40 letters A to Z"):
        ident.code(bad)


@pytest.mark.parametrize("bad", ["", "......", "-.- x", None])
def test_no_morse(bad):
    """Definition: one sentence with an example."""
    with pytest.raises(OutOfRange, match="is not Morse for a letter"):
        ident.decode(bad)


@pytest.mark.parametrize(("cycles", "vor_per_dme"), [(4, 3), (5, 4)])
def test_turns_of_vor_and_dme(cycles, vor_per_dme):
    """IFH9 p. 9-17: one DME ident for three or four of the VOR; about one every 30 s."""
    sent = ident.schedule(letters="TVU", duration_s=120, cycles=cycles)
    kinds = [one.kind for one in sent]
    assert kinds.count("VOR") == vor_per_dme * kinds.count("DME")
    dme_s = [one.start_s for one in sent if one.kind == "DME"]
    assert np.diff(dme_s).tolist() == [30, 30, 30]
    for first, second in pairwise(sent):
        assert first.start_s + ident.duration_s(letters=first.letters) < second.start_s


def test_test_and_silence():
    """AIM 1-1-3 c: TEST may be sent in maintenance; AIM 1-1-11: or nothing at all."""
    assert {one.letters for one in ident.schedule(letters="WYG", duration_s=60, vor="test")} == {"TEST", "WYG"}
    assert ident.schedule(letters="WYG", duration_s=60, vor="silent", dme="silent") == ()
    assert all(one.kind == "VOR" for one in ident.schedule(letters="TVU", duration_s=60, dme="silent"))
    assert [one.start_s for one in ident.schedule(letters="WYG", duration_s=1)] == [0]
    with pytest.raises(OutOfRange, match="vor = 'off' is not what a station sends: expected 'ident', 'test' or"):
        ident.schedule(letters="WYG", duration_s=60, vor="off")
    with pytest.raises(OutOfRange, match="expected 4 or 5"):
        ident.schedule(letters="WYG", duration_s=60, cycles=6)
    with pytest.raises(NoSolution, match=r"QYJ takes longer than its turn of 7\.5 s at 7 words/min"):
        ident.schedule(letters="QYJ", duration_s=30)
    with pytest.raises(OutOfRange, match="in minutes"):
        ident.schedule(letters="WYG", duration_s=0.5)


def strongest_hz(samples, sample_hz):
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return np.fft.rfftfreq(len(samples), 1 / sample_hz)[spectrum.argmax()]


def test_tones():
    """AIM 1-1-7 (figures from memory): 1,020 Hz and 1,350 Hz; independent method: Fourier transform."""
    sound = ident.audio(letters="OVK", duration_s=30)
    assert sound.shape == (240000,)
    assert np.abs(sound).max() <= 1
    # 5 s of sound resolve a fifth of a hertz; keying spreads the line by a few.
    assert strongest_hz(sound[: 5 * 8000], 8000) == pytest.approx(1020, abs=3)
    assert strongest_hz(sound[int(22.5 * 8000) : int(27.5 * 8000)], 8000) == pytest.approx(1350, abs=3)
    assert not ident.audio(letters="OVK", duration_s=10, vor="silent", dme="silent").any()


@pytest.mark.parametrize("sample_hz", [8000, 44100])
def test_sound_keeps_the_timing(sample_hz):
    """Independent method: the loudness of the samples, half way up the edges, gives back the key times."""
    sound = ident.tone(letters="OVK", sample_hz=sample_hz)
    window = int(sample_hz / 1020) + 1
    loud = np.array([np.abs(sound[i : i + window]).max() for i in range(len(sound) - window)])
    up = np.concatenate([[0], (loud > 0.5).astype(int), [0]])
    downs, ups = np.flatnonzero(np.diff(up) == 1), np.flatnonzero(np.diff(up) == -1)
    keys = ident.key_times_s(letters="OVK")
    assert len(downs) == len(ups) == len(keys)
    # The envelope is seen through a window of one period, 1 ms; starts are shifted by half an edge.
    assert (ups - downs) / sample_hz == pytest.approx(keys[:, 1] - keys[:, 0], abs=3e-3)
    assert np.diff(downs) / sample_hz == pytest.approx(np.diff(keys[:, 0]), abs=3e-3)


def test_key_does_not_click():
    """Common practice, no source: raised-cosine edges of 5 ms keep the sound near its pitch."""
    sound = ident.tone(letters="OVK")
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / 8000)
    far = spectrum[np.abs(hz - 1020) > 400].sum() / spectrum.sum()
    # A hard-keyed tone leaves about a thousandth of its power out there.
    assert far < 1e-4
    assert sound[0] == 0
    assert abs(sound[-1]) < 1e-9
    with pytest.raises(OutOfRange, match="in kHz"):
        ident.tone(letters="OVK", sample_hz=8)


@pytest.mark.parametrize(
    ("heard", "withdrawn", "vor", "dme", "text"),
    [
        (("OVK", "OVK"), False, True, True, "Both may be used"),
        (("OVK", ""), False, True, False, "Use the VOR only"),
        (("", "OVK"), False, False, True, "Use the DME only: the high tone alone"),
        (("", ""), False, False, False, "no ident"),
        (("TEST", "OVK"), False, False, False, "TEST means"),
        (("OVK", "TEST"), False, False, False, "TEST means"),
        (("OUK", "OUK"), False, False, False, "OUK is another station"),
        (("OUK", ""), False, False, False, "OUK is another station"),
        (("OVK", "WYG"), False, True, False, "Use the VOR only: the two receivers are on different stations"),
        (("WYG", "OVK"), False, False, True, "Use the DME only: the two receivers are on different stations"),
        (("OVK", "OVK"), True, False, False, "notified out of service"),
        (("ovk", "ovk"), False, True, True, "Both may be used"),
    ],
)
def test_what_the_ident_proves(heard, withdrawn, vor, dme, text):
    """AIM 1-1-3 c, AIM 1-1-11, IFH9 p. 9-17: what may be used after listening."""
    proof = ident.prove(letters="OVK", vor_heard=heard[0], dme_heard=heard[1], withdrawn=withdrawn)
    assert (proof.vor, proof.dme) == (vor, dme)
    assert text in proof.reason


def test_speed_limits():
    """Definition: speeds outside the range are refused."""
    for bad in (2.9, 30.1, np.nan):
        with pytest.raises(OutOfRange, match="speed_wpm"):
            ident.dot_s(bad)
        with pytest.raises(OutOfRange, match="speed_wpm"):
            ident.duration_s(letters="E", speed_wpm=bad)
