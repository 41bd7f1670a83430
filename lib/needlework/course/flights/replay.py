"""A replay of the flight in the page itself: a slider, the instruments of that moment, the track beside the legs.

Plain JavaScript without a server: the readings stand in the page as numbers, at most a thousand or so of
them. Without JavaScript, and on paper, the pictures say the same.
"""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.debrief import Debrief, clock
from needlework.debrief.pieces import Piece
from needlework.trade import turns, vor

_MOST_SAMPLES = 1200


def _list(values: Floats, digits: int) -> list[float | None]:
    return [None if np.isnan(value) else round(float(value), digits) for value in values]


def data_of(report: Debrief) -> dict[str, Any]:
    """Everything the replay shows, as plain data."""
    seen = report.seen
    step = max(1, int(np.ceil(len(seen) / _MOST_SAMPLES)))
    every = np.unique(np.append(np.arange(0, len(seen), step), len(seen) - 1))
    course = _courses(report)[report.split.at]
    off = np.asarray(vor.offset_deg(radial_deg=seen.radial_deg, selected_course_deg=np.nan_to_num(course)))
    from_it = np.cos(np.deg2rad(seen.radial_deg - np.nan_to_num(course))) > 0.0
    flags = np.where(np.isnan(course), 0, np.where(np.abs(np.abs(off) - 90.0) < 1e-6, 0, np.where(from_it, -1, 1)))
    on_arc = np.array([piece.kind == "arc" for piece in report.split.pieces])[report.split.at]
    needle = np.where(
        on_arc & ~np.isnan(course),
        vor.needle_deg(radial_deg=seen.radial_deg, selected_course_deg=np.nan_to_num(course)),
        report.needle_deg,
    )
    return {
        "t": _list(seen.time_s[every], 1),
        "x": _list(seen.east_nm[every], 3),
        "y": _list(seen.north_nm[every], 3),
        "alt": _list(seen.alt_ft[every], 0),
        "floor": _list(report.floor_ft[every], 0),
        "dme": _list(seen.dme_nm[every], 2),
        "hdg": _list(seen.heading_deg[every], 0),
        "gs": _list(seen.gs_kt[every], 0),
        "needle": _list(needle[every], 2),
        "course": _list(course[every], 0),
        "flag": [int(flag) for flag in flags[every]],
        "part": [int(number) for number in report.split.at[every]],
        "parts": [piece.text for piece in report.split.pieces],
        "legs": _lines(report),
        "marks": [
            {"t": round(finding.start_s, 1), "text": f"{clock(finding.start_s)} {finding.what}"}
            for finding in report.findings
        ],
        "dmeThere": report.procedure.station.has_dme,
    }


def _courses(report: Debrief) -> Floats:
    """Course of every piece; on an arc and in a turn that of the leg that follows, which is set by then."""
    courses = [np.nan if piece.course_deg is None else piece.course_deg for piece in report.split.pieces]
    for number in range(len(courses) - 2, -1, -1):
        if np.isnan(courses[number]) and report.split.pieces[number].segment == "initial":
            courses[number] = courses[number + 1]
    return np.array(courses)


def _lines(report: Debrief) -> list[list[list[float]]]:
    """Wanted lines, legs, missed approach and hold, in NM east and north of the station."""
    from needlework.showing.pictures import paths

    flown = report.procedure
    declination = flown.station.declination_deg
    if report.entry not in {way.fix for way in flown.entries}:  # a passage: in to the station and out
        return [_straight(piece, declination) for piece in report.split.pieces]
    gs_kt = float(np.median(report.seen.gs_kt))
    drawn = [path for _, path in paths.route_paths(flown, report.entry, gs_kt)]
    if report.outcome == "missed" or report.split.no_approach:
        hold = flown.hold
        at, inbound = paths.point_of(flown, hold.fix), hold.inbound_course_deg + declination
        radius_nm = float(turns.turn_radius_nm(tas_kt=gs_kt))
        drawn.append(paths.missed_path(flown, gs_kt, report.category))
        drawn.append(paths.hold_path(at, inbound, hold.turn, paths.hold_leg_nm(flown, gs_kt), radius_nm))
    return [_points(path.x, path.y) for path in drawn]


def _straight(piece: Piece, declination_deg: float) -> list[list[float]]:
    way = float(np.deg2rad((piece.course_deg or 0.0) + declination_deg))
    along = np.clip([piece.start_nm, piece.end_nm], -10.0, 10.0)
    return _points(along * np.sin(way), along * np.cos(way))


def _points(x: Floats, y: Floats) -> list[list[float]]:
    return [[round(float(a), 3), round(float(b), 3)] for a, b in zip(x, y, strict=True)]


MARKUP = """
<section id="replay" hidden aria-label="Replay of the flight">
<h2>Replay</h2>
<p><button type="button" id="play">play</button>
<input type="range" id="when" min="0" value="0" step="1" aria-label="moment of the flight">
<output id="clock"></output> <span id="where"></span></p>
<div class="cockpit">
<svg id="map" viewBox="-10 -10 20 20" role="img" aria-label="track flown beside the legs wanted"></svg>
<svg id="dial" viewBox="-60 -60 120 140" role="img" aria-label="needle and flag">
<circle r="55" class="rim"/><g id="dots"></g><line id="bar" y1="-40" y2="40" class="bar"/>
<text x="-55" y="76" id="course"></text><text id="flag" x="55" y="76" text-anchor="end"></text></svg>
<dl><dt>heading</dt><dd id="hdg"></dd><dt>DME</dt><dd id="dme"></dd><dt>altitude</dt><dd id="alt"></dd>
<dt>floor</dt><dd id="floor"></dd><dt>ground speed</dt><dd id="gs"></dd></dl>
</div>
<p id="jumps"></p>
</section>
"""

STYLE = """
.cockpit { display: flex; flex-wrap: wrap; gap: 1rem; align-items: center; }
#map { width: 22rem; max-width: 100%; height: 22rem; border: 1px solid var(--line); }
#dial { width: 12rem; height: 12rem; }
#when { width: 60%; vertical-align: middle; }
.cockpit dl { display: grid; grid-template-columns: auto auto; gap: .2rem 1rem; font-variant-numeric: tabular-nums; }
.cockpit dd { margin: 0; font-weight: bold; }
.rim { fill: none; stroke: var(--ink); stroke-width: 2; } .bar { stroke: var(--ink); stroke-width: 4; }
#dial text { fill: var(--ink); font-size: 12px; } #dots circle { fill: var(--ink); }
.wanted { fill: none; stroke: var(--wanted); stroke-dasharray: 4 3; stroke-width: 2; }
.wanted, .flown, .here { vector-effect: non-scaling-stroke; }
.flown { fill: none; stroke: var(--ink); stroke-width: 1.5; }
.now { fill: var(--warn); }
.here { fill: none; stroke: var(--warn); stroke-width: 2; }
#jumps button { margin: .2rem .4rem .2rem 0; text-align: left; }
@media print { #replay { display: none; } }
"""

_CODE = r"""
(function () {
  var D = __DATA__, n = D.t.length, byId = function (id) { return document.getElementById(id); };
  var map = byId('map');
  var make = function (name, at) {
    var e = document.createElementNS(map.namespaceURI, name);
    for (var k in at) e.setAttribute(k, at[k]);
    return e;
  };
  var pts = function (list) { return list.map(function (p) { return p[0] + ',' + -p[1]; }).join(' '); };
  var xs = D.x, ys = D.y.map(function (v) { return -v; });
  var lowX = Math.min.apply(null, xs), highX = Math.max.apply(null, xs);
  var lowY = Math.min.apply(null, ys), highY = Math.max.apply(null, ys);
  var size = Math.max(highX - lowX, highY - lowY, 2) * 1.1;
  map.setAttribute('viewBox', [(lowX + highX - size) / 2, (lowY + highY - size) / 2, size, size].join(' '));
  D.legs.forEach(function (leg) { map.appendChild(make('polyline', { points: pts(leg), 'class': 'wanted' })); });
  var line = xs.map(function (x, i) { return x + ',' + ys[i]; }).join(' ');
  map.appendChild(make('polyline', { points: line, 'class': 'flown' }));
  map.appendChild(make('circle', { r: size / 90, cx: 0, cy: 0, 'class': 'here' }));
  var near = function (t) { var i = 0; while (i < n - 1 && D.t[i] < t) i++; return i; };
  D.marks.forEach(function (m) {
    var i = near(m.t);
    map.appendChild(make('circle', { r: size / 55, cx: xs[i], cy: ys[i], 'class': 'here' }));
    var b = document.createElement('button');
    b.type = 'button'; b.textContent = m.text;
    b.onclick = function () { slider.value = i; show(); };
    byId('jumps').appendChild(b);
  });
  var dot = make('circle', { r: size / 60, 'class': 'now' });
  map.appendChild(dot);
  for (var d = -4; d <= 4; d++) byId('dots').appendChild(make('circle', { cx: d * 10, cy: 0, r: 1.5 }));
  var slider = byId('when'), three = function (v) { v = Math.round(v) % 360 || 360; return ('00' + v).slice(-3); };
  slider.max = n - 1;
  var show = function () {
    var i = +slider.value, t = D.t[i], needle = D.needle[i];
    byId('clock').textContent = Math.floor(t / 60) + ':' + ('0' + Math.floor(t % 60)).slice(-2);
    byId('where').textContent = D.parts[D.part[i]];
    dot.setAttribute('cx', xs[i]); dot.setAttribute('cy', ys[i]);
    byId('bar').style.visibility = needle === null ? 'hidden' : 'visible';
    if (needle !== null) byId('bar').setAttribute('transform', 'translate(' + needle * 4 + ' 0)');
    byId('flag').textContent = needle === null ? 'blank' : { '1': 'TO', '-1': 'FROM', '0': 'blank' }[D.flag[i]];
    byId('course').textContent = D.course[i] === null ? '' : 'course ' + three(D.course[i]);
    byId('hdg').textContent = three(D.hdg[i]);
    byId('dme').textContent = D.dmeThere ? D.dme[i].toFixed(1) : 'none';
    byId('alt').textContent = D.alt[i] + ' ft';
    byId('floor').textContent = D.floor[i] === null ? 'none' : D.floor[i] + ' ft';
    byId('gs').textContent = D.gs[i] + ' kt';
    byId('floor').style.color = D.floor[i] !== null && D.alt[i] < D.floor[i] ? 'var(--warn)' : '';
  };
  var timer = null;
  byId('play').onclick = function () {
    if (timer) { clearInterval(timer); timer = null; this.textContent = 'play'; return; }
    this.textContent = 'stop';
    var button = this;
    timer = setInterval(function () {
      if (+slider.value >= n - 1) { button.click(); return; }
      slider.value = +slider.value + 1; show();
    }, 100);
  };
  slider.oninput = show;
  byId('replay').hidden = false;
  show();
})();
"""


def script_of(report: Debrief) -> tuple[str, str]:
    """The script of the replay, and its digest for the page's content policy."""
    written = json.dumps(data_of(report), separators=(",", ":"), allow_nan=False)
    for letter, code in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026")):  # no text may end the script
        written = written.replace(letter, code)
    code = _CODE.replace("__DATA__", written)
    digest = base64.b64encode(hashlib.sha256(code.encode("utf-8")).digest()).decode("ascii")
    return code, f"sha256-{digest}"
