"""Holds the schemas of rule and test files, and of the headline figures, against the files there are, with the
jsonschema library.

Usage: python3 tests/schemas/check.py [HEADLINE.json ...] (from anywhere). Every shipped file, and every file of
headline figures that is named, must be valid. A bad rule that a schema can see through must not be; one whose fault
lies in expressions or between files is none of a schema's business.
"""

import copy
import json
import pathlib
import sys
import tomllib

from jsonschema import Draft202012Validator

TOP = pathlib.Path(__file__).resolve().parents[2]
# Faults of keys, types and allowed values.
SEEN_BY_A_SCHEMA = {
    "bad_numbers", "bad_duration", "missing_keys", "no_shape", "two_shapes", "unknown_family", "unknown_key",
    "wrong_type", "gate_with_measures", "level_beside_levels", "held_to_nowhere", "outcome_levels_of_nothing",
}
# Faults of headline figures: where, and what to put there; nothing to take the field away.
BAD_HEADLINES = [
    (["schema"], 2), (["month"], "February"), (["month"], None), (["flights", "used"], -1), (["rules", 0, "signal"], "up"),
    (["rules", 0, "rate_per_1000"], "12"), (["rules", 0, "q"], 1.5), (["unstable", "month", "share"], 12),
    (["unstable", "more"], 1), (["cautions"], []), (["suppressed_cells", "rates"], None),
]


def schema(name):
    loaded = json.loads((TOP / "docs" / name).read_text())
    Draft202012Validator.check_schema(loaded)
    return Draft202012Validator(loaded)


def rules(faults):
    rule, test = schema("rule.schema.json"), schema("rule-test.schema.json")
    valid = 0
    for folder in ["rules", "tests/data/release-rules", "tests/data/crossing-rules"]:
        for path in sorted((TOP / folder).glob("*.toml")):
            validator = test if path.name.endswith(".test.toml") else rule
            errors = list(validator.iter_errors(tomllib.loads(path.read_text())))
            faults += [f"{path}: {error.json_path}: {error.message}" for error in errors]
            valid += 1
    refused = 0
    for path in sorted((TOP / "tests/bad-rules").glob("*.toml")):
        try:
            loaded = tomllib.loads(path.read_text())
        except tomllib.TOMLDecodeError:
            continue
        bad = not rule.is_valid(loaded)
        refused += bad
        if path.stem in SEEN_BY_A_SCHEMA and not bad:
            faults.append(f"{path}: the schema lets it pass")
    return valid, refused


def headlines(faults, named):
    headline = schema("headline.schema.json")
    shipped = sorted((TOP / "tests/data/headline").glob("*.json"))
    for path in [*shipped, *map(pathlib.Path, named)]:
        errors = headline.iter_errors(json.loads(path.read_text()))
        faults += [f"{path}: {error.json_path}: {error.message}" for error in errors]
    known = json.loads((TOP / "tests/data/headline/known.json").read_text())
    for place, value in BAD_HEADLINES:
        bad = copy.deepcopy(known)
        part = bad
        for key in place[:-1]:
            part = part[key]
        if value is None and place == ["month"]:
            del part["month"]
        else:
            part[place[-1]] = value
        if headline.is_valid(bad):
            faults.append(f"headline with {value!r} at {place}: the schema lets it pass")
    return len(shipped) + len(named)


def main():
    faults = []
    valid, refused = rules(faults)
    told = headlines(faults, sys.argv[1:])
    for line in faults:
        print(line)
    print(f"{valid} files valid, {refused} bad rules refused, {told} headlines, {len(BAD_HEADLINES)} bad ones refused")
    enough = valid >= 100 and refused >= len(SEEN_BY_A_SCHEMA) and told >= 2
    return 0 if enough and not faults else 1


if __name__ == "__main__":
    sys.exit(main())
