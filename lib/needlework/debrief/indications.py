"""What a recording shows: positions smoothed to its own grain, and the indications worked out from them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from needlework.basis.errors import BadData
from needlework.basis.quantity import Constant, Floats
from needlework.debrief.height import Height, prior
from needlework.flying.tracklog import Track
from needlework.trade import dme, geodesy
from needlework.trade.units import NM_M
from needlework.world.procedure import Procedure

_FARTHEST_NM = 60.0
POSITION_NM = Constant(0.01, "NM", "common-practice", "a satellite receiver may be 20 m off for minutes on end")
_THIN_S = 0.95  # samples closer than this say nothing new about an aeroplane
_POSITION_WINDOW_S = 6.0
_BEND_S = 3.0  # a turn on to a line may be over in seven seconds
_ROUGH_FT, _CORNER_S = 12.0, 5.0  # heights rougher than this need more smoothing than so many seconds
_FINE_FT = 2.0  # altitudes noisier or coarser than this have a grain that verdicts must respect
_STEPS_FT = (100.0, 50.0, 25.0, 20.0, 10.0)


@dataclass(frozen=True, eq=False)
class Seen:
    """Arrays of one length, one entry a sample kept.

    ``east_nm``, ``north_nm`` on the plane round the station (true axes); ``radial_deg`` by the station's
    alignment; ``ground_nm`` and ``dme_nm`` (slant; as recorded where it was); ``alt_ft`` with the grain
    ``alt_grain_ft`` to either side inside which nothing can be said and the steps ``alt_step_ft`` it comes
    in; ``track_deg`` and ``heading_deg`` magnetic (heading: the track where it was not recorded);
    ``turn_deg_s`` right positive; ``across_ms2`` the acceleration across the track, right positive, and as
    its grain what noise alone may make of it; ``stretch`` numbers the parts between pauses. ``recorded``
    names the columns the recording holds. ``height`` says what the altitudes are worth, ``position_nm``
    how far a smoothed position may be off by noise.
    """

    time_s: Floats
    east_nm: Floats
    north_nm: Floats
    ground_nm: Floats
    radial_deg: Floats
    dme_nm: Floats
    alt_ft: Floats
    alt_grain_ft: float
    alt_step_ft: float
    vs_fpm: Floats
    vs_grain_fpm: float
    track_deg: Floats
    gs_kt: Floats
    heading_deg: Floats
    turn_deg_s: Floats
    across_ms2: Floats
    across_grain_ms2: float
    stretch: NDArray[np.int_]
    step_s: float
    recorded: frozenset[str]
    columns: dict[str, Floats]
    notes: tuple[str, ...]
    height: Height = field(default_factory=Height)
    position_nm: float = 0.0

    @property
    def tell_ft(self) -> float:
        """How far off a limit an altitude at the minimums must lie to tell anything. [ft]"""
        return max(self.height.within_ft, self.alt_grain_ft)

    @property
    def tell_at_ft(self) -> Floats:
        """The same at every sample: what an altitude is good to may grow or shrink with the height. [ft]"""
        return np.maximum(self.height.within_at_ft(self.alt_ft), self.alt_grain_ft)

    def __len__(self) -> int:
        return len(self.time_s)


def see(track: Track, procedure: Procedure) -> Seen:
    """Work out what the track shows against the station of a procedure.

    Raises BadData, in one sentence, for a track of another part of the world or in another unit of height.
    """
    kept = _thinned(track.time_s)
    data = {name: getattr(track, name)[kept] for name in track.columns}
    time_s = data["time_s"]
    station = procedure.station
    _near_the_station(track, procedure)
    east, north = (
        np.asarray(part)
        for part in geodesy.plane_from_position(
            station_lat_deg=station.lat_deg,
            station_lon_deg=station.lon_deg,
            lat_deg=data["lat_deg"],
            lon_deg=data["lon_deg"],
        )
    )
    step_s = float(np.median(np.diff(time_s)))
    stretch = np.concatenate([[0], np.cumsum(np.diff(time_s) > max(15.0, 5 * step_s))])
    window_s = max(_POSITION_WINDOW_S, 1.1 * step_s)
    rough_nm = float(np.hypot(_noise(time_s, east, stretch, step_s), _noise(time_s, north, stretch, step_s)))
    bend_s = max(_BEND_S, 1.1 * step_s)
    bent = [_fitted(time_s, each, stretch, bend_s, step_s)[2] * NM_M for each in (east, north)]
    east, east_kt = _fit(time_s, east, stretch, window_s, step_s)
    north, north_kt = _fit(time_s, north, stretch, window_s, step_s)
    gs_kt = np.hypot(east_kt, north_kt) * 3600.0
    track_deg = np.mod(np.rad2deg(np.arctan2(east_kt, north_kt)) - station.declination_deg, 360.0)
    heading = data.get("heading_deg")
    heading_deg = track_deg if heading is None else np.where(np.isnan(heading), track_deg, np.mod(heading, 360.0))
    ground_nm = np.hypot(east, north)
    radial_deg = np.mod(np.rad2deg(np.arctan2(east, north)) - station.declination_deg, 360.0)

    step_ft = _altitude_step_ft(data["alt_ft"])
    noise_ft = _altitude_noise_ft(time_s, data["alt_ft"], stretch, step_s, step_ft)
    alt_window_s = max(2.0 * np.ceil(step_s), 20.0 if step_ft >= 50 else 6.0 if noise_ft > _FINE_FT else 4.0)
    smooth_ft, climb_ft_s = _fit(time_s, data["alt_ft"], stretch, alt_window_s, step_s, degree=1)
    if 0.0 < noise_ft <= _ROUGH_FT:  # a parabola keeps the depth of a dip and the corner of a climb
        smooth_ft = _fit(time_s, data["alt_ft"], stretch, max(2.1 * step_s, _CORNER_S), step_s)[0]
    samples = max(3.0, 2 * alt_window_s / max(step_s, 1.0))
    if noise_ft > _FINE_FT:
        alt_ft, grain_ft = smooth_ft, step_ft / 2 + 4.0 * noise_ft / np.sqrt(samples)
    else:
        alt_ft, grain_ft = data["alt_ft"], (step_ft / 2 if step_ft > _FINE_FT else 0.0)
    vs_fpm, vs_grain_fpm = climb_ft_s * 60.0, 60.0 * (step_ft + 3.0 * noise_ft) / (2 * alt_window_s)
    if "vs_fpm" in data:
        vs_fpm, vs_grain_fpm = np.where(np.isnan(data["vs_fpm"]), vs_fpm, data["vs_fpm"]), 0.0
    height_ft = np.clip(alt_ft - station.elevation_ft, 0.0, 60_000.0)
    dme_nm = np.asarray(dme.slant_nm(ground_nm=ground_nm, height_ft=height_ft))
    if "dme_nm" in data:
        dme_nm = np.where(np.isnan(data["dme_nm"]), dme_nm, data["dme_nm"])
    return Seen(
        time_s=time_s,
        east_nm=east,
        north_nm=north,
        ground_nm=ground_nm,
        radial_deg=radial_deg,
        dme_nm=dme_nm,
        alt_ft=alt_ft,
        alt_grain_ft=float(grain_ft) if grain_ft > _FINE_FT else 0.0,
        alt_step_ft=step_ft,
        vs_fpm=vs_fpm,
        vs_grain_fpm=float(vs_grain_fpm),
        track_deg=track_deg,
        gs_kt=gs_kt,
        heading_deg=heading_deg,
        turn_deg_s=_turn_rate(time_s, heading_deg, stretch, step_s),
        across_ms2=(bent[0] * north_kt - bent[1] * east_kt) / np.maximum(np.hypot(east_kt, north_kt), 1e-9),
        across_grain_ms2=_bend_grain(rough_nm * NM_M, bend_s, step_s),
        stretch=stretch,
        step_s=step_s,
        recorded=frozenset(track.columns),
        columns=data,
        notes=_notes(track, step_ft, noise_ft, float(grain_ft)),
        height=prior(track.height_kind),
        position_nm=POSITION_NM + 2.0 * rough_nm / np.sqrt(max(1.0, window_s / step_s)),
    )


def half_round(seen: Seen) -> Seen:
    """The same flight turned half round the station: what was flown if every course is reversed."""
    return replace(
        seen,
        east_nm=-seen.east_nm,
        north_nm=-seen.north_nm,
        radial_deg=np.mod(seen.radial_deg + 180.0, 360.0),
        track_deg=np.mod(seen.track_deg + 180.0, 360.0),
        heading_deg=np.mod(seen.heading_deg + 180.0, 360.0),
        recorded=seen.recorded - {"course_1_deg", "course_2_deg", "needle_1_deg", "needle_2_deg"},
    )


def _notes(track: Track, step_ft: float, noise_ft: float, grain_ft: float) -> tuple[str, ...]:
    notes = list(track.notes)
    if "needle_1_deg" not in track.columns:
        notes.append("The recording holds no needle: it was worked out from the positions.")
    if step_ft >= 10:
        notes.append(f"Altitudes come in steps of {step_ft:.0f} ft: within {grain_ft:.0f} ft nothing can be told.")
    elif noise_ft > _FINE_FT:
        notes.append(f"Altitudes are uneven by some {noise_ft:.0f} ft: within {grain_ft:.0f} ft nothing can be told.")
    return tuple(notes)


def _thinned(time_s: Floats) -> NDArray[np.intp]:
    """Indices of samples about a second apart or more."""
    if np.median(np.diff(time_s)) >= _THIN_S:
        return np.arange(len(time_s))
    slot = np.floor((time_s - time_s[0]) / 1.0 + 1e-6)
    return np.flatnonzero(np.concatenate([[True], np.diff(slot) > 0]))


def _near_the_station(track: Track, procedure: Procedure) -> None:
    station = procedure.station
    every = slice(None, None, max(1, len(track) // 25))

    def nearest_nm(lat_deg: Floats, lon_deg: Floats) -> float:
        return float(
            np.min(
                geodesy.inverse(
                    from_lat_deg=station.lat_deg, from_lon_deg=station.lon_deg, to_lat_deg=lat_deg, to_lon_deg=lon_deg
                )[1]
            )
        )

    found_nm = nearest_nm(track.lat_deg[every], track.lon_deg[every])
    if found_nm <= _FARTHEST_NM:
        return
    lat, lon = track.lat_deg[every], track.lon_deg[every]
    advice = "choose the procedure that was flown"
    if (np.abs(lon) <= 90).all() and nearest_nm(lon, lat) <= _FARTHEST_NM:
        advice = "latitude and longitude seem to be swapped"
    elif nearest_nm(lat, -lon) <= _FARTHEST_NM:
        advice = "the sign of the longitude seems to be wrong (west is negative)"
    elif nearest_nm(-lat, lon) <= _FARTHEST_NM:
        advice = "the sign of the latitude seems to be wrong (south is negative)"
    raise BadData(
        f"The track stays {found_nm:,.0f} NM or more from {station.ident}, the station of {procedure.name} at "
        f"{procedure.airport.name}: expected within {_FARTHEST_NM:.0f} NM; {advice}"
    )


def _fit(
    time_s: Floats, values: Floats, stretch: NDArray[np.int_], window_s: float, step_s: float, degree: int = 2
) -> tuple[Floats, Floats]:
    """Value and rate per second at every sample of the least-squares parabola (or line) through its neighbours."""
    return _fitted(time_s, values, stretch, window_s, step_s, degree)[:2]


def _bend_grain(rough: float, window_s: float, step_s: float) -> float:
    """How far noise of single values alone bends the parabola through them: three standard deviations."""
    lag = step_s * np.arange(-int(window_s / step_s + 1e-6), int(window_s / step_s + 1e-6) + 1)
    squared = lag**2 - np.mean(lag**2)
    return float(3.0 * 2.0 * rough / np.sqrt(np.sum(squared**2)))


def _fitted(
    time_s: Floats, values: Floats, stretch: NDArray[np.int_], window_s: float, step_s: float, degree: int = 2
) -> tuple[Floats, Floats, Floats]:
    """The same, and the second derivative (0 where there are too few neighbours to tell it)."""
    size = len(time_s)
    reach = min(int(np.ceil(window_s / max(step_s, 0.5))) + 2, size - 1)
    moments = np.zeros((2 * degree + 1, size))
    sums = np.zeros((degree + 1, size))
    for offset in range(-reach, reach + 1):
        here = slice(max(0, -offset), min(size, size - offset))
        there = slice(here.start + offset, here.stop + offset)
        lag = time_s[there] - time_s[here]
        term = ((np.abs(lag) <= window_s + 1e-9) & (stretch[there] == stretch[here])).astype(float)
        for power in range(2 * degree + 1):
            moments[power, here] += term
            if power <= degree:
                sums[power, here] += values[there] * term
            term = term * lag
    fitted, rate = values.copy(), np.gradient(values, time_s)  # alone between two pauses: from pause to pause
    bend = np.zeros(size)
    count = moments[0]
    for terms in range(2, degree + 2):
        enough = count >= (terms if terms == 2 else terms + (step_s < window_s / 2))
        if not enough.any():
            continue
        matrix = np.stack([[moments[i + j, enough] for j in range(terms)] for i in range(terms)])
        right = np.stack([sums[i, enough] for i in range(terms)])
        solved = np.linalg.solve(np.moveaxis(matrix, 2, 0), right.T[..., None])[..., 0]
        fitted[enough], rate[enough] = solved[:, 0], solved[:, 1]
        bend[enough] = 2.0 * solved[:, 2] if terms > 2 else 0.0
    return fitted, rate, bend


def _turn_rate(time_s: Floats, heading_deg: Floats, stretch: NDArray[np.int_], step_s: float) -> Floats:
    """Rate of turn over a few seconds either side. [deg/s], right positive."""
    unwrapped = np.rad2deg(np.unwrap(np.deg2rad(heading_deg)))
    return _fit(time_s, unwrapped, stretch, max(3.0, 1.1 * step_s), step_s, degree=1)[1]


def _altitude_step_ft(alt_ft: Floats) -> float:
    """Size of the steps altitudes come in; 0 where they are fine."""
    for step in _STEPS_FT:
        if np.abs(alt_ft / step - np.round(alt_ft / step)).max() * step < 0.6 and len(np.unique(alt_ft)) > 3:
            return step
    return 0.0


def _altitude_noise_ft(
    time_s: Floats, alt_ft: Floats, stretch: NDArray[np.int_], step_s: float, step_ft: float
) -> float:
    """Standard deviation of single altitudes about their neighbours; 0 where the steps explain them. [ft]"""
    return 0.0 if step_ft >= 10 else _noise(time_s, alt_ft, stretch, step_s)


def _noise(time_s: Floats, values: Floats, stretch: NDArray[np.int_], step_s: float) -> float:
    """Standard deviation of single values about their neighbours."""
    if len(values) < 20:
        return 0.0
    same = (
        (stretch[2:] == stretch[:-2]) & (np.diff(time_s)[1:] < 1.6 * step_s) & (np.diff(time_s)[:-1] < 1.6 * step_s)
    )
    bends = (values[2:] - 2 * values[1:-1] + values[:-2])[same]
    if len(bends) < 10:
        return 0.0
    # The median ignores the few true bends (levelling off); sqrt(6) is what a second difference does to noise.
    return float(np.median(np.abs(bends)) / 0.6745 / np.sqrt(6.0))
