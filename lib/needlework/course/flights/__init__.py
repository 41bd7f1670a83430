"""The door to flying and debriefing: ``needlework fly`` and ``needlework debrief``.

Both print the debrief and write it as one HTML page that holds its pictures and asks nobody for
anything, beside the pictures themselves. No file that is there already is ever written over.
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import Any, get_args

from tqdm import tqdm

from needlework import debrief
from needlework.basis.errors import BadData
from needlework.basis.places import of_the_course
from needlework.course.flights import history, page
from needlework.debrief import Conditions, Debrief
from needlework.exercises import progress
from needlework.flying import pilot, plan, plan_words, reference_pilot, tracklog
from needlework.flying.raw import HeightKind
from needlework.flying.tracklog import Track
from needlework.world import aircraft, procedure, weather
from needlework.world.datafiles import did_you_mean

_STRONG = 0.4  # of the slowest airspeed: worth a word before the flight
_TOO_STRONG = 0.9  # of it: no track can be held across such a wind


def add_command(commands: Any) -> None:
    """Add ``fly`` and ``debrief`` to the command line (both, whichever is asked for; once)."""
    if "fly" in commands.choices:
        return
    _add_fly(commands)
    _add_debrief(commands)


def _known() -> str:
    """Names a pilot may give, for the help."""
    entries = "; ".join(
        f"{name}: {', '.join(way.fix for way in procedure.load(name).entries)}" for name in procedure.names()
    )
    return (
        f"procedures and their entries: {entries}. Aircraft: {', '.join(aircraft.names())}. "
        f"Days: {', '.join(weather.names())}."
    )


def _add_fly(commands: Any) -> None:
    flying = commands.add_parser(
        "fly",
        help="fly a plan (or let the reference pilot fly) in a wind, and be debriefed",
        epilog=f"{_known()} Faults: {', '.join(reference_pilot.FAULTS)}.",
    )
    flying.add_argument("procedure", nargs="?", help="name of a procedure or a file of your own")
    flying.add_argument("--plan", help="file with your plan; without it the reference pilot flies")
    flying.add_argument("--explain-plan", action="store_true", help="print every word of a plan and stop")
    flying.add_argument("--wind", help="wind from, true, and knots, such as 240/25, 240/25G35 or 24025KT")
    flying.add_argument("--day", help="one of the preset days, in place of --wind")
    flying.add_argument("--entry", help="fix where the approach begins (default: the first)")
    flying.add_argument("--fault", help="a fault for the reference pilot to make, for a class to find")
    flying.add_argument(
        "--laps", type=int, default=0, help="laps of the hold flown after the missed approach, 0 to 9 (default 0)"
    )
    flying.add_argument("--seed", type=int, default=0, help="which waves needle and gusts have (default 0)")
    _shared(flying, "Finch")
    flying.set_defaults(run=_fly)


def _add_debrief(commands: Any) -> None:
    judging = commands.add_parser(
        "debrief",
        help="debrief recordings from any simulator, receiver or recorder",
        epilog=f"{_known()} A DME such as 4.1 and a time of the recording such as 12:30 may be given for moments.",
    )
    judging.add_argument(
        "track", nargs="*", help="recordings: .csv, .gpx, .kml, .igc or .nmea, packed (.gz, .zip) or not"
    )
    judging.add_argument("--procedure", help="name of a procedure or a file of your own")
    judging.add_argument("--entry", help="fix where the approach began (default: found from the track)")
    judging.add_argument(
        "--legs",
        help='parts set by hand, with the debrief\'s own words and times: "OVK to GELPO 2:10, KESTU to OVK 9:40"',
    )
    judging.add_argument(
        "--passage", help="judge a station passage on its own, course in and course out, such as 130/310"
    )
    judging.add_argument(
        "--category", choices=list("ABCDE"), help="approach category (default: the aircraft's, else A)"
    )
    judging.add_argument(
        "--wind",
        dest="winds",
        help='wind as it was told, from, true, and knots: 240/25, or by height, "210/14, 240/25 at 3000 ft"',
    )
    judging.add_argument(
        "--history", action="store_true", help="show all flights debriefed, and faults again or gone"
    )
    _shared(judging, None)
    judging.set_defaults(run=_debrief)


def _shared(parser: argparse.ArgumentParser, craft: str | None) -> None:
    known = f"default {craft}" if craft else "without it speeds are not judged"
    parser.add_argument("--aircraft", default=craft, help=f"one of the course's aircraft ({known})")
    parser.add_argument(
        "--standard", choices=["ACS", "FCL"], default="ACS", help="US (ACS, default) or European (FCL)"
    )
    parser.add_argument("--remote", action="store_true", help="the altimeter setting was another field's")
    parser.add_argument("--no-step-down", action="store_true", help="the step-down fix could not be identified")
    parser.add_argument(
        "--in-sight", help="whether the runway was in sight at minimums (yes, no), or from when: a DME or a time"
    )
    parser.add_argument("--lost", help="when the runway was lost from sight again: a DME or a time")
    parser.add_argument("--temperature", type=float, help="at the field, degrees Celsius: cold raises every altitude")
    parser.add_argument("--setting", type=float, help="altimeter setting of the day in hPa, for heights by pressure")
    parser.add_argument(
        "--height", choices=get_args(HeightKind), help="kind of the heights, where the file cannot say"
    )
    parser.add_argument(
        "--out",
        help="folder for report and pictures (default: here; in the course itself: ~/needlework/flights)",
    )


# --- fly -----------------------------------------------------------------------------------------------


def _fly(options: argparse.Namespace) -> int:
    if options.explain_plan:
        print(plan_words.explained())
        return 0
    if options.procedure is None:
        raise BadData(f"fly needs a procedure: expected one of {', '.join(procedure.names())}, or a file of your own")
    flown = procedure.load(options.procedure)
    craft = aircraft.load(options.aircraft)
    day = _day(options, flown.airport.elevation_ft)
    _wind_makes_sense(day, craft)
    with tqdm(total=1, desc="flying", unit="flight", leave=False, disable=None) as bar:
        track, waiting = _flown(options, flown, craft, day)
        bar.update()
    folder, stem = _out(options), f"fly-{Path(flown.file).stem}"
    _made(folder)
    stem = page.free(folder, stem, [".csv", ".html"])
    recording = tracklog.write(track, folder / f"{stem}.csv")
    if waiting:
        print(f"The plan was not flown to its end: it still waited for {waiting}.\n")
    _finish(options, track, flown, craft, folder, stem)
    print(f"Recording: {recording}")
    _tell_remarks(flown)
    return 0


def _flown(
    options: argparse.Namespace, flown: procedure.Procedure, craft: aircraft.Aircraft, day: weather.Day
) -> tuple[Track, str]:
    if options.plan:
        for given, name in ((options.fault, "--fault"), (options.laps, "--laps")):
            if given:
                raise BadData(f"{name} is for the reference pilot: leave --plan or {name} out")
        chosen = plan.read(options.plan)
        flight = pilot.fly(chosen, flown.station, craft, day, seed=options.seed)
        return flight.track(chosen.name or Path(options.plan).stem), flight.waiting
    faults = [options.fault] if options.fault else []
    for fault in faults:
        if fault not in reference_pilot.FAULTS:
            raise BadData(f"There is no fault {fault!r}: {did_you_mean(fault, reference_pilot.FAULTS)}")
        if reference_pilot.FAULTS[fault].segment == "hold" and not options.laps:
            raise BadData(f"The fault {fault!r} shows in the hold: add --laps 2")
    if not 0 <= options.laps <= 9:
        raise BadData(f"--laps {options.laps}: expected 0 to 9 laps of the hold")
    flights = reference_pilot.fly(
        flown, craft, day, entry=options.entry, faults=faults, seed=options.seed, laps=options.laps
    )
    flight = flights.one(0)
    return flight.track("reference pilot"), flight.waiting


def _day(options: argparse.Namespace, field_ft: float) -> weather.Day:
    if options.wind and options.day:
        raise BadData("--wind and --day both name a wind: leave one of them out")
    if options.day:
        return weather.day(options.day, field_elevation_ft=field_ft, seed=options.seed)
    wind = weather.parse(options.wind or "calm")
    return weather.Day("As given", "a wind given on the command line", wind, 15.0, 1013.25)


def _wind_makes_sense(day: weather.Day, craft: aircraft.Aircraft) -> None:
    """Refuse a wind no track can be held in, and say what a strong one means."""
    strongest = max(day.wind.speed_kt)
    slowest = min(craft.final_kt, craft.climb_kt)
    if strongest > _TOO_STRONG * slowest:
        raise BadData(
            f"A wind of {strongest:.0f} kt is too strong for the {craft.name}, which climbs and approaches at "
            f"{slowest:.0f} kt: expected at most {_TOO_STRONG * slowest:.0f} kt"
        )
    if strongest > _STRONG * slowest:
        share = strongest / slowest
        print(
            f"The wind reaches {strongest:.0f} kt, {share:.0%} of the slowest speed of the {craft.name}: across the "
            "course no triple drift in the hold is possible, and a procedure turn or a timed leg with it behind may "
            "leave its limits.\n"
        )


# --- debrief -------------------------------------------------------------------------------------------


def _debrief(options: argparse.Namespace) -> int:
    if not options.track and options.history:
        print(history.text(history.kept()), end="")
        return 0
    if not options.track:
        raise BadData("debrief needs a recording: expected one or more files, .csv, .gpx, .kml, .igc or .nmea")
    if options.procedure is None:
        raise BadData(f"debrief needs --procedure: expected one of {', '.join(procedure.names())}, or a file")
    flown = procedure.load(options.procedure)
    craft = aircraft.load(options.aircraft) if options.aircraft else None
    tracks = [part for name in options.track for part in recorded(options, name, flown, craft)]
    tracks.sort(key=lambda track: track.start_utc.timestamp() if track.start_utc else 0.0)
    folder = _out(options)
    _made(folder)
    left_out = 0
    for track in tracks:
        if len(tracks) > 1:
            print(f"=== {track.name} {'' if track.start_utc is None else f'{track.start_utc:%Y-%m-%d %H:%M}'}\n")
        try:
            _finish(options, track, flown, craft, folder, f"debrief-{Path(track.name).stem}")
        except BadData as refused:  # one recording of another place does not cost the others their report
            if len(tracks) == 1:
                raise
            left_out += 1
            print(f"Left out: {refused}\n")
    if options.history:
        print(history.text(history.kept()), end="")
    _tell_remarks(flown)
    return 1 if left_out else 0


def recorded(
    options: argparse.Namespace, name: str, flown: procedure.Procedure, craft: aircraft.Aircraft | None
) -> list[Track]:
    """Read a recording: each approach in it, or each flight where a passage is judged on its own."""
    tracks = tracklog.flights(tracklog.read(name))
    if options.passage:
        return list(tracks)
    category = options.category or (craft.category if craft is not None else "A")
    return [part for track in tracks for part in debrief.approaches(track, flown, category)]


def _tell_remarks(flown: procedure.Procedure) -> None:
    """Print what a designer would ask about a procedure of one's own; the course's have nothing to ask."""
    if flown.remarks:
        listed = "\n".join(f"- {remark}" for remark in flown.remarks)
        print(f"\nWhat a procedure designer would ask about {flown.file}:\n{listed}")


def _out(options: argparse.Namespace) -> Path:
    """Where the files go: as asked; else here, or from the course's own folder into the learner's."""
    if options.out:
        return Path(options.out)
    here, course = Path.cwd(), of_the_course().resolve()
    return progress.folder() / "flights" if here == course or course in here.parents else here


def _made(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise BadData(f"{folder}: cannot be made ({fault.strerror}): choose another with --out") from fault


def _finish(
    options: argparse.Namespace,
    track: Track,
    flown: procedure.Procedure,
    craft: aircraft.Aircraft | None,
    folder: Path,
    stem: str,
) -> None:
    """Judge, print, keep with the progress and write."""
    report = judged(options, track, flown, craft)
    print(debrief.text(report))
    earlier = ""
    if getattr(options, "history", False):
        warning = history.note(history.of(report))
        if warning:
            print(warning)
        earlier = history.page(history.kept())
    written = page.write(report, folder, stem, before=earlier)
    print(f"Report: {written[0]}\nPictures: {', '.join(str(path) for path in written[1:])}")


def judged(
    options: argparse.Namespace, track: Track, flown: procedure.Procedure, craft: aircraft.Aircraft | None
) -> Debrief:
    """Debrief a recording as the command line says."""
    if options.height is not None:
        track = tracklog.of_kind(track, options.height)
    if getattr(options, "passage", None):
        found = re.fullmatch(r"\s*(\d{1,3})\s*/\s*(\d{1,3})\s*", options.passage)
        if found is None or max(int(found[1]), int(found[2])) > 360:
            raise BadData(f"--passage {options.passage}: expected the courses in and out, such as 130/310")
        return debrief.debrief_passage(track, flown, craft, float(found[1]), float(found[2]), given=_given(options))
    return debrief.debrief(
        track,
        flown,
        craft,
        entry=options.entry,
        legs=_legs(getattr(options, "legs", None)),
        category=getattr(options, "category", None),
        given=_given(options),
        standard=options.standard,
    )


def _given(options: argparse.Namespace) -> Conditions:
    """What no recording shows and the command line says."""
    in_sight = None
    sight: dict[str, Any] = {}
    if options.in_sight is not None:
        in_sight = {"yes": True, "no": False}.get(options.in_sight.lower())
        if in_sight is None:
            sight |= _moment("--in-sight", options.in_sight, "sight_from")
    if options.lost is not None:
        sight |= _moment("--lost", options.lost, "sight_until")
    return Conditions(
        remote=options.remote,
        step_down=not options.no_step_down,
        temperature_c=options.temperature,
        setting_hpa=options.setting,
        winds=_winds(getattr(options, "winds", None) or getattr(options, "wind", None)),
        in_sight=in_sight,
        height_told=options.height not in (None, "unknown"),
        **sight,
    )


def _winds(text: str | None) -> tuple[tuple[float, float, float], ...]:
    """Winds as they were told: altitude [ft], from [deg true] and speed [kt] of each."""
    told = []
    for entry in filter(None, (each.strip() for each in (text or "").split(","))):
        found = re.fullmatch(r"(\S+)(?:\s+at\s+([\d.]+)\s*(?:ft)?)?", entry)
        if found is None:
            raise BadData(f"--wind: {entry}: expected a wind such as 240/25, or 240/25 at 3000 ft")
        wind = weather.parse(found[1])
        told.append((float(found[2] or 0.0), float(wind.from_deg_true[0]), float(wind.speed_kt[0])))
    return tuple(told)


def _moment(option: str, text: str, name: str) -> dict[str, float]:
    """A DME (``4.1``) or a time of the recording (``12:30``)."""
    if (clock := _seconds(text)) is not None:
        return {f"{name}_s": clock}
    try:
        return {f"{name}_nm": float(text)}
    except ValueError:
        expected = "yes, no, a DME such as 4.1" if option == "--in-sight" else "a DME such as 4.1"
        raise BadData(f"{option} {text}: expected {expected} or a time such as 12:30") from None


def _seconds(text: str) -> float | None:
    found = re.fullmatch(r"\s*(\d+):(\d\d)\s*", text)
    return None if found is None else int(found[1]) * 60.0 + int(found[2])


def _legs(text: str | None) -> dict[str, float] | None:
    """Parts set by hand: words of the debrief, each with the time it begins."""
    if text is None:
        return None
    legs = {}
    for entry in filter(None, (each.strip() for each in text.split(","))):
        words, _, when = entry.rpartition(" ")
        seconds = _seconds(when)
        if not words or seconds is None:
            raise BadData(f'--legs: {entry}: expected words of the debrief and a time, such as "OVK to GELPO 2:10"')
        legs[words] = seconds
    return legs
