"""Faces and their board: sentences, states, refusals, and what is sent to the browser."""

import numpy as np
import pytest
from needlework.basis.errors import OutOfRange
from needlework.showing import faces
from needlework.showing.faces import Board, Circle, CourseDeviation, Digits, Heading, Line, Plan, Profile, ProfileLine

WEIGHT_BYTES = 100_000  # what a whole page of faces may weigh


@pytest.mark.parametrize(
    ("face", "words"),
    [
        (CourseDeviation(214, 0.0, "TO"), "VOR 1, course 214: needle centred, flag TO."),
        (CourseDeviation(214, -1.0, "FROM"), "VOR 1, course 214: needle 1.0 dot left, flag FROM."),
        (CourseDeviation(0, 7.0, "TO", "VOR 2"), "VOR 2, course 360: needle full scale right, flag TO."),
        (
            CourseDeviation(34, 2.04, "NONE", reliable=False),
            "VOR 1, course 034: needle 2.0 dots right, flag blank, not to be trusted.",
        ),
        (Heading(359.7), "Heading 360."),
        (Heading(90, 120), "Heading 090, turning to 120."),
        (Heading(90.2, 90), "Heading 090."),
        (faces.altimeter(2987.0), "altitude 2,990 ft."),
        (faces.vertical_speed(-446.0), "vertical speed -450 ft/min."),
        (faces.dme(10.04), "DME 10.0 NM."),
        (faces.dme(None), "DME no reading."),
        (faces.clock(-65), "clock minus 1:05."),
        (Digits("flap", text="approach"), "flap approach."),
    ],
)
def test_words(face, words):
    """Definition: each face says in one sentence what it shows."""
    assert face.words() == words
    assert face.state()["words"] == words


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (lambda: CourseDeviation(214, 0, "OFF"), "flag = 'OFF' is not a flag: expected 'TO', 'FROM' or 'NONE'"),
        (lambda: CourseDeviation(2140, 0, "TO"), "course_deg = 2,140 deg is outside"),
        (lambda: CourseDeviation(214, np.nan, "TO"), "deviation_dots = nan is not a number"),
    ],
)
def test_refusals(make, text):
    """Definition: what no instrument can show is refused in one sentence."""
    with pytest.raises(OutOfRange, match=text):
        make()


def test_states_are_plain():
    """Definition: the browser gets numbers, texts and lists of them, rounded to what a screen can show."""
    plan = Plan(
        5,
        "A plan.",
        lines=(Line("track", np.array([0.0, 1.23456789]), [0, 2]),),
        circles=(Circle("cone", 0.5),),
        wind_from_deg=280,
        wind_kt=18,
    )
    state = plan.state()
    assert state["lines"][0]["east_nm"] == [0.0, 1.2346]
    assert state["wind_text"] == "wind 280/18"
    assert Plan(5, "A plan.").state()["wind_text"] == ""
    side = Profile(5, 0, 0, 3000, "A profile.", lines=(ProfileLine("planned", [5, 0], np.array([3000.0, 1.00004])),))
    assert side.state()["lines"][0]["alt_ft"] == [3000.0, 1.0]


def test_board_sends_all_faces_in_one_message():
    """Definition: what is shown changes together, in one message, and what is not named stays."""
    board = Board([[["needle"], ["dme"]]], {"needle": CourseDeviation(214, 1, "TO"), "dme": faces.dme(5)}, "First.")
    assert board.layout_names == [[["needle"], ["dme"]]]
    sent = []
    board.send_state = lambda key=None: sent.append(set(key))
    board.show({"needle": CourseDeviation(214, -2, "FROM")}, "Then.")
    assert board.state["needle"]["deviation_dots"] == -2
    assert board.state["dme"]["value"] == 5
    assert board.sentence == "Then."
    assert sent == [{"state", "sentence"}]
    board.close()


def test_board_wants_a_place_for_each_face():
    """Definition: a face without a place, or a place without a face, is a mistake of the programmer."""
    with pytest.raises(ValueError, match="needle"):
        Board([[["dme"]]], {"dme": faces.dme(5), "needle": CourseDeviation(214, 1, "TO")})


def test_weight_and_no_outside_address():
    """Definition: the widgets' page weight stays under 100 kB, and nothing in it points anywhere."""
    folder = faces._HERE
    texts = [path.read_text(encoding="utf-8") for path in folder.iterdir() if path.suffix in (".js", ".css")]
    assert len(texts) == 2
    assert sum(len(text.encode()) for text in texts) < WEIGHT_BYTES
    for text in texts:
        left = text.replace("http://www.w3.org/2000/svg", "")
        assert "://" not in left
        assert "import(" not in left
        assert "url(http" not in left


def test_no_formula_of_the_trade_in_the_browser():
    """Definition: the browser places and slides; the only sine and cosine put numbers round a dial."""
    code = (faces._HERE / "faces.js").read_text(encoding="utf-8")
    assert code.count("Math.sin") == code.count("Math.cos") == 1
    for name in ("Math.tan", "Math.atan", "Math.asin", "Math.acos", "Math.hypot", "Math.sqrt", "6076", "1852"):
        assert name not in code
