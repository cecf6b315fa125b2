"""Episodes and changes over the columns of some samples, with numpy: of one approach, or of a whole file.

The columns are sorted by approach and time. Each rule is prepared once and called for every chunk; it
returns columns of a result, or nothing.
"""

import numpy as np

from numpy_conditions import Levels, limits, value, where_false, where_true

_FOLD = {"max": np.fmax, "min": np.fmin}
_MOVED = {"up": np.greater, "down": np.less, "any": np.not_equal}


def events(rule, key, start, end, worst, level):
    """What reached a level, as columns of a result."""
    kept = level != ""
    return {
        "kind": "event", "rule": rule.id, "criterion": None, "approach_key": key[kept], "start_k": start[kept],
        "end_k": end[kept], "value": worst[kept], "level": level[kept],
    }


class Episode:
    """How long, and how badly, a condition held."""

    def __init__(self, rule):
        self.rule = rule
        self.within, self.left, self.when = where_true(rule.within), where_false(rule.within), where_true(rule.when)
        self.values = [(one.name, _FOLD[one.function], value(one.value)) for one in rule.measures]
        self.read = rule.columns() - {"segment"}
        self.levels = Levels(rule)

    def judge(self, columns, masks):
        segment = masks[self.rule.segment]
        numbers = limits(self.rule, columns)
        on = np.flatnonzero(segment & self.within(columns) & self.when(columns | numbers))
        if not len(on):
            return None
        outside = np.cumsum(~segment | self.left(columns))[on]
        key, k = columns["approach_key"][on], columns["k"][on]
        breaks = (key[1:] != key[:-1]) | (k[1:] - k[:-1] > self.rule.bridge + 1) | (outside[1:] != outside[:-1])
        begins = np.flatnonzero(np.concatenate([[True], breaks]))
        ends = np.append(begins[1:], len(on))
        picked = {name: columns[name][on] for name in self.read}
        folded = {name: fold.reduceat(of(picked), begins) for name, fold, of in self.values}
        start, end = k[begins], k[ends - 1] + 1
        level = self.levels.reached(folded | numbers | {"duration_s": end - start}, len(begins))
        level[ends - begins < self.rule.hold] = ""
        return events(self.rule, key[begins], start, end, folded["worst"], level)


class Change:
    """What was true at the moment a state changed."""

    def __init__(self, rule):
        self.rule = rule
        self.values = [(one.name, value(one.value)) for one in rule.measures]
        self.read = rule.columns() - {"segment"}
        self.levels = Levels(rule)

    def judge(self, columns, masks):
        known = np.flatnonzero(masks[self.rule.segment] & ~np.isnan(columns[self.rule.column]))
        key, k, state = (columns[name][known] for name in ("approach_key", "k", self.rule.column))
        moved = _MOVED[self.rule.direction](state[1:], state[:-1])
        seen = moved & (key[1:] == key[:-1]) & (k[1:] - k[:-1] - 1 <= self.rule.before)
        at = known[1:][seen]
        if not len(at):
            return None
        here = {name: columns[name][at] for name in self.read}
        measures = {name: of(here) for name, of in self.values}
        level = self.levels.reached(measures | limits(self.rule, columns), len(at))
        level[np.isnan(measures["worst"])] = ""
        k = columns["k"][at]
        return events(self.rule, columns["approach_key"][at], k, k, measures["worst"], level)
