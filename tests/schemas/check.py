"""Holds the schemas of rule and test files against the files there are, with the jsonschema library.

Usage: python3 tests/schemas/check.py (from anywhere). Every shipped file must be valid. A bad rule that a schema can
see through must not be; one whose fault lies in expressions or between files is none of a schema's business.
"""

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


def schema(name):
    loaded = json.loads((TOP / "docs" / name).read_text())
    Draft202012Validator.check_schema(loaded)
    return Draft202012Validator(loaded)


def main():
    rule, test = schema("rule.schema.json"), schema("rule-test.schema.json")
    faults, valid = [], 0
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
    for line in faults:
        print(line)
    print(f"{valid} files valid, {refused} bad rules refused")
    return 1 if faults or valid < 100 or refused < len(SEEN_BY_A_SCHEMA) else 0


if __name__ == "__main__":
    sys.exit(main())
