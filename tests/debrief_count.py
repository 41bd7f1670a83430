"""Count what the debrief finds in labelled flights: ``python tests/debrief_count.py FOLDER [--told] [--each]``.

A folder holds recordings, each with a label of the same name that ends in ``.json`` (procedure, entry, faults with
segment, kind, time, what an examiner would say and, where it names them, row and numbers of the right causes), the
procedures that were flown, and aircraft of its own. For every kind of fault
is printed how often it was found in the right place with the right cause, with another cause, missed, and how many
findings had no fault behind them. ``--told`` also tells the debrief what the label
says a user would tell of height, setting and temperature.
"""

import argparse
import json
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

from needlework.basis.errors import BadData
from needlework.debrief import Conditions, approaches, debrief, debrief_passage
from needlework.flying import tracklog, trimming
from needlework.world import aircraft, procedure

# Kind of fault in the labels: rows that may name it, and numbers of the errors that are its right cause.
TRACKING = "needle_before_final wind needle_final full_scale course_set"
KINDS = {
    "no wind correction": (TRACKING, {10, 7, 63}),
    "correction downwind": (TRACKING + " outbound", {8}),
    "radial never met": (TRACKING, {7, 10, 63, 12, 18}),
    "wrong radial": (TRACKING + " outbound", {63, 9, 12}),
    "timing off": ("turn_time", {77}),
    "turn on to the arc without lead": ("arc_join", {20}),
    "arc flown outside": ("arc arc_join", {25, 78, 27, 20}),
    "arc flown inside": ("arc arc_join", {27, 78, 20}),
    "arc flown the wrong way round": ("way_round", {21}),
    "arc never joined": ("arc_join arc", {20, 79}),
    "arc left too early": ("to_final arc needle_before_final", {31}),
    "arc left too late": ("to_final", {30}),
    "lead to the final missing": ("to_final", {30}),
    "tangent habit": ("arc", {25}),
    "wrong correction all along": ("arc", {27, 8}),
    "wind not corrected on the arc": ("arc", {27}),
    "final flown beside its line": ("needle_final needle_before_final full_scale course_set", {63, 9, 7}),
    "no wind correction on final": ("needle_final needle_before_final full_scale wind", {10}),
    "correction downwind on final": ("needle_final needle_before_final full_scale wind", {8}),
    "below the segment minimum": ("floor established_first", {28, 33, 64, 65, 36, 6}),
    "step-down taken early": ("floor established_first", {28, 33, 65, 36}),
    "dive": ("sink gate", {35, 43, 73}),
    "below the MDA": ("mda", {40, 42, 6}),
    "level above the MDA": ("mda_high", {59}),
    "MDA left before the VDP": ("vdp", {53, 42}),
    "climb begun late": ("decision", {44}),
    "missed approach point timed wrong": ("decision missed_turn", {44, 45, 38}),
    "turn before the missed approach point": ("missed_turn", {45}),
    "turn below the turning altitude": ("missed_turn", {45}),
    "climb too shallow": ("gradient", {46, 71}),
    "turn to the wrong side": ("missed_side", {48}),
    "outbound radial not intercepted": ("missed_track", {48, 49, 80, 18}),
    "outbound radial flown through": ("missed_track", {16, 80}),
    "level-off missed": ("after_missed_level", {58}),
    "sinking": ("after_missed_floor", {60}),
    "hold flown on the wrong side": ("hold_side hold_entry", {66, 50}),
    "wrong entry": ("hold_entry", {50}),
    "no wind correction in the hold": ("hold_wind", {51}),
    "legs too long": ("hold_leg", {52}),
    "legs too short": ("hold_leg", {52}),
    "procedure turn beyond its limit": ("turn_limit", {62}),
    "procedure turn on the wrong side": ("turn_side", {61}),
    "altitude not held": ("level floor", {64}),
    "speed off": ("speed_final speed_before_final gate", {32, 67}),
    "gear never set": ("gear", {55}),
    "gear set late": ("gear", {55}),
    "landing flap set late": ("ready gate", {32, 73}),
    "needle chased overhead": ("cone", {11}),
    "turn before the station": ("cone outbound", {13}),
    "straight on past the station": ("outbound", {12}),
    "turn late": ("outbound", {12}),
    "wrong outbound heading": ("outbound needle_before_final", {81, 63, 10, 8}),
    "outbound course not set": ("course_set outbound", {12, 9}),
    "flown the wrong way round": ("reversed way_round course_set", {21, 9}),
}
SLACK_S = 60.0


@dataclass
class Count:
    """What became of the faults of one kind."""

    right: int = 0
    wrong: int = 0
    missed: int = 0
    tolerated: int = 0
    not_critical: int = 0
    names: list = field(default_factory=list)


def conditions(label, told):
    """What the debrief is told besides the recording."""
    said = label.get("told", label) if told else {}
    warmth = said.get("temperature_c")
    # Below freezing a temperature raises every altitude; an older label does not say what the pilot was to add.
    if (
        "told" not in label
        and warmth is not None
        and warmth < 0
        and "additions applied" not in str(label.get("notes"))
    ):
        warmth = None
    known = label.get("in_sight_dme_nm") is not None or "flights" in label
    return Conditions(
        remote=bool(label.get("remote_setting")),
        # Of several flights in one file the label does not say in which the runway was seen.
        in_sight=None if known else bool(label.get("in_sight")),
        sight_from_nm=None if "flights" in label else label.get("in_sight_dme_nm"),
        temperature_c=warmth,
        setting_hpa=said.get("setting_hpa"),
        winds=tuple(told_winds(said.get("wind") or {})),
    )


def told_winds(said):
    """Winds a user would tell: altitude, from and speed of each."""
    for at, wind in said.items():
        from_deg, kt = wind.split()[0].split("/")
        yield (0.0 if at == "surface" else float(at.split()[0])), float(from_deg), float(kt)


def told_kind(label):
    """Kind of the heights as a user would tell it; None where nobody said."""
    if "told" not in label:
        return "altimeter" if label["height"] == "baro" else "satellite"
    said = label["told"].get("height") or ""
    return next((kind for kind in ("altimeter", "satellite", "pressure") if said.startswith(kind)), None)


def causes(fault):
    """Rows that may name a fault, and the numbers of the errors that are its right cause."""
    rows, errors = KINDS.get(fault["kind"], ("", set()))
    return {*rows.split(), *filter(None, [fault.get("row")])}, set(fault.get("errors", errors))


def trimmed_s(path, track):
    """How long the recording stands before the flight: labels count from its first point."""
    with mock.patch.object(trimming, "flown", lambda arrays: slice(0, len(arrays["time_s"]))):
        whole = tracklog.read(path)
    if track.start_utc is None or whole.start_utc is None:
        return 0.0
    return (track.start_utc - whole.start_utc).total_seconds()


def judge(folder, label, told):
    """Judge one recording: its reports (one a flight) or the sentence of refusal."""
    way = procedure.load(str(folder / "procedures" / f"{label['procedure']}.toml"))
    own = folder / label["aircraft_file"] if "aircraft_file" in label else None
    craft = aircraft.load(label["aircraft"], own)
    try:
        track = tracklog.read(folder / label["file"])
        kind = told_kind(label) if told else None
        if kind is not None:
            track = tracklog.of_kind(track, kind)
        if label["kind"] == "passage":
            courses = label["inbound_course_deg"], label["outbound_course_deg"]
            return [(0.0, debrief_passage(track, way, craft, *courses, given=conditions(label, told)))], ""
        reports, before_s = [], trimmed_s(folder / label["file"], track)
        flown = [part for flight in tracklog.flights(track) for part in approaches(flight, way, craft.category)]
        for flight in flown:
            started = (flight.start_utc - track.start_utc).total_seconds() if flight.start_utc else 0.0
            reports.append((before_s + started, debrief(flight, way, craft, given=conditions(label, told))))
        return reports, ""
    except BadData as refused:
        return [], str(refused)


def overlaps(finding, start_s, fault):
    """Whether a finding lies in the time of a fault."""
    begin, end = fault["when_s"]
    first = finding.start_s + start_s
    return first <= end + SLACK_S and first + finding.length_s >= begin - SLACK_S


def main(words):
    """Judge, count and print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("folder", type=Path)
    options.add_argument("--told", action="store_true")
    options.add_argument("--each", action="store_true", help="print what was found flight by flight")
    options.add_argument("--only", default="", help="only files whose name holds this")
    given = options.parse_args(words)
    counts = defaultdict(Count)
    extras, extra_rows, verdicts = [], Counter(), Counter()
    false_critical, refused, flights, clean_flagged, clean = [], [], 0, 0, 0
    for path in sorted(given.folder.glob("*.json")):
        if given.only not in path.name:
            continue
        label = json.loads(path.read_text(encoding="utf-8"))
        flights += 1
        reports, reason = judge(given.folder, label, given.told)
        if reason:
            refused.append(f"{label['file']}: {reason}")
        found = [(start, finding) for start, report in reports for finding in report.findings]
        explained = set()
        for fault in label["faults"]:
            rows, errors = causes(fault)
            near = [n for n, (start, finding) in enumerate(found) if overlaps(finding, start, fault)]
            explained.update(near)
            explained.update(n for n, (_, one) in enumerate(found) if one.row in rows)
            explained.update(n for n, (_, one) in enumerate(found) if one.row in label.get("allowed_extra_rows", ()))
            count = counts[fault["kind"]]
            mine = [found[n][1] for n in near if found[n][1].row in rows]
            mine += [one for n in near for one in [found[n][1]] if one.error in errors and one not in mine]
            if any(one.error in errors for one in mine):
                count.right += 1
                if fault["examiner"] == "fail" and fault["would_kill"] and not any(one.critical for one in mine):
                    count.not_critical += 1
                    count.names.append(f"{path.stem}!")
                continue
            if fault["examiner"] == "pass":
                count.tolerated += 1
            elif near:
                count.wrong += 1
                said = ", ".join(f"{found[n][1].row}/{found[n][1].error}" for n in near)
                count.names.append(f"{path.stem} ({said})")
            else:
                count.missed += 1
                count.names.append(path.stem)
        for n, (_, finding) in enumerate(found):
            if n not in explained:
                extras.append(f"{path.stem}: {finding.row}{'!' if finding.critical else ''}: {finding.text}")
                extra_rows[finding.row] += 1
                if finding.critical:
                    false_critical.append(path.stem)
        if not label["faults"]:
            clean += 1
            clean_flagged += bool(found)
        got = (
            "not passed"
            if any(report.verdict == "not passed" for _, report in reports)
            else ("not complete" if any(report.verdict == "not complete" for _, report in reports) else "passed")
        )
        verdicts[label["verdict"], got if reports else "refused"] += 1
        if given.each:
            each(path.stem, label, got, reports)
    tell(counts, extras, extra_rows, verdicts, refused)
    print(
        f"{flights} files; {clean} without a fault, {clean_flagged} of them with a finding; "
        f"{len(extras)} findings without a fault, {len(false_critical)} of them critical; {len(refused)} refused"
    )
    return 0


def each(name, label, got, reports):
    """Print what was found in one recording."""
    print(f"== {name}: {label['verdict']} -> {got}")
    for fault in label["faults"]:
        print(f"     fault: {fault['kind']}, {fault['size']}, {fault['when_s']}")
    for _, report in reports:
        for finding in report.findings:
            mark = "!" if finding.critical else "-"
            print(f"     {mark} [{finding.row}] {finding.text}")
        if report.missing:
            print(f"     not complete: {', '.join(report.missing)}")


def tell(counts, extras, extra_rows, verdicts, refused):
    """Print the tables."""
    print(f"\n{'kind of fault':42} right  other cause  missed  within tolerance")
    total = Count()
    for kind in sorted(counts):
        one = counts[kind]
        print(
            f"{kind:42} {one.right:5} {one.wrong:12} {one.missed:7} {one.tolerated:17}   {'; '.join(one.names)[:160]}"
        )
        total.right, total.wrong, total.missed = (
            total.right + one.right,
            total.wrong + one.wrong,
            total.missed + one.missed,
        )
        total.not_critical += one.not_critical
    judged = total.right + total.wrong + total.missed
    share = total.right / judged if judged else 0.0
    print(
        f"{'all':42} {total.right:5} {total.wrong:12} {total.missed:7}   {share:.1%} right; "
        f"{total.not_critical} that could kill were found and not critical"
    )
    print("\nfindings without a fault:", dict(extra_rows))
    for line in extras:
        print("  ", line[:230])
    print("\nverdict of the label -> of the debrief:")
    for (wanted, got), number in sorted(verdicts.items()):
        print(f"   {wanted:13} -> {got:13} {number}")
    for line in refused:
        print("refused:", line[:200])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
