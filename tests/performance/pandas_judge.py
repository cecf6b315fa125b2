"""Rules over the columns of some samples, with numpy: of one approach, or of a whole file of them.

The columns are sorted by approach and time. Each rule is prepared once and called for every chunk.
"""

import numpy as np

from numpy_conditions import value, where_false, where_true
from rules_as_sql import ABOVE_GATE, AROUND

_FOLD = {"max": np.fmax, "min": np.fmin}
_MOVED = {"up": np.greater, "down": np.less, "any": np.not_equal}
_EVENT = {"kind": "event", "criterion": None, "applies": None, "passed": None}


def level_of(rule):
    """The first level that matches the measures of one event."""
    cases = [(name, where_true(rule.sql(when, {}))) for name, when in rule.levels]
    return lambda measures: next((name for name, matches in cases if matches(measures)), None)


def _event(key, rule, start, end, worst, level):
    row = {"approach_key": int(key), "rule": rule.id, "start_k": float(start), "end_k": float(end)}
    return _EVENT | row | {"value": float(worst), "level": level}


def episode(rule):
    """Judges an episode rule on a chunk."""
    within, left, when = where_true(rule.within), where_false(rule.within), where_true(rule.sql(rule.when))
    values = [(one.name, _FOLD[one.function], value(rule.sql(one.value))) for one in rule.measures]
    level = level_of(rule)

    def judge(columns, masks):
        segment = masks[rule.segment]
        on = np.flatnonzero(segment & within(columns) & when(columns))
        if not len(on):
            return
        outside = np.cumsum(~segment | left(columns))
        key, k = columns["approach_key"][on], columns["k"][on]
        breaks = (np.diff(key) != 0) | (np.diff(k) > rule.bridge + 1) | (np.diff(outside[on]) != 0)
        begins = np.flatnonzero(np.concatenate([[True], breaks]))
        ends = np.append(begins[1:], len(on))
        picked = {name: column[on] for name, column in columns.items()}
        folded = {name: fold.reduceat(of(picked), begins) for name, fold, of in values}
        for at in np.flatnonzero(ends - begins >= rule.hold):
            first, last = begins[at], ends[at] - 1
            measures = {name: column[at] for name, column in folded.items()}
            measures["duration_s"] = k[last] + 1 - k[first]
            reached = level(measures)
            if reached:
                yield _event(key[first], rule, k[first], k[last] + 1, measures["worst"], reached)

    return judge


def change(rule):
    """Judges a change rule on a chunk."""
    values = [(one.name, value(rule.sql(one.value))) for one in rule.measures]
    level = level_of(rule)

    def judge(columns, masks):
        state = columns[rule.column]
        known = np.flatnonzero(masks[rule.segment] & ~np.isnan(state))
        key, k, state = columns["approach_key"][known], columns["k"][known], state[known]
        moved = _MOVED[rule.direction](state[1:], state[:-1])
        seen = moved & (np.diff(key) == 0) & (np.diff(k) - 1 <= rule.before)
        for at in known[1:][seen]:
            here = {name: column[at] for name, column in columns.items()}
            measures = {name: of(here) for name, of in values}
            reached = None if np.isnan(measures["worst"]) else level(measures)
            if reached:
                yield _event(here["approach_key"], rule, here["k"], here["k"], measures["worst"], reached)

    return judge


def crossing(gate):
    """Finds the rows at the last downward crossing of every approach in a chunk."""
    segment, column, level = gate

    def find(columns, masks):
        known = np.flatnonzero(masks[segment] & ~np.isnan(columns[column]))
        values, key = columns[column][known], columns["approach_key"][known]
        crosses = (values[:-1] >= level) & (values[1:] < level) & (np.diff(key) == 0)
        above = np.flatnonzero(crosses)
        last = np.append(np.diff(key[above]) != 0, [True] * (len(above) > 0)).astype(bool)
        above = above[last]
        above = above[known[above] + 1 == known[above + 1]]  # not hidden in a gap
        return known[above]

    return find


class Gate:
    """A crossing, and the criteria of the rules that share it."""

    def __init__(self, gate, sharing):
        self.segment, self.column, self.level = gate
        self.find = crossing(gate)
        self.read = set().union(*(rule.columns() for rule in sharing)) | {"approach_key", "k"}
        self.rules = [(rule, [_Criterion(rule, one) for one in rule.criteria], {}) for rule in sharing]

    def judge(self, columns, masks):
        """Rows of `gates` and events of a chunk."""
        rows = len(columns["k"])
        for above in self.find(columns, masks):
            near = slice(max(above + 1 - AROUND, 0), min(above + 1 + AROUND, rows))
            same = columns["approach_key"][near] == columns["approach_key"][above]
            around = {name: columns[name][near][same] for name in self.read if name in columns}
            yield from self._at(around, int(np.flatnonzero(around["k"] == columns["k"][above])[0]), masks[self.segment][near][same])

    def _at(self, around, at, segment):
        inside = segment & (around[self.column] < self.level + ABOVE_GATE)
        above, below = (float(one) for one in around[self.column][at : at + 2])
        fraction = (above - self.level) / (above - below)
        k = float(around["k"][at]) + fraction
        place = {name: around[name][at] for name in ("airport",) if name in around}
        for rule, criteria, levels in self.rules:
            key = int(around["approach_key"][at])
            row = {"approach_key": key, "rule": rule.id, "start_k": k, "end_k": k}
            seen, failed = {}, 0
            for one in criteria:
                number, applies, passed = one.judge(around, at, fraction, inside, place)
                yield row | {"kind": "gate", "criterion": one.name, "value": number, "level": None,
                             "applies": applies, "passed": passed}
                seen[one.name] = np.float32(np.nan if number is None else number)
                failed += passed is False
            if failed and rule.asks == "at":
                where = tuple(place.values())
                if where not in levels:
                    levels[where] = [(name, where_true(rule.sql(when, place))) for name, when in rule.levels]
                reached = next((name for name, matches in levels[where] if matches(seen | {"failed": failed})), None)
                if reached:
                    worst = seen[criteria[0].name] if len(criteria) == 1 else failed
                    yield _event(key, rule, k, k, worst, reached)


class _Criterion:
    def __init__(self, rule, criterion):
        self.rule, self.criterion, self.name = rule, criterion, criterion.name
        self.value = value(criterion.value)
        self.applies = criterion.applies and (where_true(criterion.applies), where_false(criterion.applies))
        self.bounds = {}

    def judge(self, around, at, fraction, inside, place):
        """Value, whether it applies, and whether it passed."""
        values = self.value(around)
        known, applies = ~np.isnan(values), True
        if self.applies:
            true, false = (mask(around) for mask in self.applies)
            known = false | (true & known)
            applies = True if true[at] else False if false[at] else None
        number = values[at]
        if not self.criterion.holds:
            number = np.float32(float(number) + fraction * (float(values[at + 1]) - float(number)))
        if np.isnan(number) or np.sum(known & inside) < self.rule.coverage * np.sum(inside):
            return None, applies, None
        lower, upper = self._bounds(place)
        return float(number), applies, bool(lower <= number <= upper) if applies else None

    def _bounds(self, place):
        where = tuple(place.values())
        if where not in self.bounds:
            pair = ((self.criterion.lower, -np.inf), (self.criterion.upper, np.inf))
            self.bounds[where] = [
                none if text is None else value(self.rule.sql(text, place))({}) for text, none in pair
            ]
        return self.bounds[where]
