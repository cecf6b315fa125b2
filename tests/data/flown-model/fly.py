"""Flies the cases and writes the fleet folder with its truth: `python fly.py` (see README.md)."""

import json
import pathlib

import recorder
import simulator
import truth
from ground import Runway

HERE = pathlib.Path(__file__).parent
FLEET = HERE / "fleet"

LOW = Runway("ZMLO", "09", "27", 46.0, -28.0, 91.0, 12.0, 9800.0)
HIGH = Runway("ZMHI", "36", "18", 47.2, -26.5, 0.0, 1870.0, 10200.0)
SOUTH = Runway("ZMSO", "16", "34", -33.4, 18.6, 160.0, 95.0, 8300.0, displaced_ft=1150.0)
DATELINE = Runway("ZMDA", "08", "26", -17.0, 179.998, 85.0, 40.0, 9000.0)

CALM = {
    "ends": ["land"], "level_ft": 4000.0, "start_kt": 220.0, "start_ahead_nm": -29.0, "start_right_nm": 2.0,
    "isa_deviation_c": 0.0, "wind_kt": 0.0, "wind_from_deg": 0.0, "turbulence": 0, "mixed": True,
}
# Flight id, runway, purpose, what differs from a calm day.
CASES = [
    ("m01-plain", LOW, "line", {}),
    ("m02-go-around", LOW, "line", {"ends": [300.0, "land"]}),
    ("m03-touch-and-go", LOW, "training", {"ends": ["touch", "land"]}),
    ("m04-north", HIGH, "line", {"wind_kt": 12.0, "wind_from_deg": 330.0}),
    ("m05-meridian", DATELINE, "line", {"start_right_nm": -2.0}),
    ("m06-hot", HIGH, "line", {"isa_deviation_c": 25.0, "mixed": False}),
    ("m07-cold", HIGH, "line", {"isa_deviation_c": -25.0, "mixed": False}),
    ("m08-rough", LOW, "line", {"wind_kt": 18.0, "wind_from_deg": 150.0, "turbulence": 3}),
    ("m09-three-go-arounds", LOW, "line", {"ends": [900.0, 80.0, "reject", "land"]}),
    ("m10-bounce", LOW, "line", {"ends": ["bounce"], "start_kt": 250.0}),
    ("m11-south", SOUTH, "line", {"wind_kt": 15.0, "wind_from_deg": 350.0}),
]

AIRCRAFT = '''# INVENTED LIMITS for the flown model; nothing here may be used for operation. The masses, the angles and the
# speeds of the schedule are those that it is flown with.

aircraft_type = "model-twin"
title = "Twin-jet model of a flight dynamics library"
vmo_kt = 340
maximum_landing_mass_kg = 52000
wheels_below_antenna_ft = 0

[gear]
extend_limit_kt = 240
extended_limit_kt = 270

[[lever]]
name = "0"
limit_kt = 340
flap_deg = 0
slat_deg = 0
target_cas_kt = 220
[[lever]]
name = "1"
limit_kt = 235
flap_deg = 5
slat_deg = 0
target_cas_kt = 200
[[lever]]
name = "2"
limit_kt = 215
flap_deg = 15
slat_deg = 0
target_cas_kt = 175
[[lever]]
name = "3"
limit_kt = 195
flap_deg = 25
slat_deg = 0
target_cas_kt = 160
[[lever]]
name = "4"
limit_kt = 180
flap_deg = 40
slat_deg = 0
target_cas_kt = 140
landing = true

[speeds]
mass_kg = [42000, 48000, 52000]
vref_kt = [124, 133, 138]
min_manoeuvre_kt = [[180, 192, 200], [160, 171, 178], [145, 155, 161], [135, 144, 150], [124, 133, 138]]
vapp_over_vref_kt = 7

[target_speed]
distance_nm = [20, 16, 11, 7]
cas_kt = [220, 200, 175, 160]
vapp_from_nm = 4.0

[approach]
min_thrust_pct = 35

[loss_ft_per_nm]
clean = 300
speedbrake = 400
flap = 450
gear = 560
'''


def main():
    (FLEET / "records").mkdir(parents=True, exist_ok=True)
    (FLEET / "aircraft").mkdir(exist_ok=True)
    told = []
    listed = ["flight_id,tail_id,aircraft_type,month,flight_purpose"]
    for name, runway, purpose, differs in CASES:
        plan = CALM | differs
        flown, marks = simulator.fly(runway, plan)
        recorder.write(FLEET / "records" / f"{name}.parquet", flown, runway, plan["mixed"])
        for number, entry in enumerate(truth.approaches(flown, runway, marks, purpose), start=1):
            told.append({"flight_id": name, "approach_no": number} | entry)
        listed.append(f"{name},model-1,model-twin,2025-0{1 + len(listed) // 2},{purpose}")
    (FLEET / "flights.csv").write_text("\n".join(listed) + "\n")
    (FLEET / "aircraft" / "model-twin.toml").write_text(AIRCRAFT)
    (FLEET / "runways.csv").write_text(runways())
    (FLEET / "fleet.toml").write_text('[fleet]\ntitle = "Approaches flown by a flight dynamics library"\n\n[privacy]\nrekey = false\n')
    (HERE / "truth.json").write_text(json.dumps(rounded(told), indent=1) + "\n")


def runways():
    ends = [f"{end}_{part}" for end in ("le", "he") for part in ("ident", "latitude_deg", "longitude_deg", "elevation_ft", "displaced_threshold_ft")]
    lines = [",".join(["airport_ident", "length_ft", "closed", *ends])]
    for runway in (LOW, HIGH, DATELINE, SOUTH):
        far = runway.point(runway.length_ft, 0.0)
        # The file has the ends of the pavement; the runway begins at its landing threshold.
        begin = runway.point(-runway.displaced_ft, 0.0)
        near, other = (
            (ident, f"{lat:.8f}", f"{lon:.8f}", f"{runway.elevation_ft:.0f}", f"{displaced_ft:.0f}")
            for ident, (lat, lon), displaced_ft in ((runway.ident, begin, runway.displaced_ft), (runway.other, far, 0.0))
        )
        # The lower number is the `le` end.
        both = sorted([near, other])
        lines.append(",".join([runway.airport, f"{runway.length_ft + runway.displaced_ft:.0f}", "0", *both[0], *both[1]]))
    return "\n".join(lines) + "\n"


def rounded(value):
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: rounded(inner) for key, inner in value.items()}
    return [rounded(inner) for inner in value] if isinstance(value, list) else value


if __name__ == "__main__":
    main()
