"""What happened, from the simulator's own history at its own rate: nothing here reads a record."""

import numpy as np

from ground import FT, earth_centred, pressure_altitude_ft
from simulator import RATE_HZ

FT_PER_NM = 1852.0 / FT
CHECKPOINTS_NM = [10.0, 7.0, 5.0, 4.0, 3.0]
GATES_FT = [1000.0, 500.0]
# Of the invented type, as `fly.py` writes it: limit and surface angle of each lever position, speeds by mass.
LIMIT_KT, FLAP_DEG = [340.0, 235.0, 215.0, 195.0, 180.0], [0.0, 5.0, 15.0, 25.0, 40.0]
MASS_KG, VAPP_KT = [42000.0, 48000.0, 52000.0], [131.0, 140.0, 145.0]
BRIDGE_S = 3.0  # exceedances closer than this are one


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


    def headwind_kt(self, first, end):
        """Mean wind along the runway below 1,000 ft."""
        low = np.nonzero(self.by_altimeter_ft[first:end] <= 1000.0)[0]
        low = low[low >= (self.last_fall(self.by_altimeter_ft, 1000.0, first, end) or first) - first] + first
        bearing = np.radians(self.runway.bearing_deg)
        along = self.f["wind_north_fps"] * np.cos(bearing) + self.f["wind_east_fps"] * np.sin(bearing)
        return float(-np.mean(along[low])) / 1.687810

    def energy_excess_ft(self, where, to_go_nm):
        """Energy height over that of the path at VAPP, which is what is planned within 4 NM."""
        tas_over_cas = self.f["tas_kt"][where] / self.f["cas_kt"][where]
        vapp = float(np.interp(self.f["mass_kg"][where], MASS_KG, VAPP_KT)) * tas_over_cas * 1852.0 / 3600.0
        path_ft = self.runway.crossing_ft + to_go_nm * FT_PER_NM * np.tan(np.radians(self.runway.path_deg))
        return self.energy_height_ft(where) - float(path_ft) - vapp * vapp / (2.0 * 9.80665) / FT

    def flap_exceedances(self, first, end):
        """Where airspeed was over the limit of the lever, or of the surface on its way."""
        lever = self.f["lever"][first:end].astype(int)
        # A surface between two positions has the limit of the greater one.
        surface = np.searchsorted(FLAP_DEG, self.f["flap_deg"][first:end] - 0.01)
        over_kt = self.f["cas_kt"][first:end] - np.take(LIMIT_KT, np.maximum(lever, surface))
        over = np.nonzero((lever > 0) & (over_kt > 0.0))[0]
        if not len(over):
            return []
        runs = np.split(over, np.nonzero(np.diff(over) > BRIDGE_S * RATE_HZ)[0] + 1)
        return [{
            "start_s": (first + int(run[0])) / RATE_HZ, "end_s": (first + int(run[-1]) + 1) / RATE_HZ,
            "worst_kt": float(np.max(over_kt[run])), "lever": int(lever[run[np.argmax(over_kt[run])]]),
        } for run in runs]


def approaches(flown, runway, marks, purpose):
    """One entry for each time the aircraft came down."""
    history = History(flown, runway)
    found, first = [], 0
    for i, (time_s, what) in enumerate(marks):
        if what == "take_off":
            first = int(round(time_s * RATE_HZ))
            continue
        end = int(round(time_s * RATE_HZ))
        then = marks[i + 1][1] if i + 1 < len(marks) else None
        left_again = "touch_and_go" if purpose == "training" else "go_around_touched"
        outcome = "go_around" if what == "go_around" else left_again if then == "take_off" else "landing"
        found.append(approach(history, first, end, outcome))
        first = end
    return found


def approach(history, first, end, outcome):
    f = history.f
    crossed = history.last_fall(-f["ahead_ft"], 0.0, first, end + 1)
    entry = {"outcome": outcome, "runway": history.runway.ident, "airport": history.runway.airport}
    if outcome == "go_around":
        straight_ft = history.straight_nm(end) * FT_PER_NM
        to_go_ft = history.way_ft[end] + straight_ft - history.way_ft
        entry["go_around"] = {
            "time_s": end / RATE_HZ, "height_ft": float(history.by_altimeter_ft[end]),
            "energy_excess_ft": history.energy_excess_ft(end, straight_ft / FT_PER_NM),
        }
    else:
        entry["touchdown"] = touchdown(history, end)
        entry["threshold"] = {
            "time_s": crossed / RATE_HZ, "height_ft": history.at(history.by_tape_ft, crossed),
            "cas_kt": history.at(f["cas_kt"], crossed),
        }
        to_go_ft = history.at(history.way_ft, crossed) - history.way_ft
    entry["headwind_kt"] = history.headwind_kt(first, end)
    entry["flap_exceedances"] = history.flap_exceedances(first, end)
    entry["flap_and_gear"] = flap_and_gear(history, to_go_ft, first, end)
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


def flap_and_gear(history, to_go_ft, first, end):
    """Where the flap lever left its clean position, and where the gear was down; None where it was so before."""
    lever, gear = history.f["lever"][first:end + 1], history.f["gear_pos"][first:end + 1]
    flap_at, gear_at = np.nonzero((lever[:-1] == 0) & (lever[1:] > 0))[0], np.nonzero((gear[:-1] <= 0.99) & (gear[1:] > 0.99))[0]
    nm = lambda at: float(to_go_ft[first + int(at[-1]) + 1]) / FT_PER_NM if len(at) else None  # noqa: E731
    height = float(history.by_altimeter_ft[first + int(gear_at[-1]) + 1]) if len(gear_at) else None
    return {"first_flap_nm": nm(flap_at), "gear_down_nm": nm(gear_at), "gear_down_height_ft": height}


def contacts(history, at):
    """Times the main wheels came back within 10 s of the last contact, from 3 ft and more, never above 60 ft."""
    wheels, height, count = history.f["main_wheels"], history.f["wheels_ft"], 0
    landed, i = at, at
    while i < len(wheels) and i - landed <= 10 * RATE_HZ:
        if wheels[i] and not wheels[i - 1] and i > at:
            top_ft = float(np.max(height[landed:i]))
            if 3.0 <= top_ft <= 60.0:
                landed, count = i, count + 1
        i += 1
    return count


def touchdown(history, at):
    """First contact of a main wheel."""
    f = history.f
    before = slice(at - RATE_HZ // 4, at)
    return {
        "time_s": at / RATE_HZ, "beyond_threshold_ft": float(f["ahead_ft"][at]), "right_ft": float(f["right_ft"][at]),
        "sink_fpm": float(-60.0 * np.mean(f["climb_fps"][before])),
        # What the wheels did in the last second: the nose comes up, and they sink less than the aircraft.
        "wheels_sink_fpm": float(60.0 * (f["wheels_ft"][at - RATE_HZ] - f["wheels_ft"][at])),
        "bounces": contacts(history, at),
        "highest_g": float(np.max(f["nz_g"][at:at + RATE_HZ])),
    }
