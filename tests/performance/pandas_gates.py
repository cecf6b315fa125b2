"""Gates over the columns of some samples, with numpy: of one approach, or of a whole file.

Around every crossing ten samples are taken out as one row of a matrix; all criteria are judged on these.
Yes, no and unknown are 1, 0 and NaN.
"""

import numpy as np

from numpy_conditions import Levels, limits, value, where_false, where_true
from pandas_episodes import events
from pandas_held import Stretch
from rules_as_sql import ABOVE_GATE, AROUND, held_key

_AT = AROUND - 1  # column of the matrix that holds the last sample above the gate


class Gate:
    """A crossing, and the criteria of the rules that share it."""

    def __init__(self, gate, sharing):
        self.segment, self.column, self.level = gate
        self.read = set().union(*(rule.columns() for rule in sharing)) | {"approach_key", "k"}
        self.read -= {"segment"}
        self.rules = [(rule, Levels(rule)) for rule in sharing]
        ends = {rule.to: [one for one in sharing if one.to == rule.to] for rule in sharing if rule.to is not None}
        self.stretches = {to: Stretch(gate, to, some) for to, some in ends.items()}
        self.criteria = {}
        for one in (one for rule in sharing for one in rule.criteria):
            self.criteria.setdefault(one.key(), _Criterion(one))
        self.bounds = {bound: value(bound) for rule in sharing for one in rule.criteria
                       for bound in (one.lower, one.upper) if bound is not None}

    def crossings(self, columns, masks):
        """Rows of the last sample above the gate, of every approach that crosses it."""
        known = np.flatnonzero(masks[self.segment] & ~np.isnan(columns[self.column]))
        values, key = columns[self.column][known], columns["approach_key"][known]
        crosses = (values[:-1] >= self.level) & (values[1:] < self.level) & (key[1:] == key[:-1])
        above = np.flatnonzero(crosses)
        if not len(above):
            return above
        above = above[np.append(key[above][1:] != key[above][:-1], True)]  # the last of each approach
        return known[above[known[above] + 1 == known[above + 1]]]  # not hidden in a gap

    def judge(self, columns, masks):
        """Rows of `gates` and events of a chunk."""
        above = self.crossings(columns, masks)
        if not len(above):
            return
        rows = above[:, None] + np.arange(1 - AROUND, AROUND + 1)
        there = (rows >= 0) & (rows < len(columns["k"]))
        rows = np.clip(rows, 0, len(columns["k"]) - 1)
        near = {name: columns[name][rows] for name in self.read}
        there &= near["approach_key"] == near["approach_key"][:, [_AT]]
        inside = there & masks[self.segment][rows] & (near[self.column] < self.level + ABOVE_GATE)
        before, after = near[self.column][:, _AT].astype(float), near[self.column][:, _AT + 1].astype(float)
        fraction = (before - self.level) / (before - after)
        k, key = near["k"][:, _AT] + fraction, near["approach_key"][:, _AT]
        at = {name: column[:, _AT] for name, column in near.items()}
        seen = {name: one.read(near, fraction, inside) for name, one in self.criteria.items()}
        held = {to: stretch.judge(columns, masks, above) for to, stretch in self.stretches.items()}
        unknown = np.full(len(k), np.nan)
        for rule, levels in self.rules:
            numbers = limits(rule, at)
            measures, failed, not_held = {}, np.zeros(len(k), dtype=int), np.zeros(len(k), dtype=int)
            for one in rule.criteria:
                number, applies, share = seen[one.key()]
                number = np.where(share >= rule.coverage, number, np.float32(np.nan))
                passed = np.ones(len(k), dtype=bool)
                if one.lower is not None:
                    passed &= number >= self.bounds[one.lower](numbers)
                if one.upper is not None:
                    passed &= number <= self.bounds[one.upper](numbers)
                passed = np.where((applies == 1) & ~np.isnan(number), passed, np.nan)
                measures[one.name] = number
                kept = held[rule.to][held_key(rule, one)] if rule.to is not None else unknown
                kept = np.where(applies == 1, kept, np.nan)
                failed += passed == 0
                not_held += kept == 0
                yield {
                    "kind": "gate", "rule": rule.id, "criterion": one.name, "approach_key": key, "start_k": k,
                    "end_k": k, "value": number, "applies": applies, "passed": passed, "held": kept,
                }
            faults = failed if rule.asks == "at" else not_held
            if faults.any():
                level = levels.reached(measures | numbers | {"failed": failed, "not_held": not_held}, len(k))
                level[faults == 0] = ""
                single = len(rule.criteria) == 1 and rule.asks == "at"
                worst = measures[rule.criteria[0].name] if single else faults
                yield events(rule, key, k, k, worst, level)


class _Criterion:
    """What rules with the same value and `applies` read at a crossing."""

    def __init__(self, criterion):
        self.value, self.holds = value(criterion.value), criterion.holds
        self.applies = criterion.applies and (where_true(criterion.applies), where_false(criterion.applies))

    def read(self, near, fraction, inside):
        """Value, whether it applies, and the share of samples around on which that is known."""
        values = self.value(near)
        known, applies = ~np.isnan(values), np.ones(len(fraction))
        if self.applies:
            true, false = (mask(near) for mask in self.applies)
            known = false | (true & known)
            applies = np.where(true[:, _AT], 1.0, np.where(false[:, _AT], 0.0, np.nan))
        number = values[:, _AT]
        if not self.holds:
            step = values[:, _AT + 1].astype(float) - number
            number = (number + fraction * step).astype(np.float32)
        return number, applies, (known & inside).sum(axis=1) / inside.sum(axis=1)
