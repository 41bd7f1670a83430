"""Flights of simulators that share no code with the course, by makers who had not seen the debrief."""

import json

import pytest
from elsewhere import flights

HELD = json.loads(flights.HELD.read_text(encoding="utf-8"))


@pytest.fixture(scope="module", params=flights.SETS)
def cases(request, tmp_path_factory):
    return request.param, list(flights.opened(request.param, tmp_path_factory.mktemp(request.param)))


@pytest.mark.parametrize("way", flights.WAYS)
def test_what_was_judged_as_the_examiner_did_is_judged_so(cases, way):
    """Independent method: the verdicts are those of who flew; the rows are held, so that a change is read."""
    name, flown = cases
    changed = []
    # All of them are judged by flights.py; here every third, and of what a careless pilot tells every twelfth.
    for case in flown[:: 3 if way == "told" else 12]:
        if case.name in HELD[name][way]:
            made = flights.outcome(case, way)
            if (made.verdict, list(made.rows)) != (case.said["verdict"], HELD[name][way][case.name]):
                changed.append(f"{case.name}: {case.truth}\n  {made.verdict}\n{made.text}")
    assert not changed, "\n".join(changed)


def test_the_flights_are_worth_something(cases):
    """Definition: faults of many kinds, faultless flights, and most of them judged as by who flew them."""
    name, flown = cases
    assert len({fault["kind"] for case in flown for fault in case.said["faults"]}) >= 80
    assert sum(not case.said["faults"] for case in flown) >= 30
    for way, least in (("told", 0.9), ("plain", 0.75)):
        assert len(HELD[name][way]) >= least * len(flown), way
