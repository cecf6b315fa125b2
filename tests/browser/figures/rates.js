// Rates by rule and by level, how far they reach, what people made of the events, and the list of rules.
import { hasRate, isHidden, NOT_KNOWN, NOT_EVALUABLE, RATE_HEADS, rate, rateInterval, reason } from "./cells.js";
import { isFleet, isHead } from "./names.js";
import { cell, figure, number, reckoned } from "./shown.js";

const LOW_COVERAGE = 0.8;
const IN_SCOPE = "Coverage (evaluable of approaches in scope)";
// What a column divides by, or counts, is what its heading says: all approaches, or those in scope.
const ALL = "Approaches";
const LOOKED_AT = "Looked at by a person";

export function rates(holding, names) {
  const { tables } = holding;
  const own = tables.rates.rows.filter((row) => isHead(row) && row.rule !== "");
  list(holding, own);
  const isLooked = looked(tables.precision.rows);
  for (const [region, status, first] of [["rates by rule", "core", "Rule"], ["rates of rules on trial", "trial", "Rule on trial"]]) {
    const on = holding.page.tables.find((one) => one.region === region);
    // The column says what it divides by, and is held to what it says.
    const heading = on?.heads.find((head) => head.startsWith("Coverage")) ?? IN_SCOPE;
    holding.hold(region, {
      csv: "rates",
      heads: [first, ...RATE_HEADS, heading, ...(isLooked.size > 0 ? [LOOKED_AT] : [])],
      rows: own.filter((row) => row.rule_status === status).map((row) => ({
        of: row.rule,
        links: [names.anchor(row)],
        cells: [
          names.title(row), ...rate(row), coverage(row, heading === IN_SCOPE ? scope(tables, row) : number(row.approaches)),
          ...(isLooked.size > 0 ? [isLooked.get(row.rule) ?? "none"] : []),
        ],
      })),
    });
  }
  const core = own.filter((row) => row.rule_status === "core");
  holding.hold("rates by level", {
    csv: "rates",
    heads: ["Rule", "Evaluable approaches", "Low or above", "Medium or above", "High"],
    rows: core.map((row) => ({ of: `${row.rule} by level`, cells: [names.title(row), ...levels(tables, row)] })),
  });
  whyNot(holding, names, [...core, ...own.filter((row) => row.rule_status === "trial")]);
}

// How often each reason holds is counted over single approaches, in no shared table: it is not held here.
function whyNot(holding, names, rows) {
  const region = "why rules could not be evaluated";
  const on = holding.page.tables.find((one) => one.region === region);
  const heading = on?.heads[1] === ALL ? ALL : "Approaches in scope";
  const many = (row) => (heading === ALL ? number(row.approaches) : scope(holding.tables, row));
  holding.hold(region, {
    csv: heading === ALL ? "rates" : "coverage",
    heads: ["Rule", heading, "Reasons"],
    rows: rows.map((row) => ({
      of: `${row.rule}, ${heading.toLowerCase()}, whole fleet, all months`,
      cells: [names.title(row), ...(isHidden(row) ? ["not shown", "not shown"] : [counted(many(row), heading), null])],
    })),
  });
}

const counted = (value, column) => (value === null ? null : reckoned("count", value, column));

// The list of rules names those of the tables, and says of each whether it is on trial.
function list(holding, own) {
  const ids = new Map(own.map((row) => [row.rule, row]));
  for (const rule of holding.page.rules) {
    const row = ids.get(rule.id);
    if (!row) holding.tell(`rule list, “${rule.title}”`, `rates.csv has no rule ${rule.id}`);
    else if ((row.rule_status === "trial") !== rule.trial) holding.tell(`rule list, “${rule.title}”`, `rates.csv has it as ${row.rule_status}`);
    ids.delete(rule.id);
  }
  for (const id of ids.keys()) holding.tell("rule list", `${id} of rates.csv is not in it`);
}

// Approaches in scope, all months of the whole fleet; none where approaches without a month are not among them.
function scope(tables, row) {
  const months = tables.coverage.rows.filter((one) => one.rule === row.rule && isFleet(one));
  const sum = (column) => months.reduce((all, one) => all + number(one[column]), 0);
  const all = number(row.approaches);
  return months.length === 0 || (all !== null && sum("approaches") !== all) ? null : sum("in_scope");
}

function coverage(row, whole) {
  if (isHidden(row)) return "not shown";
  if (whole === null) return null;
  const of = reckoned("count", whole, "in_scope");
  const share = number(row.evaluable) / whole;
  if (row.evaluable === "" || whole === 0) return cell`none of ${of}`;
  return cell`${reckoned("share", share, "evaluable / in_scope")} of ${of}${share < LOW_COVERAGE ? "\nlow coverage" : ""}`;
}

function levels(tables, row) {
  const all = ["low", "medium", "high"].map((level) => {
    const own = tables.rates.rows.find((one) => isFleet(one) && one.rule === row.rule && one.at_least_level === level);
    const shown = hasRate(row) ? own : row;
    if (!shown) return "level not used";
    if (isHidden(shown)) return reason(shown);
    if (!hasRate(shown)) return NOT_EVALUABLE;
    return cell`${figure("rate", shown, "rate_per_1000")} (${rateInterval(shown)})\n${figure("count", shown, "approaches_with_event", NOT_KNOWN)} with an event`;
  });
  return [isHidden(row) ? "not shown" : figure("count", row, "evaluable", NOT_KNOWN), ...all];
}

// By rule: "12 of 14 stand (60.1 % to 96.0 %)". Empty where nobody has looked at anything.
function looked(rows) {
  const own = rows.filter((row) => row.at_least_level === "low" && number(row.looked_at) !== 0);
  return new Map(own.map((row) => {
    if (isHidden(row)) return [row.rule, reason(row)];
    if (row.looked_at === "" || row.stands === "") return [row.rule, NOT_KNOWN];
    const between = row.ci_low && row.ci_high ? cell` (${figure("share", row, "ci_low")} to ${figure("share", row, "ci_high")})` : "";
    return [row.rule, cell`${figure("count", row, "stands")} of ${figure("count", row, "looked_at")} stand${between}`];
  }));
}
