"""Range checks and constants that know their source."""

import pickle

import numpy as np
import pytest
from needlework.basis.errors import NeedleworkError, OutOfRange
from needlework.basis.quantity import Constant, plain, truth, within


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1, "tas_kt = 1 kt is outside 40 to 400 kt: in m/s?"),
        ([50, 1e7], r"tas_kt\[1\] = 1e\+07 kt is outside"),
        (float("inf"), "tas_kt = inf kt is outside"),
        (float("nan"), "tas_kt = nan is not a number: expected 40 to 400 kt"),
        (True, "tas_kt = True is not a number"),
        ("ninety", "tas_kt = 'ninety' is not a number"),
        (None, "tas_kt = None is not a number"),
        ([[1, 2], [3]], "is not a number"),
        (90 + 1j, "is not a number"),
    ],
)
def test_bad_values_get_one_sentence(value, text):
    """Definition: what was wrong, what was expected, what to do."""
    with pytest.raises(OutOfRange, match=text) as caught:
        within("tas_kt", value, 40, 400, "kt", "in m/s?")
    assert caught.value._render_traceback_() == [str(caught.value)]
    assert isinstance(caught.value, NeedleworkError)


def test_good_values_keep_their_shape():
    """Definition: both limits belong to the range; any real number type is taken."""
    assert within("tas_kt", 40, 40, 400, "kt").shape == ()
    assert within("tas_kt", [40, 400], 40, 400, "kt").tolist() == [40, 400]
    assert within("tas_kt", np.float32(90), 40, 400, "kt") == 90
    assert type(plain(np.array(1))) is float
    assert plain(np.array([1.0])).shape == (1,)


def test_constant_survives_a_copy():
    """Definition: a constant is a float with a unit and a source, also after pickling."""
    constant = pickle.loads(pickle.dumps(Constant(3, "deg/s", "P-1215", "standard rate")))
    assert constant * 2 == 6
    assert (constant.unit, constant.source, constant.note) == ("deg/s", "P-1215", "standard rate")


def test_truth_is_a_bool_or_an_array():
    """Definition: a scalar question gets a Python bool, an array of questions an array."""
    assert truth(np.array(2) > 1) is True
    assert truth(np.array([2, 0]) > 1).tolist() == [True, False]
