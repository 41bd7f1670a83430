"""Aircraft as data."""

import pytest
from needlework.basis.errors import BadData
from needlework.world import aircraft
from needlework.world.datafiles import datasets_dir

TEXT = (datasets_dir() / "aircraft.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("name", "category", "speeds_kt", "limits_kt", "climb", "descent_fpm", "rates"),
    [
        ("Finch", "A", (108, 98, 92, 84, 68), (100, 90), (650, 75), 500, (1.0, 5, 25, 3)),
        ("Plover", "B", (140, 130, 120, 110, 95), (150, 140, 115), (1100, 105), 700, (1.5, 6, 30, 3)),
    ],
)
def test_the_two(name, category, speeds_kt, limits_kt, climb, descent_fpm, rates):
    """The course's scenario, s. 2: the table of the two aircraft."""
    made = aircraft.load(name)
    assert made.category == category
    assert (made.cruise_kt, made.arc_kt, made.to_final_fix_kt, made.final_kt, made.threshold_kt) == speeds_kt
    assert tuple(step.max_kt for step in made.configurations[1:]) == limits_kt
    assert made.configurations[0].max_kt is None
    assert (made.climb_fpm, made.climb_kt) == climb
    assert made.descent_fpm == descent_fpm
    assert (made.acceleration_kt_s, made.roll_rate_deg_s, made.bank_limit_deg, made.vertical_lag_s) == rates
    assert made.configuration("landing flap").max_kt == limits_kt[-1]


def test_names_and_callsigns():
    """The course's scenario, s. 2 and 6: names, in any capitals."""
    assert aircraft.names() == ("finch", "plover")
    assert [aircraft.load(name).callsign for name in (" FINCH ", "plover")] == ["Merrow 27", "Merrow 40"]
    with pytest.raises(BadData, match=r'There is no aircraft "fich" in aircraft.toml: did you mean finch\?'):
        aircraft.load("fich")
    with pytest.raises(BadData, match=r'The Finch has no configuration "gear": expected approach flap, clean or'):
        aircraft.load("finch").configuration("gear")


@pytest.mark.parametrize(
    ("change", "sentences"),
    [
        (("arc_kt = 98", "arc_kt = 118"), ["finch.arc_kt = 118 kt is more than cruise_kt = 108 kt"]),
        (("arc_kt = 98", "arc_kts = 98"), ["finch.arc_kts is not a known field: did you mean arc_kt?"]),
        (("climb_fpm = 650 ", "climb_fpm = 6.5"), ["finch.climb_fpm = 6.5 ft/min is outside 100 to 6,000 ft/min"]),
        (("threshold_kt = 95", "threshold_kt = 125"), ['expected "C" for 125 kt', "is more than final_kt = 110 kt"]),
        (('category = "B"', 'category = "A"'), ['plover.category = "A": expected "B" for 95 kt at the threshold']),
        (("max_kt = 140", "max_kt = 160"), ["gear up to 160 kt comes after approach flap up to 150 kt"]),
        (("max_kt = 90", "max_kt = 80"), ["finch.final_kt = 84 kt: expected at most 80 kt, the limit of"]),
        (("max_kt = 90", 'max_kt = "90"'), ['finch.configurations 3.max_kt = "90" is not a number']),
        (('"gear"', '"approach flap"'), ['"approach flap" stands twice: expected each name once']),
        (("configurations = [\n  { name = \"clean\" },\n  { name = \"approach flap\", max_kt = 100",
          "configurations = [3,\n  { name = \"approach flap\", max_kt = 100"), ["finch.configurations 1 = 3: exp"]),
        (('type = "light twin"', "type = 2"), ["plover.type = 2: expected what it is, in quotes"]),
    ],
)  # fmt: skip
def test_faults_of_an_aircraft_file(tmp_path, change, sentences):
    """Definition: a fault in the file is told with its field, as one fault for one change."""
    assert TEXT.count(change[0]) == 1
    own = tmp_path / "own.toml"
    own.write_text(TEXT.replace(*change), "utf-8")
    broken = "plover" if TEXT.index(change[0]) > TEXT.index("[plover]") else "finch"
    with pytest.raises(BadData) as caught:
        aircraft.load(broken, own)
    assert len(caught.value.faults) == len(sentences)
    for sentence in sentences:
        assert sentence in str(caught.value)
    other = "finch" if broken == "plover" else "plover"
    assert aircraft.load(other, own) == aircraft.load(other)  # the other block is untouched


def test_own_aircraft(tmp_path):
    """Definition: a copied and renamed block is one more aircraft."""
    own = tmp_path / "own.toml"
    own.write_text(
        TEXT + TEXT[TEXT.index("[plover]") :].replace("[plover]", "[mine]").replace("= 140", "= 139", 1), "utf-8"
    )
    assert aircraft.names(own) == ("finch", "mine", "plover")
    assert aircraft.load("Mine", own).cruise_kt == 139
    own.write_text("finch = 3", "utf-8")
    with pytest.raises(BadData, match="finch = 3: expected a table of name, type, callsign"):
        aircraft.load("finch", own)
