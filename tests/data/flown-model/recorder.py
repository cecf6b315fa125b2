"""Samples a flown history as two recorders would: one of mixed rates, one of a sample a second."""

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from ground import pressure_altitude_ft
from simulator import RATE_HZ

BASE_HZ = 8
# Channel: samples a second in the mixed recorder, its place in the second in eighths, decimals kept.
CHANNELS = {
    "pressure_altitude_ft": (1, 0, 1), "radio_altitude_ft": (4, 0, 2), "cas_kt": (1, 1, 2), "tas_kt": (1, 1, 2),
    "ground_speed_kt": (1, 2, 2), "vertical_speed_fpm": (2, 0, 1), "pitch_deg": (4, 0, 2), "roll_deg": (2, 0, 2),
    "heading_true_deg": (1, 3, 2), "track_true_deg": (1, 3, 2), "latitude_deg": (1, 4, 7), "longitude_deg": (1, 4, 7),
    "normal_accel_g": (8, 0, 5), "flap_lever": (1, 2, 0), "flap_angle_deg": (1, 2, 2), "gear_down": (1, 6, 0),
    "n1_1_pct": (1, 5, 2), "n1_2_pct": (1, 5, 2), "glide_path_dev_dots": (1, 7, 3), "localizer_dev_dots": (1, 7, 3),
    "on_ground": (4, 0, 0), "static_air_temp_c": (1, 5, 2), "gross_mass_kg": (1, 6, 0),
    "wind_speed_kt": (1, 6, 1), "wind_from_deg": (1, 6, 1),
}
# The recorder of one sample a second lacks these: they must be worked out from what it has.
LACKED = {"tas_kt", "vertical_speed_fpm"}
# A position in single precision is up to 2.5 ft off at the 180th meridian.
DOUBLE = {"latitude_deg", "longitude_deg"}
RADIO_TOP_FT = 2500.0
SCALE_END_DOTS = 4.0


def channels(flown, runway):
    """Catalogue name to values at the simulator's rate; NaN where an instrument shows nothing."""
    f = flown
    degrees = lambda radians: np.degrees(radians) % 360.0  # noqa: E731
    seen = (np.degrees(np.abs(np.arctan2(f["right_ft"], runway.length_ft + 1000.0 - f["ahead_ft"]))) < 30.0)
    beam = lambda dots, inside: np.where(inside & (np.abs(dots) <= SCALE_END_DOTS), dots, np.nan)  # noqa: E731
    glide = runway.glide_path_dots(f["ahead_ft"], f["right_ft"], f["up_ft"])
    localizer = runway.localizer_dots(f["ahead_ft"], f["right_ft"])
    return {
        "pressure_altitude_ft": pressure_altitude_ft(f["pressure_pa"]),
        "radio_altitude_ft": np.where(f["wheels_ft"] <= RADIO_TOP_FT, f["wheels_ft"], np.nan),
        "cas_kt": np.where(f["cas_kt"] >= 30.0, f["cas_kt"], np.nan),
        "tas_kt": np.where(f["cas_kt"] >= 30.0, f["tas_kt"], np.nan),
        "ground_speed_kt": f["gs_kt"], "vertical_speed_fpm": f["climb_fps"] * 60.0,
        "pitch_deg": np.degrees(f["theta"]), "roll_deg": np.degrees(f["phi"]),
        "heading_true_deg": degrees(f["psi"]), "track_true_deg": degrees(f["track"]),
        "latitude_deg": f["lat_deg"], "longitude_deg": f["lon_deg"], "normal_accel_g": f["nz_g"],
        "flap_lever": f["lever"], "flap_angle_deg": f["flap_deg"], "gear_down": (f["gear_pos"] > 0.99) * 1.0,
        "n1_1_pct": f["n1_1"], "n1_2_pct": f["n1_2"],
        "glide_path_dev_dots": beam(glide, (f["ahead_ft"] < 700.0) & seen),
        "localizer_dev_dots": beam(localizer, seen),
        "on_ground": f["main_wheels"], "static_air_temp_c": f["temp_c"], "gross_mass_kg": f["mass_kg"],
        "wind_speed_kt": np.hypot(f["wind_north_fps"], f["wind_east_fps"]) / 1.687810,
        "wind_from_deg": degrees(np.arctan2(-f["wind_east_fps"], -f["wind_north_fps"])),
    }


def write(path, flown, runway, mixed):
    """One record: `mixed` has every channel at its own rate, else those that there are stand once a second."""
    rate = BASE_HZ if mixed else 1
    rows = np.arange(0, len(flown["time_s"]), RATE_HZ // rate)
    columns = {"time_s": pa.array(flown["time_s"][rows], pa.float64())}
    for name, value in channels(flown, runway).items():
        hz, phase, decimals = CHANNELS[name]
        if not mixed and name in LACKED:
            continue
        sampled = np.round(value[rows], decimals)
        if mixed:
            sampled[(np.arange(len(rows)) - phase) % (BASE_HZ // hz) != 0] = np.nan
        kind = pa.float64() if name in DOUBLE else pa.float32()
        columns[name] = pa.array(sampled, kind, from_pandas=True)
    pq.write_table(pa.table(columns), path, compression="zstd", compression_level=19)
