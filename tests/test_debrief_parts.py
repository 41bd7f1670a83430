"""Recordings of a part of a procedure: judged as far as they go, and never a verdict on what they do not show."""

import dataclasses

import numpy as np
import pytest
from test_debrief_rows import WYGATE, flown, judged, recorded, steered

ENTRY_AND_LAPS = ((135, 60, 0), (345, None, 1), (165, 145, 1), (345, None, 1), (165, 145, 1), (345, None, 1))


def alone(texts, add_ft=0.0, for_s=0.0, **habits):
    """What the parts of those names show on their own, with an altitude added for some time in the middle."""
    track = recorded(**habits)
    parts = [part for part in judged(track).parts if part.text.startswith(texts)]
    track = track.part((track.time_s >= parts[0].start_s) & (track.time_s <= parts[-1].end_s))
    off = np.abs(track.time_s - np.median(track.time_s)) < for_s / 2.0
    return judged(dataclasses.replace(track, alt_ft=track.alt_ft + np.where(off, add_ft, 0.0)))


@pytest.mark.parametrize(
    "texts",
    [
        ("the hold",),
        ("radial 165", "the hold"),
        ("heading", "radial 165", "the hold"),
        ("the climb",),
        ("the climb", "heading"),
        ("the climb", "heading", "radial 165", "the hold"),
        ("the arc",),
        ("DOVAN",),
        ("OVK to PARDO", "PARDO to MAP"),
    ],
    ids=" and ".join,
)
def test_a_part_without_a_fault_is_not_complete(texts):
    """Definition: what was not recorded is neither passed nor failed."""
    report = alone(texts, hold=ENTRY_AND_LAPS)
    assert (report.verdict, report.findings) == ("not complete", ())
    assert report.missing


def test_a_hold_alone_is_judged():
    """AIM 5-3-8: entry, side, needle and leg belong to the hold, whatever came before it."""
    report = alone(("the hold",), hold=ENTRY_AND_LAPS)
    assert {f"hold_{what}" for what in ("entry", "side", "track")} <= {one.row.key for one in report.of("met")}
    assert "circle" not in {one.row.key for one in report.of("met")}  # no leg was seen


@pytest.mark.parametrize(
    ("add_ft", "row", "critical"), [(-320.0, "after_missed_floor", True), (260.0, "after_missed_level", False)]
)
def test_an_altitude_of_the_hold_alone(add_ft, row, critical):
    """ACS IR.V.A.S7: 100 ft; below it nothing is promised to be clear."""
    report = alone(("the hold",), add_ft, 120.0, hold=ENTRY_AND_LAPS)
    assert [(one.row, one.critical) for one in report.findings] == [(row, critical)]
    assert report.verdict == "not passed"


def test_laps_of_a_hold_alone_to_the_wrong_side():
    """AIM 5-3-8: the other side of the line is not protected."""
    report = alone(("the hold",), hold=((135, 60, 0), (345, None, 1), *(((165, 60, -1), (345, None, -1)) * 2)))
    assert "hold_side" in {one.row for one in report.findings if one.critical}


def test_a_hold_at_the_station_is_no_procedure_turn():
    """Definition: laps fit the hold better than any leg about the same station, and are judged as that."""
    lap = ((210, 60, 1), (30, 60, 1))
    report = judged(steered("tarvue", -0.79, -2.58, [(30, 80, 0), *(lap * 3)], alt_ft=2640.0), "tarvue")
    assert report.parts[-1].text == "the hold at TVU"
    assert report.verdict == "not complete"
    assert not [one for one in report.findings if one.critical]


def test_an_approach_that_ends_early_stays_an_approach():
    """Definition: legs that were flown are no part of a missed approach, wherever the recording ends."""
    track = recorded(WYGATE)
    whole = judged(track, "wygate")
    end_s = next(part for part in whole.parts if part.segment == "intermediate").end_s
    report = judged(track.part(track.time_s <= end_s), "wygate")
    assert [part.text for part in report.parts] == [part.text for part in whole.parts if part.end_s <= end_s + 1.0]


def test_where_a_missed_approach_alone_was_begun_is_not_known():
    """Definition: nobody saw the final, nor whether it was left at the missed approach point."""
    report = alone(("the climb", "heading"))
    assert report.judgement("decision").verdict == "not judged"
    assert flown().judgement("decision").verdict == "met"
