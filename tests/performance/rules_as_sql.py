"""Reads the rule files that judge samples into plain windows, conditions, limits, measures and levels.

Every tool of the comparison gets its rules from here, so that none of them reads a rule its own way.
Expressions stay SQL; `limits.NAME` becomes its number, or a CASE over the place where an override
touches it.
"""

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

# Rules that cannot be expressed equally in every tool, with the reason; left out for all of them.
LEFT_OUT: dict[str, str] = {}

# Columns that hold a state; at a crossing the earlier sample counts, where a quantity is interpolated.
STATES = {"flap_lever", "gear_lever", "gear_down", "landing_flap_set", "on_ground"}

# Of the samples around a crossing, how many on either side must be known (5 s at one sample a second).
AROUND = 5
# A criterion is looked at only below the gate's number plus this.
ABOVE_GATE = 2000

_WORDS = set("and or not between case when then else end is null true false abs in".split())
PLACE = ("aircraft_type", "airport", "runway")


@dataclass
class Measure:
    """A value followed along an episode: `worst`, or one that a level asks for."""

    name: str
    function: str
    value: str


@dataclass
class Criterion:
    """One bound, or a pair, at a gate."""

    name: str
    value: str
    lower: str | None
    upper: str | None
    applies: str | None
    grace: int = 0

    def key(self):
        """What criteria that read the same samples have in common."""
        return (self.value, self.applies)

    @property
    def holds(self):
        """Whether it reads a state."""
        return names(self.value) <= STATES


@dataclass
class Rule:
    """A rule of any shape; what another shape would need is empty."""

    id: str
    shape: str
    segment: str
    coverage: float
    limits: dict
    overrides: list
    levels: list  # (name, condition), worst first
    within: str = ""
    when: str = ""
    hold: int = 0
    bridge: int = 0
    measures: list = field(default_factory=list)
    column: str = ""  # of a gate or a change
    level: float = 0.0
    to: int | None = None
    asks: str = "at"
    criteria: list = field(default_factory=list)
    direction: str = "any"
    before: int = 0

    def sql(self, text, place=None):
        """The expression with numbers for limits: those of one place, or a CASE over all places."""
        return re.sub(r"limits\.(\w+)", lambda found: self._limit(found[1], place), str(text))

    def _limit(self, name, place):
        touching = [one for one in self.overrides if name in one["limits"]]
        touching.sort(key=lambda one: -sum(key in one for key in PLACE))
        cases = []
        for one in touching:
            keys = [key for key in PLACE if key in one]
            if place is None:
                same = " AND ".join(f"{key} = '{one[key]}'" for key in keys)
                cases.append(f"WHEN {same} THEN {number(one['limits'][name])}")
            elif all(place[key] == one[key] for key in keys):
                return number(one["limits"][name])
        base = number(self.limits[name])
        return f"(CASE {' '.join(cases)} ELSE {base} END)" if cases else base

    def place_columns(self):
        """The columns that its overrides ask about."""
        return [key for key in PLACE if any(key in one for one in self.overrides)]

    def columns(self):
        """Every sample column that it reads."""
        texts = [self.within, self.when, self.column, *self.place_columns()]
        texts += [measure.value for measure in self.measures]
        texts += [part for one in self.criteria for part in (one.value, one.applies) if part]
        return set().union(*(names(self.sql(text, {})) for text in texts)) | {"segment"}

    def outside(self, criterion):
        """Where the value of a criterion is beyond a bound, in the terms of the rule file."""
        pairs = (("<", criterion.lower), (">", criterion.upper))
        return " or ".join(f"{criterion.value} {sign} {bound}" for sign, bound in pairs if bound is not None)

    def faults(self):
        """What counts as a fault: a criterion outside at the gate, or one that was not held."""
        return "failed" if self.asks == "at" else "not_held"

    def gate(self):
        """What rules that share a crossing have in common."""
        return (self.segment, self.column, self.level)


def number(value):
    """Whole numbers without a point; others as they are."""
    return str(int(value)) if float(value).is_integer() else repr(float(value))


def names(text):
    """Column names in an expression; texts in quotes are none."""
    return set(re.findall(r"\b[a-z]\w*\b", re.sub(r"'[^']*'", "", text))) - _WORDS


def _seconds(text):
    """A duration in samples of one second; the sample files of the comparison have one a second."""
    value, unit = re.fullmatch(r"([\d.]+)(s|min)", text).groups()
    return int(float(value) * (60 if unit == "min" else 1))


def _read(path):
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    shape = next((one for one in ("episode", "gate", "change") if one in raw), None)
    if shape is None or raw["id"] in LEFT_OUT:
        return None
    if "among" in raw or "release" in raw.get("episode", {}):
        raise ValueError(f"{path.name}: `among` and `release` are not part of the comparison")
    if "override" in raw and shape != "gate":
        raise ValueError(f"{path.name}: here only gates are expected to have overrides")
    levels = [(one["name"], one["when"]) for one in raw.get("levels", [])] or [("medium", "true")]
    rule = Rule(
        id=raw["id"],
        shape=shape,
        segment=raw.get("segment", "approach"),
        coverage=raw.get("coverage", 0.9),
        limits=raw.get("limits", {}),
        overrides=raw.get("override", []),
        levels=levels,
    )
    asked = " ".join(when for _, when in levels)
    for name, text in raw.get("measures", {}).items():
        function, value = re.fullmatch(r"(\w+)\((.*)\)", text).groups()
        # Measures that decide nothing are left out: ours takes them too.
        if name == "worst" or name in names(asked):
            rule.measures.append(Measure(name, function, value))
    body = raw[shape]
    if shape == "episode":
        rule.within, rule.when = body["within"], body["when"]
        rule.hold = _seconds(body.get("hold", "0s"))
        rule.bridge = _seconds(body.get("bridge", "0s"))
    elif shape == "gate":
        rule.column, level = (part.strip() for part in body["at"].split("="))
        rule.level = float(level)
        rule.to, rule.asks = body.get("to"), body.get("asks", "at")
        rule.criteria = [_criterion(one) for one in raw["criterion"]]
    else:
        rule.column = body["of"]
        rule.direction = body.get("direction", "any")
        rule.before = _seconds(body.get("before", "0s"))
    return rule


def _criterion(raw):
    name, value, grace = raw["name"], raw["value"], _seconds(raw.get("grace", "0s"))
    return Criterion(name, value, raw.get("lower"), raw.get("upper"), raw.get("applies"), grace)


def read_rules(folder, count=None):
    """The rules of a folder that read samples, by name; the first `count` of them."""
    paths = sorted(path for path in Path(folder).glob("*.toml") if not path.name.endswith(".test.toml"))
    rules = [rule for rule in map(_read, paths) if rule is not None]
    return rules[:count]


def of_shape(rules, shape):
    """The rules of one shape."""
    return [rule for rule in rules if rule.shape == shape]


def gates(rules):
    """Crossings that the gate rules ask for, each with the rules that share it."""
    shared = {}
    for rule in of_shape(rules, "gate"):
        shared.setdefault(rule.gate(), []).append(rule)
    return shared


def followed(rules):
    """Stretches from a crossing down to an end, each with the rules that share it.

    Criteria that are held, or not, by the same samples share a key: see `held_key`.
    """
    shared = {}
    for rule in of_shape(rules, "gate"):
        if rule.to is not None:
            shared.setdefault((rule.gate(), rule.to), []).append(rule)
    return shared


def held_key(rule, criterion):
    """What criteria of different rules must have in common to be held, or not, by the same samples."""
    return (criterion.key(), rule.sql(rule.outside(criterion)), criterion.grace)


def held_criteria(sharing):
    """Of rules that share a stretch every criterion once, with a rule that has it."""
    return {held_key(rule, one): (rule, one) for rule in sharing for one in rule.criteria}


def all_columns(rules):
    """Every sample column that the rules read, after those that identify a sample."""
    read = set().union(*(rule.columns() for rule in rules))
    return ["approach_key", "k", *sorted(read)]
