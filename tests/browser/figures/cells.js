// Cells that several tables have in common: rates, shares and quantiles, or the reason why there are none.
import { FEW_DAYS, FEW_FLIGHTS, GIVES_AWAY } from "./csv.js";
import { over } from "./hold.js";
import { cell, figure, number } from "./shown.js";

export const NOT_KNOWN = "not known";
export const NOT_ESTIMATED = "not estimated";
export const NOT_EVALUABLE = "not evaluable";

// The numbers behind “too few”, as the run was told them.
export const limits = { flights: null, days: null };

// A reason in the table, and how the page puts it.
export function reason(row) {
  switch (row.suppressed) {
    case FEW_FLIGHTS: return cell`suppressed (fewer than ${figure("count", { min_flights: limits.flights }, "min_flights")} flights)`;
    case FEW_DAYS: return cell`suppressed (fewer than ${figure("count", { min_tail_days: limits.days }, "min_tail_days")} tail-days)`;
    case GIVES_AWAY: return "suppressed (it would give away a suppressed neighbour)";
    default: return `(no words are known for the reason “${row.suppressed}”)`;
  }
}

export const isHidden = (row) => row.suppressed !== "";

// Whether a row has a rate to show.
export const hasRate = (row) => !isHidden(row) && row.rate_per_1000 !== "" && number(row.evaluable) !== 0;

export const interval = (kind, row, low, high) => cell`${figure(kind, row, low)} to ${figure(kind, row, high)}`;

export const rateInterval = (row) =>
  (row.ci_low !== "" && row.ci_high !== "" ? interval("rate", row, "ci_low", "ci_high") : NOT_ESTIMATED);

// Evaluable, with event, rate, interval.
export function rate(row) {
  if (isHidden(row)) return [over(4, reason(row))];
  const evaluable = figure("count", row, "evaluable", NOT_KNOWN);
  if (!hasRate(row)) return [evaluable, over(3, NOT_EVALUABLE)];
  return [evaluable, figure("count", row, "approaches_with_event", NOT_KNOWN), figure("rate", row, "rate_per_1000"), rateInterval(row)];
}

export const RATE_HEADS = ["Evaluable approaches", "With an event", "Per 1,000 evaluable", "95 % interval"];

// A share: of how many (`whole`), how many (`part`), share and interval.
const hasShare = (row, share) => !isHidden(row) && [share, "ci_low", "ci_high"].every((name) => row[name] !== "");

const shareInterval = (row) => interval("share", row, "ci_low", "ci_high");

export function share(row, [whole, part, of]) {
  if (!hasShare(row, of)) return [over(3, isHidden(row) ? reason(row) : NOT_EVALUABLE)];
  return [
    typeof whole === "string" ? figure("count", row, whole, NOT_KNOWN) : whole,
    figure("count", row, part, NOT_KNOWN),
    cell`${figure("share", row, of)} (${shareInterval(row)})`,
  ];
}

// The same in one column.
export function shareShort(row, [whole, part, of]) {
  if (!row || !hasShare(row, of)) return row && isHidden(row) ? reason(row) : NOT_EVALUABLE;
  return cell`${figure("share", row, of)}\n${shareInterval(row)}\n${figure("count", row, part, NOT_KNOWN)} of ${figure("count", row, whole, NOT_KNOWN)}`;
}

// Approaches and five quantiles under a label.
export function quantiles(label, row) {
  if (isHidden(row)) return [label, over(6, reason(row))];
  const approaches = figure("count", row, "approaches", NOT_KNOWN);
  const known = number(row.approaches) !== 0 && ["p25", "median", "p75"].every((name) => row[name] !== "");
  if (!known) return [label, approaches, over(5, NOT_EVALUABLE)];
  const isOuter = row.p5 !== "" && row.p95 !== "";
  const outer = (name) => (isOuter ? figure("measure", row, name) : "–");
  const inner = (name) => figure("measure", row, name);
  return [label, approaches, outer("p5"), inner("p25"), inner("median"), inner("p75"), outer("p95")];
}

export const quantileHeads = (first) => [first, "Approaches measured", "5 %", "25 %", "Median", "75 %", "95 %"];

// The result of a test in words.
export const signal = (text, isTested) =>
  ({ higher: "higher than before", lower: "lower than before" })[text] ?? (isTested ? "no signal" : "not tested");
