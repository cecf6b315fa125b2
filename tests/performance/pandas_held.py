"""Whether the criteria of a gate were held from the crossing down to its end, with numpy.

Yes, no and unknown are 1, 0 and NaN. All stretches of a chunk lie one after the other in one array of rows.
"""

import numpy as np

from numpy_conditions import limits, value, where_false, where_true
from rules_as_sql import ABOVE_GATE, held_criteria


class Stretch:
    """From a crossing down to an end, for the rules that share both."""

    def __init__(self, gate, to, sharing):
        self.segment, self.column, self.level = gate
        self.to = to
        self.read = set().union(*(rule.columns() for rule in sharing)) - {"segment"}
        self.criteria = {
            key: (rule, one, value(one.value), where_true(rule.outside(one)), _applies(one))
            for key, (rule, one) in held_criteria(sharing).items()
        }

    def judge(self, columns, masks, above):
        """For every crossing and criterion whether it was held; `above` are the rows before the crossings."""
        segment, height = masks[self.segment], columns[self.column]
        # The first row after each crossing that is below the end, and the first of the next approach.
        past = np.append(np.flatnonzero(segment & (height < self.to)), len(segment))
        past = past[np.searchsorted(past, above, side="right")]
        key = columns["approach_key"]
        starts = np.append(np.flatnonzero(key[1:] != key[:-1]) + 1, len(key))
        over = starts[np.searchsorted(starts, above, side="right")]
        reached, end = past < over, np.minimum(past, over)
        counts = end - above - 1
        crossing = np.repeat(np.arange(len(above)), counts)
        rows = np.arange(len(crossing)) - np.repeat(np.cumsum(counts) - counts, counts) + above[crossing] + 1
        seen = segment[rows] & (height[rows] < self.level + ABOVE_GATE)
        rows, crossing = rows[seen], crossing[seen]
        below = {name: columns[name][rows] for name in self.read}
        total = np.bincount(crossing, minlength=len(above))
        found = {}
        for name, (rule, one, number, beyond, applies) in self.criteria.items():
            known, outside = ~np.isnan(number(below)), beyond(below | limits(rule, below))
            if applies:
                true, false = (mask(below) for mask in applies)
                known, outside = false | (true & known), true & outside
            good = reached & (total > 0) & (np.bincount(crossing[known], minlength=len(above)) == total)
            held = np.where(good, 1.0, np.nan)
            held[_excursions(rows, crossing, outside, one.grace)] = 0.0
            found[name] = held
        return found


def _applies(criterion):
    return criterion.applies and (where_true(criterion.applies), where_false(criterion.applies))


def _excursions(rows, crossing, outside, grace):
    """Crossings below which a criterion was outside for longer than the grace."""
    rows, crossing = rows[outside], crossing[outside]
    if not len(rows):
        return crossing
    breaks = (rows[1:] - rows[:-1] != 1) | (crossing[1:] != crossing[:-1])
    begins = np.flatnonzero(np.concatenate([[True], breaks]))
    return crossing[begins][np.diff(np.append(begins, len(rows))) > grace]
