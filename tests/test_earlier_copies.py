"""Cells of lessons that learners copied earlier still run."""

import re
from pathlib import Path

import matplotlib.pyplot as plt
import needlework
import pytest
from needlework.basis.errors import OutOfRange
from needlework.trade import holding

# Word for word from the lesson on the missed approach, as it was copied to learners.
CELL = """from needlework import holding

lap = holding.lap(96, 345, "right", 255, 15, outbound_deg=192, outbound_s=65)
pictures.show_hold(
    345, "right", fix="BELDU", leg_nm=1.6, sectors=False, outbound_heading_deg=192, lap=lap, wind=(255, 15)
)"""


def test_the_cell_with_the_flown_lap():
    """Definition: the cell runs as it stands, and its lap is the one that today's function flies."""
    names = {"pictures": needlework.pictures}
    exec(CELL, names)  # as a kernel does
    plt.close("all")
    now = holding.lap(
        tas_kt=96,
        inbound_course_deg=345,
        side="right",
        wind_from_deg=255,
        wind_kt=15,
        outbound_deg=192,
        outbound_s=65,
    )
    assert names["lap"].off_nm == now.off_nm
    assert names["lap"].inbound_s == now.inbound_s
    with pytest.raises(OutOfRange, match="tas_kt = 1 kt"):
        needlework.holding.lap(1, 345, "right", 255, 15, outbound_deg=192, outbound_s=65)


def test_only_what_cells_import():
    """Definition: every name that `from needlework import ...` is known for leads to a module that is there."""
    text = (Path(needlework.__file__)).read_text(encoding="utf-8")
    names = re.findall(r'^    "(\w+)": "needlework\.', text, re.M)
    assert {"pictures", "sliders", "procedure", "holding"} <= set(names)
    assert all(hasattr(needlework, name) for name in names)
    assert not hasattr(needlework, "wobble")
