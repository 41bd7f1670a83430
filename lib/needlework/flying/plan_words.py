"""The language of plans in words: every word of a row, its unit and its meaning, from the fields themselves."""

from __future__ import annotations

from needlework.flying.plan import Start, Then, When
from needlework.world.datafiles import Part

_HEAD = """A plan is a text file (TOML): where the flight begins, then rows taken strictly in order.
The pilot waits for the "when" of one row only, does its "then", and looks at the next row. A row with several
conditions waits until all of them hold. What is not mentioned stays as it is. The first row may leave "when" out.
Numbers stand bare, text in "quotes"; a line after # is only a comment. Courses, radials, headings are magnetic.

  [start]
  radial_deg = 310
  dme_nm = 14
  altitude_ft = 3600
  heading_deg = 130
  ias_kt = 108

  [[rows]]
  then = { course_1_deg = 130, follow = "needle 1", identify = true }

  [[rows]]
  when = { dme_falls_to_nm = 10.5 }
  then = { heading_deg = 45, turn = "left", ias_kt = 98 }
  note = "lead for the 10 NM arc"

Whole plans with comments, one for each procedure, lie in the course's folder datasets/plans.
"""

_MORE = {
    "dme_reaches_nm": "waits for a DME reading, from either side",
    "dme_falls_to_nm": "waits until the DME has fallen to this",
    "dme_rises_to_nm": "waits until the DME has risen to this",
    "radial_reaches_deg": "waits until this radial is crossed",
    "needle_centres": "waits until that needle is centred",
    "needle_alive": "waits until that needle leaves its stop",
    "flag_1": "waits until flag 1 shows it, steady",
    "flag_2": "waits until flag 2 shows it, steady",
    "alt_reaches_ft": "waits for an altitude, from either side",
    "after_s": "waits so long since the row before was done",
    "clock_s": 'waits until the clock shows it; the clock is started with clock = "start"',
    "abeam": "waits until the station is abeam",
    "heading_reached": "waits until the turn is completed",
    "heading_deg": "turns to a heading, the shorter way unless turn says otherwise, and holds it",
    "turn": "side of that turn",
    "rate": "rate of that turn; standard is 3 degrees a second",
    "follow": "holds a needle centred, wind correction found on the way",
    "course_1_deg": "turns selector 1",
    "course_2_deg": "turns selector 2",
    "ias_kt": "goes to an airspeed",
    "vs_fpm": "climbs or descends at a rate, until level_ft where one is given",
    "level_ft": "goes to an altitude, at the aircraft's own rate unless vs_fpm is given, and holds it",
    "configuration": "sets flap or gear; the airspeed must be within its limit",
    "clock": "starts the clock",
    "identify": "listens to the ident of the station in use",
    "end": "ends the flight here",
}


def explained() -> str:
    """Every word of a plan with its unit and meaning, as plain text."""
    blocks = [_HEAD]
    for title, kind in (
        ("[start]: where and how the flight begins", Start),
        ("when: what is waited for", When),
        ("then: what is done", Then),
    ):
        blocks.append(f"{title}\n" + "\n".join(_line(kind, name) for name in kind.model_fields) + "\n")
    blocks.append("note: words of your own, shown beside the row when it is done\n")
    return "\n".join(blocks)


def _line(kind: type[Part], name: str) -> str:
    field = kind.model_fields[name]
    more = "" if kind is Start else _MORE.get(name, "")
    need = "" if kind is not Start or not field.is_required() else " (needed)"
    words = f"{field.description}{need}"
    return f"  {name:20} {words}" + (f": {more}" if more else "")
