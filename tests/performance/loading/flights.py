"""Writes an invented fleet of long flights, to time loading with.

Each flight is three hours at 60 parameters, recorded at 8, 4, 2, 1, 0.5 and 0.25 Hz: about a million values. Its last
twelve minutes are a flight of the sample fleet, with its approach and landing; before it come a climb, a cruise and
a descent that lead to where it begins. Values are smooth, stirred by air, and cut to the steps of a recorder. Rows
stand eight to a second, and a column is empty where its parameter was not sampled.

    python flights.py FLEET FLIGHTS [SAMPLE_DATA]

The same arguments give the same files.
"""

import shutil
import sys
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

HOURS = 3
ROWS_PER_S = 8
TYPE = "corvan-c20"

# name, unit, samples a second, step of the recorder.
RECORDED = [
    ("pressure_altitude_ft", 2, 4.0), ("baro_altitude_ft", 1, 4.0), ("radio_altitude_ft", 2, 1.0),
    ("cas_kt", 2, 0.25), ("tas_kt", 1, 0.25), ("target_speed_kt", 1, 1.0), ("ground_speed_kt", 1, 0.5),
    ("vertical_speed_fpm", 2, 16.0), ("pitch_deg", 4, 0.087890625), ("roll_deg", 4, 0.17578125),
    ("heading_true_deg", 1, 0.3515625), ("track_true_deg", 1, 0.3515625), ("latitude_deg", 1, 2.0**-13),
    ("longitude_deg", 1, 2.0**-13), ("normal_accel_g", 8, 2.0**-8), ("longitudinal_accel_g", 4, 2.0**-9),
    ("lateral_accel_g", 4, 2.0**-9), ("flap_lever", 0.5, 1.0), ("flap_angle_deg", 0.5, 0.25),
    ("slat_angle_deg", 0.5, 0.25), ("gear_lever", 1, 1.0), ("gear_down", 1, 1.0), ("speedbrake", 1, 2.0**-7),
    ("n1_1_pct", 1, 0.125), ("n1_2_pct", 1, 0.125), ("glide_path_dev_dots", 2, 2.0**-6),
    ("localizer_dev_dots", 2, 2.0**-6), ("ils_tuned", 1, 1.0), ("ils_freq_mhz", 0.25, 0.05),
    ("gross_mass_kg", 0.25, 50.0), ("wind_speed_kt", 0.5, 1.0), ("wind_from_deg", 0.5, 0.703125),
    ("on_ground", 4, 1.0), ("vref_kt", 0.25, 1.0), ("vapp_kt", 0.25, 1.0), ("static_air_temp_c", 0.5, 0.25),
    ("qnh_hpa", 0.25, 0.5), ("autopilot", 1, 1.0), ("autothrust", 1, 1.0), ("toga", 1, 1.0),
    ("taws_alert", 1, 1.0), ("windshear_alert", 1, 1.0), ("stall_warning", 1, 1.0),
    ("resolution_advisory", 1, 1.0), ("reverser", 1, 1.0), ("ground_spoiler", 1, 1.0),
]
# Parameters that the catalogue lacks: name, unit, samples a second, step, lowest, highest.
OWN = [
    ("elevator_deg", "deg", 8, 0.087890625, -40, 40), ("aileron_left_deg", "deg", 4, 0.087890625, -40, 40),
    ("aileron_right_deg", "deg", 4, 0.087890625, -40, 40), ("rudder_deg", "deg", 4, 0.087890625, -40, 40),
    ("stabiliser_deg", "deg", 1, 0.05, -20, 20), ("fuel_flow_1_pct", "%", 1, 0.25, 0, 120),
    ("fuel_flow_2_pct", "%", 1, 0.25, 0, 120), ("exhaust_temp_1_c", "degC", 1, 1.0, -60, 1200),
    ("exhaust_temp_2_c", "degC", 1, 1.0, -60, 1200), ("n2_1_pct", "%", 1, 0.125, 0, 120),
    ("n2_2_pct", "%", 1, 0.125, 0, 120), ("oil_temp_1_c", "degC", 0.5, 1.0, -60, 250),
    ("oil_temp_2_c", "degC", 0.5, 1.0, -60, 250), ("cabin_altitude_ft", "ft", 0.5, 25.0, -1500, 20000),
]
STATES = {"flap_lever", "gear_lever", "gear_down", "ils_tuned", "on_ground", "autopilot", "autothrust", "toga",
          "taws_alert", "windshear_alert", "stall_warning", "resolution_advisory", "reverser", "ground_spoiler"}
ANGLES = {"heading_true_deg", "track_true_deg", "wind_from_deg"}

FLEET = """# Invented flights of three hours, to time loading with.
[fleet]
title = "Three-hour flights"

[records]
path = "records"
rate_hz = {rate_hz}

[privacy]
min_flights = 10
rekey = false
"""


def stirred(random, n, seconds, spread):
    """Noise that forgets itself in `seconds`, at eight values a second."""
    keep = np.exp(-1.0 / (ROWS_PER_S * seconds))
    draws = random.standard_normal(n) * spread * np.sqrt(1 - keep * keep)
    # A recursive filter by blocks: y[i] = keep * y[i - 1] + draws[i].
    out = np.empty(n)
    last, size = 0.0, 256
    powers = keep ** np.arange(1, size + 1)
    for at in range(0, n, size):
        part = draws[at:at + size]
        p = powers[:len(part)]
        out[at:at + size] = p * (last + np.cumsum(part / p))
        last = out[at + len(part) - 1]
    return out


def filled(column, times_s, at_s, state):
    """A column of the sample at other times: states held, the rest on lines between; unknown beyond its ends."""
    value = column.to_numpy(zero_copy_only=False).astype(float)
    known = ~np.isnan(value)
    if not known.any():
        return np.full(len(at_s), np.nan)
    t, v = times_s[known], value[known]
    if state:
        return v[np.clip(np.searchsorted(t, at_s, side="right") - 1, 0, None)]
    out = np.interp(at_s, t, v)
    out[(at_s < t[0] - 2) | (at_s > t[-1] + 4)] = np.nan
    return out


def flight(sample, random):
    """All columns at every row."""
    times_s = sample["time_s"].to_numpy()
    n = HOURS * 3600 * ROWS_PER_S
    late_s = np.arange(0, times_s[-1] - times_s[0], 1 / ROWS_PER_S)
    m = n - len(late_s)
    names = {name for name, *_ in RECORDED}
    late = {name: filled(sample[name], times_s, times_s[0] + late_s, name in STATES)
            for name in sample.column_names if name in names}
    unwrapped = lambda x: np.rad2deg(np.unwrap(np.deg2rad(x)))
    for name in ANGLES:
        if name in late:
            t, v = times_s, sample[name].to_numpy(zero_copy_only=False).astype(float)
            known = ~np.isnan(v)
            late[name] = np.interp(times_s[0] + late_s, t[known], unwrapped(v[known]))
    s = np.arange(m) / ROWS_PER_S  # seconds of the early part
    end_s = m / ROWS_PER_S
    first = {name: value[~np.isnan(value)][0] for name, value in late.items() if not np.isnan(value).all()}

    knots_s = [0, 400, 1900, end_s - 1100, end_s]
    cruise_ft = 33_000 + 2_000 * random.integers(0, 4)
    altitude = np.interp(s, knots_s, [300, 300, cruise_ft, cruise_ft, first["pressure_altitude_ft"]])
    wide = ROWS_PER_S * 60
    smooth = np.convolve(np.pad(altitude, wide // 2, mode="edge"), np.ones(wide) / wide, mode="same")[wide // 2:-(wide // 2)]
    blend = np.clip((end_s - s) / 60, 0, 1)
    altitude = smooth * blend + altitude * (1 - blend)
    ground = s < 400
    speed = lambda taxi, climb, cruise, name: np.interp(
        s, [0, 360, 400, 900, 1900, end_s - 900, end_s], [taxi, taxi, 150, climb, cruise, cruise, first[name]])
    gusts = stirred(random, m, 4, 1.2)
    cas = speed(30, 280, 265, "cas_kt") + gusts
    ground_speed = speed(12, 330, 455, "ground_speed_kt")
    track = first["track_true_deg"] + stirred(random, m, 400, 8) * blend
    roll = stirred(random, m, 3, 0.7)
    steps_nm = ground_speed / 3600 / ROWS_PER_S
    ahead_nm = np.cumsum(steps_nm[::-1])[::-1]
    bearing = np.deg2rad(first["track_true_deg"])
    cos_latitude = np.cos(np.deg2rad(first["latitude_deg"]))
    early = {
        "pressure_altitude_ft": altitude,
        "radio_altitude_ft": np.where(altitude < 2_500, altitude - 300, np.nan),
        "cas_kt": cas, "ground_speed_kt": ground_speed,
        "vertical_speed_fpm": np.gradient(altitude) * ROWS_PER_S * 60 + stirred(random, m, 3, 40),
        "pitch_deg": 2.5 + np.gradient(altitude) * 8 / 20 + stirred(random, m, 3, 0.3), "roll_deg": roll,
        "heading_true_deg": track + first["heading_true_deg"] - first["track_true_deg"], "track_true_deg": track,
        "latitude_deg": first["latitude_deg"] - ahead_nm * np.cos(bearing) / 60,
        "longitude_deg": first["longitude_deg"] - ahead_nm * np.sin(bearing) / 60 / cos_latitude,
        "normal_accel_g": 1 + stirred(random, m, 0.4, 0.03),
        "flap_lever": np.where(s < 500, 2, 0), "flap_angle_deg": np.interp(s, [500, 520], [10, 0]),
        "gear_lever": (s < 410).astype(float), "gear_down": (s < 405).astype(float), "speedbrake": np.zeros(m),
        "n1_1_pct": np.interp(s, [0, 370, 380, 1900, 1960], [22, 22, 94, 92, 84]) + stirred(random, m, 20, 0.5),
        "ils_tuned": np.zeros(m), "gross_mass_kg": first["gross_mass_kg"] + 0.6 * (end_s - s),
        "wind_speed_kt": np.abs(first["wind_speed_kt"] + stirred(random, m, 300, 10) * blend),
        "wind_from_deg": first["wind_from_deg"] + stirred(random, m, 300, 15) * blend,
        "on_ground": ground.astype(float), "static_air_temp_c": 15 - 0.00198 * altitude,
        "vref_kt": np.full(m, first["vref_kt"]),
    }
    early["n1_2_pct"] = early["n1_1_pct"] + 0.3 + stirred(random, m, 5, 0.1)
    unknown = {name: np.full(m, np.nan) for name in late}
    zeros = {"toga", "reverser", "ground_spoiler"}
    all_ = {name: np.concatenate([early.get(name, np.zeros(m) if name in zeros else unknown[name]), late[name]])
            for name in late}

    # What the sample lacks follows from what it has.
    altitude, t = all_["pressure_altitude_ft"], np.arange(n) / ROWS_PER_S
    air = np.nan_to_num(all_["normal_accel_g"], nan=1.0)
    states = lambda on: on.astype(float)
    high = altitude > first["pressure_altitude_ft"] / 3
    all_ |= {
        "normal_accel_g": air + stirred(random, n, 0.3, 0.012),
        "baro_altitude_ft": altitude + 27 * 4, "tas_kt": all_["cas_kt"] * (1 + altitude / 1000 * 0.0165),
        # A target speed stays where the guidance can be set to: what is below is no plausible value.
        "target_speed_kt": np.maximum(np.round(np.nan_to_num(all_["cas_kt"], nan=30.0) / 10) * 10, 100.0),
        "longitudinal_accel_g": np.gradient(all_["cas_kt"]) * ROWS_PER_S * 0.0525 * 0.1 + stirred(random, n, 0.8, 0.01),
        "lateral_accel_g": stirred(random, n, 0.6, 0.008), "slat_angle_deg": np.minimum(all_["flap_angle_deg"] * 1.5, 22),
        "ils_freq_mhz": np.full(n, 110.3), "vapp_kt": all_["vref_kt"] + 5, "qnh_hpa": np.full(n, 1013.0) + 4,
        "autopilot": states(high & (t > 500)), "autothrust": states(t > 380),
    }
    all_ |= {name: np.zeros(n) for name in
             ("taws_alert", "windshear_alert", "stall_warning", "resolution_advisory")}
    n1 = [np.nan_to_num(all_[f"n1_{i}_pct"], nan=22.0) for i in (1, 2)]
    all_ |= {
        "elevator_deg": -all_["pitch_deg"] * 0.5 + stirred(random, n, 0.5, 0.3),
        "aileron_left_deg": all_["roll_deg"] * 0.3 + stirred(random, n, 0.5, 0.4),
        "aileron_right_deg": all_["roll_deg"] * -0.3 + stirred(random, n, 0.5, 0.4),
        "rudder_deg": stirred(random, n, 0.8, 0.2), "stabiliser_deg": -1 - stirred(random, n, 200, 0.4),
        "oil_temp_1_c": 95 + stirred(random, n, 600, 5), "oil_temp_2_c": 93 + stirred(random, n, 600, 5),
        "cabin_altitude_ft": np.maximum(altitude, 0) * 0.19,
    }
    for i in (0, 1):
        all_[f"fuel_flow_{i + 1}_pct"] = n1[i] * 0.7 + stirred(random, n, 3, 0.4)
        all_[f"exhaust_temp_{i + 1}_c"] = 250 + n1[i] * 5 + stirred(random, n, 10, 2)
        all_[f"n2_{i + 1}_pct"] = 55 + n1[i] * 0.42 + stirred(random, n, 5, 0.1)
    return all_


def table(columns, flight_id, start_row):
    """Thinned to each parameter's own rate, in the recorder's steps."""
    n = HOURS * 3600 * ROWS_PER_S
    arrays, names = [pa.array(np.arange(n) / ROWS_PER_S)], ["time_s"]
    rates = [(name, rate, step) for name, rate, step in RECORDED] + [(name, rate, step) for name, _, rate, step, *_ in OWN]
    values = 0
    for i, (name, rate, step) in enumerate(rates):
        every = int(ROWS_PER_S / rate)
        value = columns[name]
        if name in ANGLES:
            value = value % 360
        value = np.round(value / step) * step
        known = np.zeros(n, dtype=bool)
        known[(i + start_row) % every::every] = True
        known &= ~np.isnan(value)
        values += int(known.sum())
        kind = pa.int16() if name in STATES else pa.float32()
        whole = np.where(known, value, 0).astype(np.int16 if name in STATES else np.float32)
        arrays.append(pa.array(whole, type=kind, mask=~known))
        names.append(name)
    return pa.table(arrays, names=names), values


def main():
    fleet, flights = Path(sys.argv[1]), int(sys.argv[2])
    default = Path(__file__).resolve().parents[3] / "sample-data"
    sample = Path(sys.argv[3]) if len(sys.argv) > 3 else default
    (fleet / "records").mkdir(parents=True)
    (fleet / "aircraft").mkdir()
    shutil.copy(sample / "runways.csv", fleet)
    shutil.copy(sample / "aircraft" / f"{TYPE}.toml", fleet / "aircraft")
    text = FLEET.format(rate_hz=1)
    for name, unit, rate, _, low, high in OWN:
        text += (f'\n[[parameter]]\nname = "{name}"\nunit = "{unit}"\nkind = "continuous"\nlow = {low}\nhigh = {high}\n'
                 f"interval_s = {1 / rate}\n")
    listed = pq.read_table(sample / "flights.parquet")
    months = sorted((sample / "records" / TYPE).glob("*.parquet"))
    rows, ids, values = [], [], 0
    while len(ids) < flights:
        # One flight of a month after the other, so that all months are there.
        month = months[len(ids) % len(months)]
        records = pq.read_table(month)
        known = records["flight_id"].unique().to_pylist()
        flight_id = known[(5 + len(ids) // len(months)) % len(known)]
        part = records.filter(pc.equal(records["flight_id"], flight_id))
        own = listed.filter(pc.equal(listed["flight_id"], flight_id))
        random = np.random.default_rng(len(ids))
        out, n = table(flight(part, random), flight_id, len(ids))
        values += n
        folder = fleet / "records" / month.stem
        folder.mkdir(exist_ok=True)
        pq.write_table(out, folder / f"{flight_id}.parquet")
        rows.append(own)
        ids.append(flight_id)
    pq.write_table(pa.concat_tables(rows), fleet / "flights.parquet")
    (fleet / "fleet.toml").write_text(text)
    parameters = len(RECORDED) + len(OWN)
    print(f"{len(ids)} flights of {HOURS} h, {parameters} parameters, {values / len(ids) / 1e6:.2f} million values each")


if __name__ == "__main__":
    main()
