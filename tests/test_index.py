"""The index of the trade: complete, current, and quick to use."""

import importlib
import inspect
import re
from pathlib import Path

import pytest
from needlework import trade
from needlework.basis.errors import BadData
from needlework.basis.sources import SOURCES
from needlework.building import index
from needlework.course import command

TEXT = index.PAGE.read_text(encoding="utf-8")
NAMES = [
    f"{path.stem}.{name}"
    for path in sorted(Path(trade.__file__).parent.glob("*.py"))
    for name, function in vars(importlib.import_module(f"needlework.trade.{path.stem}")).items()
    if inspect.isfunction(function) and not name.startswith("_") and function.__module__.endswith(f".{path.stem}")
]


def _entry(name):
    """The two lines of the page on one function."""
    found = re.search(rf'^<a id="{re.escape(name)}"></a>(.*)\n(.*)$', TEXT, re.M)
    assert found, f"{name} is not in the index"
    return f"{found[1]} {found[2]}"


def _found_under(term):
    """Functions to which the list at the end sends a reader who looks for a term."""
    row = re.search(rf"^\| {re.escape(term)} \| (.*) \|$", TEXT.split("\n## Terms\n")[1], re.M)
    assert row, f"{term} is not in the list of terms"
    return re.findall(r"\[([\w.]+)\]\(#\1\)", row[1])


def test_the_page_is_current():
    """Definition: the page is what the docstrings make of it."""
    assert index.page() == TEXT, "run 'needlework index' and commit the page"


@pytest.mark.parametrize("name", NAMES)
def test_every_function_is_in_it(name):
    """Definition: what it gives, its parameters, and a source by key and title."""
    module, key = name.split(".")
    function = getattr(importlib.import_module(f"needlework.trade.{module}"), key)
    given, _, gives = _entry(name).partition("  ")[2].partition(" → ")
    for one in inspect.signature(function).parameters:
        said = re.search(rf"`{one}`( \{{.*?\}})?( \[[^\]]+\])?", given)
        assert said, one
        documented = re.search(rf"^.*\b{one}\b.* : .*\n(?:    .*\n?)*", inspect.getdoc(function), re.M)[0]
        assert bool(said[2]) == bool(re.search(r"\[[^\]\d]", documented)), f"{one}: unit"
    assert gives[:1].strip()
    named = gives.partition("Source: ")[2]
    keys = [key for key in SOURCES if f"{key} ({SOURCES[key].title})" in named]
    assert named == "; ".join(f"{key} ({SOURCES[key].title})" for key in sorted(keys, key=named.index)) + "."
    assert keys


def test_terms_are_in_order_and_lead_somewhere():
    """Definition: alphabetical, each term once, each function under one term at least, each link to an entry."""
    rows = re.findall(r"^\| (.*?) \| (.*) \|$", TEXT.split("\n## Terms\n")[1], re.M)[1:]
    terms = [term for term, _ in rows]
    assert terms == sorted(set(terms), key=str.casefold)
    linked = {name for _, places in rows for name in re.findall(r"\(#([\w.]+)\)", places)}
    assert linked == set(NAMES)


@pytest.mark.parametrize(
    ("term", "name", "rule"),
    [
        ("lead for an intercept", "intercept.lead_deg", "`asin(lead / distance)`"),
        ("lead for an intercept by rule", "intercept.lead_rule_deg", "`60 / distance * ground_speed / 200 * (1 -"),
        ("lead radial", "arc.lead_radial_deg", "`asin(r / (R - r))` to fly inbound, `asin(r / (R + r))` outbound"),
        ("drift", "wind.drift_deg", "`atan(-wind * sin(a) / (tas - wind * cos(a)))`"),
        ("wind correction angle", "wind.correction_deg", "`asin(wind * sin(wind_from - course) / tas)`"),
        ("slant range", "dme.slant_nm", "`sqrt(ground**2 + height**2)`"),
        ("VDP", "descent.vdp_nm", "`(HAT - crossing height) / tan(angle)`"),
        ("cold correction", "altimetry.cold_correction_ft", "`H (15 - t0) / (273 + t0 - 0.5 L (H + e))`"),
        ("cone of confusion", "vor.cone_radius_nm", "Height times the tangent of the half angle"),
        ("reciprocal", "angles.reciprocal", "the direction plus 180 degrees"),
        ("1-in-60 rule: distance off course", "vor.offset_rule_nm", "distance times degrees over 60"),
        ("bank for standard rate", "turns.bank_deg", "`atan(speed * rate / g)`"),
        ("bank for standard rate by rule", "turns.bank_rule_deg", "`0.15 tas`, `tas / 10 + 7`"),
        ("teardrop heading", "holding.entry_heading_deg", "outbound less 30 for right turns, plus 30 for left"),
        ("triple drift", "holding.outbound_heading_deg", "less three times the correction"),
        ("top of descent", "descent.start_nm", "Height over gradient"),
        ("time to the station", "intercept.time_to_station_rule_min", "`60 * minutes / degrees`"),
        ("rate of descent by rule", "descent.vs_rule_fpm", "Five times the ground speed"),
    ],
)
def test_a_pilot_finds(term, name, rule):
    """Common practice, no source: what pilots look for, by its name, and the formula in what is found."""
    assert name in _found_under(term)
    assert rule in _entry(name)


def test_the_command(monkeypatch, tmp_path, capsys):
    """Definition: --check changes nothing and fails on a page that is out of date; without it the page is written."""
    there = tmp_path / "INDEX.md"
    monkeypatch.setattr(index, "PAGE", there)
    assert command.main(["index", "--check"]) == 2
    assert capsys.readouterr().err == "needlework: INDEX.md is out of date: run 'needlework index' and commit it.\n"
    assert not there.exists()
    assert command.main(["index"]) == 0
    assert there.read_text(encoding="utf-8") == TEXT
    assert command.main(["index", "--check"]) == 0
    assert "is up to date" in capsys.readouterr().out
    there.write_text(TEXT + "by hand\n", encoding="utf-8")
    assert command.main(["index", "--check"]) == 2
    assert there.read_text(encoding="utf-8").endswith("by hand\n")


def test_a_docstring_that_lacks_something_is_named():
    """Definition: a function without terms, or without a source that is on record, is told by its name."""

    def without_terms(tas_kt):
        """Something.

        Notes
        -----
        Source: ``definition``.
        """

    def without_source(tas_kt):
        """Something.

        Notes
        -----
        Source: ``hearsay``.

        Terms: something.
        """

    with pytest.raises(
        BadData, match=r"^wind.some has no line 'Terms: ...' at the end of its notes: add what a pilot"
    ):
        index.entry_of("wind.some", without_terms)
    with pytest.raises(BadData, match=r"^wind.some names no source that is on record"):
        index.entry_of("wind.some", without_source)


def test_a_module_without_a_subject_is_named(monkeypatch):
    """Definition: a new module of the trade gets its place among the subjects."""
    monkeypatch.delitem(index.SUBJECTS, "dme")
    with pytest.raises(BadData, match=r"^The index has no place for dme: see SUBJECTS\.$"):
        index.page()
