"""What happened, from the simulator's own history at its own rate: nothing here reads a record."""

import numpy as np

from ground import FT, earth_centred, pressure_altitude_ft
from simulator import RATE_HZ

FT_PER_NM = 1852.0 / FT
CHECKPOINTS_NM = [10.0, 7.0, 5.0, 4.0, 3.0]
GATES_FT = [1000.0, 500.0]


class History:
    def __init__(self, flown, runway):
        self.f, self.runway = flown, runway
        last = len(flown["time_s"]) - 1  # standing on the level runway
        altitude = pressure_altitude_ft(flown["pressure_pa"])
        # Heights are those of the altimeter above where it comes to rest on the runway.
        self.by_altimeter_ft = altitude - altitude[last]
        self.by_tape_ft = flown["alt_ft"] - flown["alt_ft"][last]
        on_ground = earth_centred(flown["lat_deg"], flown["lon_deg"], 0.0)
        steps = np.linalg.norm(np.diff(on_ground, axis=0), axis=1) / FT
        self.way_ft = np.concatenate([[0.0], np.cumsum(steps)])
        self.gliding = runway.glide_path_dots(flown["ahead_ft"], flown["right_ft"], flown["up_ft"])
        self.localized = runway.localizer_dots(flown["ahead_ft"], flown["right_ft"])

    def at(self, values, where):
        """Linear between two steps; `where` is a step with its fraction."""
        return float(np.interp(where, np.arange(len(values)), values))

    def last_fall(self, values, level, first, end):
        """Where the values last fell through the level, or None."""
        part = values[first:end]
        fell = np.nonzero((part[:-1] >= level) & (part[1:] < level))[0]
        if not len(fell):
            return None
        i = first + int(fell[-1])
        return i + (values[i] - level) / (values[i] - values[i + 1])

    def sink_fpm(self, where):
        """Mean of the three seconds around."""
        half = int(1.5 * RATE_HZ)
        middle = int(round(where))
        return float(-60.0 * np.mean(self.f["climb_fps"][middle - half:middle + half + 1]))

    def loss_ft_per_nm(self, where):
        """Energy height lost over the last air mile, from the forces: drag less thrust over weight."""
        air_ft = np.cumsum(self.f["tas_kt"]) * FT_PER_NM / 3600.0 / RATE_HZ
        end = int(round(where))
        begin = int(np.searchsorted(air_ft, air_ft[end] - FT_PER_NM))
        speeds = self.f["tas_kt"][begin:end]
        return float(FT_PER_NM * np.sum(self.f["braking"][begin:end] * speeds) / np.sum(speeds))

    def altimeter_sink_fpm(self, where):
        """What the altimeter lost over the four seconds around, for a record without vertical speed."""
        half, middle = 2 * RATE_HZ, int(round(where))
        return float(15.0 * (self.by_altimeter_ft[middle - half] - self.by_altimeter_ft[middle + half]))

    def straight_nm(self, where):
        """Straight to the threshold over the ellipsoid: the chord, a foot short of the arc at most."""
        lat, lon = self.at(self.f["lat_deg"], where), self.at(self.f["lon_deg"], where)
        threshold = earth_centred(self.runway.lat_deg, self.runway.lon_deg, 0.0)
        return float(np.linalg.norm(earth_centred(lat, lon, 0.0) - threshold)) / 1852.0

    def energy_height_ft(self, where):
        """Height by tape and what the true airspeed is worth in height."""
        tas = self.at(self.f["tas_kt"], where) * 1852.0 / 3600.0
        return self.at(self.by_tape_ft, where) + tas * tas / (2.0 * 9.80665) / FT


def approaches(flown, runway, marks):
    """One entry for each time the aircraft came down."""
    history = History(flown, runway)
    found, first = [], 0
    for i, (time_s, what) in enumerate(marks):
        if what == "take_off":
            first = int(round(time_s * RATE_HZ))
            continue
        end = int(round(time_s * RATE_HZ))
        then = marks[i + 1][1] if i + 1 < len(marks) else None
        outcome = "go_around" if what == "go_around" else "touch_and_go" if then == "take_off" else "landing"
        found.append(approach(history, first, end, outcome))
        first = end
    return found


def approach(history, first, end, outcome):
    f = history.f
    crossed = history.last_fall(-f["ahead_ft"], 0.0, first, end + 1)
    entry = {"outcome": outcome, "runway": history.runway.ident, "airport": history.runway.airport}
    if outcome == "go_around":
        entry["go_around"] = {"time_s": end / RATE_HZ, "height_ft": float(history.by_altimeter_ft[end])}
        straight_ft = history.straight_nm(end) * FT_PER_NM
        to_go_ft = history.way_ft[end] + straight_ft - history.way_ft
    else:
        entry["touchdown"] = touchdown(history, end)
        entry["threshold"] = {"time_s": crossed / RATE_HZ, "height_ft": history.at(history.by_tape_ft, crossed)}
        to_go_ft = history.at(history.way_ft, crossed) - history.way_ft
    entry["checkpoints"] = []
    for nm in CHECKPOINTS_NM:
        where = history.last_fall(to_go_ft, nm * FT_PER_NM, first, end)
        if where is not None:
            entry["checkpoints"].append({
                "distance_nm": nm, "time_s": where / RATE_HZ, "straight_nm": history.straight_nm(where),
                "height_by_altimeter_ft": history.at(history.by_altimeter_ft, where),
                "height_by_tape_ft": history.at(history.by_tape_ft, where),
                "cas_kt": history.at(f["cas_kt"], where), "tas_kt": history.at(f["tas_kt"], where),
                "energy_height_ft": history.energy_height_ft(where),
                "loss_ft_per_nm": history.loss_ft_per_nm(where),
                "flap_lever": int(f["lever"][int(where)]), "gear_down": int(f["gear_pos"][int(where)] > 0.99),
            })
    entry["gates"] = []
    for ft in GATES_FT:
        where = history.last_fall(history.by_altimeter_ft, ft, first, end)
        if where is not None:
            entry["gates"].append({
                "height_ft": ft, "time_s": where / RATE_HZ, "distance_nm": history.at(to_go_ft, where) / FT_PER_NM,
                "cas_kt": history.at(f["cas_kt"], where), "tas_kt": history.at(f["tas_kt"], where),
                "ground_speed_kt": history.at(f["gs_kt"], where), "sink_rate_fpm": history.sink_fpm(where),
                "altimeter_sink_rate_fpm": history.altimeter_sink_fpm(where),
                "energy_height_ft": history.energy_height_ft(where),
                "glide_path_dots": history.at(history.gliding, where),
                "localizer_dots": history.at(history.localized, where),
            })
    return entry


def touchdown(history, at):
    """First contact of a main wheel."""
    f = history.f
    before = slice(at - RATE_HZ // 4, at)
    return {
        "time_s": at / RATE_HZ, "beyond_threshold_ft": float(f["ahead_ft"][at]), "right_ft": float(f["right_ft"][at]),
        "sink_fpm": float(-60.0 * np.mean(f["climb_fps"][before])),
        "highest_g": float(np.max(f["nz_g"][at:at + RATE_HZ])),
    }
