"""Expressions of rule files as numpy code: where one is true, and where it is false.

Unknown is NaN, which compares false with everything; so a condition and its opposite are written out
separately, and what is neither is unknown.
"""

import ast
import re

import numpy as np

from rules_as_sql import PLACE

_OPPOSITE = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt}


def _python(text):
    """SQL in the spelling of Python, where `=`, `<>` and `between` are written otherwise."""
    text = re.sub(r"limits\.(\w+)", r"limit_\1", str(text))
    text = re.sub(r"(\w+) between (\S+) and (\S+)", r"(\1 >= \2 and \1 <= \3)", text)
    text = re.sub(r"(?<![<>!=])=(?!=)", "==", text.replace("<>", "!="))
    text = re.sub(r"\btrue\b", "True", text)
    return ast.parse(text.strip(), mode="eval").body


def _mask(node, truth):
    """Source of a mask that is true where the node is `truth`."""
    if isinstance(node, ast.BoolOp):
        both = isinstance(node.op, ast.And) == truth
        parts = (f"({_mask(part, truth)})" for part in node.values)
        return (" & " if both else " | ").join(parts)
    if isinstance(node, ast.Constant):
        return str(node.value == truth)
    left, right = ast.unparse(node.left), ast.unparse(node.comparators[0])
    operator = type(node.ops[0])
    if operator in _OPPOSITE:
        chosen = operator if truth else _OPPOSITE[operator]
        return ast.unparse(ast.Compare(node.left, [chosen()], node.comparators))
    if (operator is ast.Eq) == truth:
        return f"({left}) == ({right})"
    if right.startswith("'"):
        return f"({left} != {right}) & ({left} == {left})"  # what is unknown does not equal itself
    return f"(({left}) < ({right})) | (({left}) > ({right}))"  # unequal, and both known


def _compiled(source):
    code = compile(source, source, "eval")
    return lambda columns: eval(code, {"abs": np.abs}, columns)


def where_true(text):
    """A function of columns that tells where the condition is true."""
    return _compiled(_mask(_python(text), True))


def where_false(text):
    """A function of columns that tells where the condition is false."""
    return _compiled(_mask(_python(text), False))


def value(text):
    """A function of columns that gives the expression's numbers."""
    return _compiled(ast.unparse(_python(text)))


def limits(rule, columns):
    """The limits by the names that expressions here have for them: numbers, or arrays where a place has its own."""
    found = {f"limit_{name}": number for name, number in rule.limits.items()}
    for one in sorted(rule.overrides, key=lambda one: sum(key in one for key in PLACE)):
        here = np.logical_and.reduce([columns[key] == one[key] for key in PLACE if key in one])
        for name, number in one["limits"].items():
            found[f"limit_{name}"] = np.where(here, np.float32(number), np.float32(found[f"limit_{name}"]))
    return found


class Levels:
    """The levels of a rule over arrays of its measures; an empty text where none is reached."""

    def __init__(self, rule):
        self.names = [name for name, _ in rule.levels]
        self.masks = [where_true(when) for _, when in rule.levels]

    def reached(self, measures, count):
        masks = [np.broadcast_to(mask(measures), count) for mask in self.masks]
        return np.select(masks, self.names, default="")
