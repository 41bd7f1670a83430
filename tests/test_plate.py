"""Plates, read from what is drawn: every number of the file once, no other number, nothing over anything else."""

import copy
import datetime
import itertools
import re
import tomllib
from collections import Counter

import pytest
from matplotlib.text import Text
from needlework.basis.errors import BadData
from needlework.course.command import main
from needlework.showing import plate
from needlework.showing.plate import twin
from needlework.showing.plate.facts import CAUTION, WORKED
from needlework.showing.plate.page import MM_PER_INCH, SHEET_MM, SMALLEST_PT, fields_of
from needlework.world import procedure
from needlework.world.datafiles import datasets_dir

COURSE = ("saltmarsh", "wygate", "ezrick", "tarvue", "keld", "jarvu")


def raw_of(name):
    return tomllib.loads((datasets_dir() / "procedures" / f"{name}.toml").read_text(encoding="utf-8"))


def own():
    """A procedure of an instructor's own: three categories, odd figures, dates, fewer ways in, long names."""
    raw = copy.deepcopy(raw_of("ezrick"))
    raw["name"] = "VOR/DME Z to runway 27"
    raw["effective_until"] = datetime.date(2199, 12, 31)
    raw["airport"] |= {"ident": "XQQV", "name": "North Harbour Field", "elevation_ft": 913.5}
    raw["runway"]["length_m"] = 1525
    raw["station"] |= {"lat_deg": 36.1525, "lon_deg": -47.0501}
    raw["entries"][1]["minimum_ft"] = 5300
    raw["legs"][3] |= {"minimum_ft": 3200, "at_end_ft": 3250}
    raw["minimums"]["straight_in"]["C"] = {"mda_ft": 1500, "visibility_m": 2600}
    raw["minimums"]["circling"]["C"] = {"mda_ft": 1720, "visibility_m": 3700}
    raw["minimums"] |= {"remote_setting_from": "XKEL", "remote_setting_add_ft": 85, "vdp_not_with_remote": True}
    raw["sector_altitudes"].append(
        {"altitude_ft": 5150, "within_nm": 15, "from_radial_deg": 355.5, "to_radial_deg": 40}
    )
    raw["receiver_checks"] = [{"kind": "ground", "place": "on apron 4", "radial_deg": 201, "distance_nm": 0.7}]
    raw["notes"] = raw["notes"][:2]
    return raw


RAW = {name: raw_of(name) for name in COURSE} | {"own": own()}


@pytest.fixture(scope="module")
def drawn():
    """Each plate with what is written on it, drawn once."""
    found = {}
    for name, raw in RAW.items():
        figure = plate.draw_plate(procedure.read(copy.deepcopy(raw), f"{name}.toml"))
        found[name] = figure, [text for text in figure.findobj(Text) if text.get_text().strip()]
    return found


def leaves(value, at=""):
    """Every field of a file with its value, lists counted from 1."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves(inner, f"{at}.{name}" if at else name)
    elif isinstance(value, list):
        for number, inner in enumerate(value, 1):
            yield from leaves(inner, f"{at}.{number}")
    else:
        yield at, value


def has_numbers(value):
    return isinstance(value, int | float | datetime.date) and not isinstance(value, bool)


def numbers(text):
    """The numbers in a text as they are read: 3,600 is one, a date three, R034 is 34; a minus counts."""
    return [float(found.replace(",", "")) for found in re.findall(r"(?<![\d-])-?\d[\d,]*(?:\.\d+)?|\d+", text)]


def numbers_of(value):
    if isinstance(value, datetime.date):
        return numbers(value.isoformat().replace("-", " "))
    return [abs(float(value))] if has_numbers(value) else [abs(found) for found in numbers(str(value))]


@pytest.mark.parametrize("name", RAW)
def test_every_number_of_the_file_is_told_once(drawn, name):
    """Definition: each field that holds a number is told by one text of the plate, which holds that number."""
    told = {}
    for text in drawn[name][1]:
        for field in fields_of(text):
            told.setdefault(field, []).append(text.get_text())
    for field, value in leaves(RAW[name]):
        where = told.get(field, [])
        if not has_numbers(value) and not (field == "name" or field.startswith("notes.")):
            continue
        assert len(where) == 1, (field, where)
        # The name of a fix may hold its radial and distance, as in "R345".
        have = [abs(each) for each in numbers(where[0].replace("\u00a0", " ").replace("-", " "))]
        for number in numbers_of(value):
            assert number in have, (field, value, where[0])


@pytest.mark.parametrize("name", RAW)
def test_every_number_on_it_is_in_the_file_and_stands_once(drawn, name):
    """Definition: no text holds a number that its fields do not; fields of one value share one number."""
    values = dict(leaves(RAW[name]))
    for text in drawn[name][1]:
        fields = fields_of(text)
        if WORKED in fields:
            continue
        allowed = Counter()
        for field in fields:
            # A fix is told with its name.
            named = field.split(".", 1)[1].rsplit(".", 1)[0] if field.startswith("fixes.") else ""
            allowed |= Counter(numbers_of(values[field])) | Counter(numbers(named))
        distinct = Counter()
        for field in fields:
            distinct += Counter(numbers_of(values[field]))
        words = text.get_text().replace("\u00a0", " ")
        found = Counter(abs(each) for each in numbers(words.replace("-", " ")))
        for number, often in found.items():
            assert number in allowed, (words, number)
            assert often <= max(distinct[number], allowed[number]), (words, number)
            if all(field.startswith(("legs.", "entries.")) for field in fields):
                # A leg tells its floor once, whether it holds at its end or for who begins there.
                assert often == 1, (words, number)


def test_times_are_those_of_the_scenario(drawn):
    """Scenario, P4: 4.3 NM take 4:18 at 60 kt, 3:41, 3:14, 2:52, 2:35, 2:21, 2:09, 1:51 at 140; others have none."""
    worked = {
        name: [text.get_text() for text in texts if WORKED in fields_of(text)] for name, (_, texts) in drawn.items()
    }
    speeds = ["60", "70", "80", "90", "100", "110", "120", "140"]
    took = ["4:18", "3:41", "3:14", "2:52", "2:35", "2:21", "2:09", "1:51"]
    assert sorted(worked.pop("tarvue")) == sorted(speeds + took)
    assert not any(worked.values())


@pytest.mark.parametrize("name", RAW)
def test_nothing_written_overlaps_and_all_is_on_the_page(drawn, name):
    """Definition: measured by the boxes round what is written, on a sheet of 210 by 297 mm."""
    figure, texts = drawn[name]
    assert [round(inch * MM_PER_INCH, 1) for inch in figure.get_size_inches()] == list(SHEET_MM)
    renderer = figure.canvas.get_renderer()
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts]
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        wide, tall = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        assert wide <= 0.5 or tall <= 0.5, (one, other)
    edge = 4.0 / MM_PER_INCH * figure.dpi
    for words, box in boxes:
        assert (
            edge < box.x0 and box.x1 < figure.bbox.x1 - edge and edge < box.y0 and box.y1 < figure.bbox.y1 - edge
        ), words


@pytest.mark.parametrize("name", RAW)
def test_type_is_read_at_arms_length(drawn, name):
    """Legibility chapter, 10.1201/b22361-52, abstract, quoting the FAA: character height 1/200 of the distance."""
    from matplotlib.textpath import TextPath

    for text in drawn[name][1]:
        assert text.get_fontsize() >= SMALLEST_PT, text.get_text()
    points = TextPath((0, 0), "E", size=SMALLEST_PT).get_extents().height
    # 3.0 mm at 600 mm.
    assert points / 72 * 25.4 >= 600 / 200


@pytest.mark.parametrize("name", RAW)
def test_caution_and_words(drawn, name):
    """Definition: the caution stands on the page; the twin in words has every text that is drawn."""
    loaded = procedure.read(copy.deepcopy(RAW[name]), f"{name}.toml")
    written = [text.get_text().replace("\u00a0", " ") for text in drawn[name][1]]
    assert sum(CAUTION in " ".join(text.split("\n")) for text in written) == 1
    page = twin.page(loaded, "<svg></svg>")
    flat = " ".join(re.sub(r"<[^>]+>", " ", page).replace("&gt;", ">").replace("&#x27;", "'").split())
    for text, words in zip(drawn[name][1], written, strict=True):
        if fields_of(text):
            assert " ".join(words.split()) in flat, words
    assert CAUTION in flat


@pytest.mark.parametrize("name", sorted(COURSE))
def test_the_final_fix_is_marked(drawn, name):
    """Definition: one fix is named the final fix, under its own name in the profile, and in words."""
    loaded = procedure.load(name)
    written = {text.get_text(): text for text in drawn[name][1]}
    heads = [text for words, text in written.items() if words.split("\n")[0] == loaded.final_fix and "\n" in words]
    marked = [text for words, text in written.items() if words == "final fix"]
    assert len(heads) == len(marked) == 1
    assert marked[0].get_position()[0] == heads[0].get_position()[0]
    down = dict(twin.words(loaded))["Way down"]
    assert [said.startswith(f"Final fix {loaded.final_fix}") for said in down].count(True) == 1


def test_steps_of_the_missed_approach(drawn):
    """Scenario, P1, P3 and P4: left to 120 and R165, right to 020 and R340, left and direct; holds at their turns."""
    from needlework.showing.plate import facts

    steps = {name: list(facts.go_around(procedure.load(name))) for name in COURSE}
    told = {name: [" ".join((word, fact.text)) for word, fact in lines] for name, lines in steps.items()}
    assert all([word for word, _ in lines] == ["climb", "turn", "track", "hold"] for lines in steps.values())
    assert told["saltmarsh"][1:3] == ["turn LEFT, climbing, on to heading 120°", "track OVK R165 outbound to BELDU"]
    assert told["ezrick"][1:3] == ["turn RIGHT, climbing, on to heading 020°", "track EZJ R340 outbound to HEXAL"]
    assert told["tarvue"][1:3] == ["turn LEFT, climbing", "track direct to TVU"]
    assert "left turns" in told["wygate"][3] and "right turns" in told["ezrick"][3]
    assert told["wygate"][0].endswith("no turn before R023 3 DME")


def test_command_writes_three_files(tmp_path, capsys):
    """Definition: a name or a file of one's own gives PDF, SVG and page, the same each time."""
    mine = tmp_path / "mine.toml"
    mine.write_text((datasets_dir() / "procedures" / "wygate.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["plate", str(mine), str(tmp_path / "out")]) == 0
    written = [tmp_path / "out" / f"mine-plate.{ending}" for ending in ("pdf", "svg", "html")]
    assert [str(path) for path in written] == capsys.readouterr().out.split()
    first = [path.read_bytes() for path in written]
    assert first[0].startswith(b"%PDF") and first[0].count(b"/Type /Page\n") + first[0].count(b"/Type /Page ") == 1
    assert b"595.2" in first[0] and b"841.8" in first[0]  # A4 in points
    assert (
        b"<svg" in first[1]
        and b"<svg" in first[2]
        and b"http" not in re.sub(rb"<svg.*</svg>", b"", first[2], flags=re.S)
    )
    assert main(["plate", str(mine), str(tmp_path / "out")]) == 0
    assert [path.read_bytes() for path in written] == first


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"notes": ["All of this is said at length, and then once more. " * 12] * 3}, "does not fit on one page"),
        ({"airport": {"name": "Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch"}}, "has no room for"),
    ],
)
def test_what_does_not_fit_is_refused_in_a_sentence(change, said):
    """Definition: type stays readable; too much text is named with what to do about it."""
    raw = copy.deepcopy(RAW["saltmarsh"])
    for name, value in change.items():
        raw[name] = raw[name] | value if isinstance(value, dict) else value
    with pytest.raises(BadData, match=said) as told:
        plate.draw_plate(procedure.read(raw, "mine.toml"))
    assert "shorten" in str(told.value)


def test_bad_file_is_one_sentence(capsys, tmp_path):
    """Definition: a faulty file gives no plate, and says in one line what is wrong."""
    assert main(["plate", "faulty/channel", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1 and '"39X" does not pair' in told and not list(tmp_path.iterdir())


def test_the_words_hold_the_minimums():
    """Definition: who does not see the picture reads the same minimums, as sentences and, on the page, as a table."""
    loaded = procedure.load("keld")
    assert "straight in, category A: 500 ft, 1,600 m" in dict(twin.words(loaded))["How low"]
    page = twin.words_html(loaded)
    assert "500 ft 1,600 m</td>" in page
    assert "category A: 500" not in page
