"""Runs one flight in the flight dynamics library and keeps its state at the library's own rate."""

import math

import jsbsim
import numpy as np

from ground import FT
from pilot import Pilot

# The library's bundled twin-jet model.
MODEL = "737"
RATE_HZ = 120
SETTLE_S = 50  # flown before the record begins, while loops find their trim
KEPT = [
    "time_s", "lat_deg", "lon_deg", "alt_ft", "pressure_pa", "temp_c", "cas_kt", "tas_kt", "gs_kt", "climb_fps",
    "theta", "phi", "psi", "track", "nz_g", "wheels_ft", "main_wheels", "flap_deg", "lever", "gear_pos", "n1_1",
    "n1_2", "mass_kg", "ahead_ft", "right_ft", "up_ft", "wind_north_fps", "wind_east_fps", "throttle", "braking",
]


def fly(runway, plan):
    """The flown history, column to array, and the pilot's marks."""
    fdm = jsbsim.FGFDMExec(None)
    fdm.set_debug_level(0)
    fdm.load_model(MODEL)
    fdm.set_dt(1.0 / RATE_HZ)
    lat, lon = runway.point(plan["start_ahead_nm"] * 6076.1155, plan["start_right_nm"] * 6076.1155)
    fdm["ic/terrain-elevation-ft"] = runway.elevation_ft
    fdm["ic/lat-geod-deg"], fdm["ic/long-gc-deg"] = lat, lon
    fdm["ic/h-sl-ft"] = runway.elevation_ft + plan["level_ft"]
    fdm["ic/psi-true-deg"] = runway.bearing_deg
    fdm["atmosphere/delta-T"] = plan["isa_deviation_c"] * 1.8
    fdm["ic/vc-kts"] = plan["start_kt"]
    fdm["ic/theta-deg"] = 3.0
    fdm.run_ic()
    fdm["propulsion/set-running"] = -1
    to, speed = math.radians(plan["wind_from_deg"] + 180.0), 0.6 * plan["wind_kt"] * 1.687810
    fdm["atmosphere/wind-north-fps"], fdm["atmosphere/wind-east-fps"] = speed * math.cos(to), speed * math.sin(to)
    if plan["turbulence"]:
        fdm["simulation/randomseed"] = 11
        fdm["atmosphere/randomseed"] = 11
        fdm["atmosphere/turb-type"] = 3
        fdm["atmosphere/turbulence/milspec/windspeed_at_20ft_AGL-fps"] = 0.6 * plan["wind_kt"] * 1.687810
        fdm["atmosphere/turbulence/milspec/severity"] = plan["turbulence"]
    pilot = Pilot(fdm, runway, plan)
    rows, last_cas, gain = [], None, 0.0
    for step in range(3600 * RATE_HZ):
        s = state(fdm, runway)
        if last_cas is not None:
            gain += ((s["cas_kt"] - last_cas) * RATE_HZ - gain) / (1.5 * RATE_HZ)
        last_cas, s["gain_kt_s"] = s["cas_kt"], gain
        pilot.step(s, 1.0 / RATE_HZ)
        s["lever"], s["throttle"] = pilot.lever, pilot.throttle
        if step >= SETTLE_S * RATE_HZ:
            rows.append([s[name] for name in KEPT])
        stopped = pilot.phase == "roll" and s["gs_kt"] < 15.0
        if stopped or not fdm.run():
            break
    if not stopped:
        raise RuntimeError(f"not landed after {s['time_s']:.0f} s: {s}")
    flown = dict(zip(KEPT, np.array(rows, dtype=float).T))
    begun_s = flown["time_s"][0]
    flown["time_s"] = np.arange(len(rows)) / RATE_HZ
    return flown, [(t - begun_s, what) for t, what in pilot.marks]


def state(fdm, runway):
    """What the pilot sees and the record keeps."""
    lat, lon = fdm["position/lat-geod-deg"], fdm["position/long-gc-deg"]
    alt_ft = fdm["position/geod-alt-ft"]
    ahead, right, up = runway.place(lat, lon, alt_ft * FT)
    north, east = fdm["velocities/v-north-fps"], fdm["velocities/v-east-fps"]
    gs = math.hypot(north, east)
    track = math.atan2(east, north)
    climb = fdm["velocities/h-dot-fps"]
    thrust_lbs = fdm["propulsion/engine/thrust-lbs"] + fdm["propulsion/engine[1]/thrust-lbs"]
    return {
        # What drag is more than thrust, as a share of the weight.
        "braking": (fdm["forces/fwx-aero-lbs"] - thrust_lbs * math.cos(fdm["aero/alpha-rad"])) / fdm["inertia/weight-lbs"],
        "time_s": fdm["simulation/sim-time-sec"], "lat_deg": lat, "lon_deg": lon, "alt_ft": alt_ft,
        "height_ft": alt_ft - runway.elevation_ft, "ahead_ft": ahead, "right_ft": right, "up_ft": up,
        "pressure_pa": fdm["atmosphere/P-psf"] * 47.88025898, "temp_c": fdm["atmosphere/T-R"] / 1.8 - 273.15,
        "cas_kt": fdm["velocities/vc-kts"], "tas_kt": fdm["velocities/vtrue-kts"], "gs_kt": gs / 1.687810,
        "climb_fps": climb, "gamma": math.atan2(climb, max(gs, 1.0)), "speed_fps": max(math.hypot(gs, climb), 50.0),
        "closing_fps": gs * math.cos(track - math.radians(runway.bearing_deg)),
        "theta": fdm["attitude/theta-rad"], "phi": fdm["attitude/phi-rad"], "psi": fdm["attitude/psi-rad"],
        "p": fdm["velocities/p-rad_sec"], "q": fdm["velocities/q-rad_sec"], "r": fdm["velocities/r-rad_sec"],
        "track": track, "nz_g": fdm["accelerations/Nz"],
        "wheels_ft": min(fdm["gear/unit[1]/AGL-ft"], fdm["gear/unit[2]/AGL-ft"]),
        "main_wheels": float(bool(fdm["gear/unit[1]/WOW"]) or bool(fdm["gear/unit[2]/WOW"])),
        "flap_deg": fdm["fcs/flap-pos-norm"] * 40.0, "gear_pos": fdm["gear/gear-pos-norm"],
        "n1_1": fdm["propulsion/engine/n1"], "n1_2": fdm["propulsion/engine[1]/n1"],
        "mass_kg": fdm["inertia/weight-lbs"] * 0.45359237,
        "wind_north_fps": fdm["atmosphere/total-wind-north-fps"], "wind_east_fps": fdm["atmosphere/total-wind-east-fps"],
    }
