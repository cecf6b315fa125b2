// Parts of a page that a first review by nobody but the program does not have: figures restated, verdicts of people.
import { limits } from "./cells.js";
import { Holding } from "./hold.js";
import { Names } from "./names.js";
import { rates } from "./rates.js";
import { restated } from "./since.js";

const RULES = [{ id: "late", title: "Late", anchor: "rule-1", trial: false }];

const line = (cells, links = []) => ({ id: "", links, cells: cells.map((one) => (Array.isArray(one) ? { text: one[1], span: one[0] } : { text: one, span: 1 })) });

function held(part, shown, tables) {
  limits.flights = 10;
  limits.days = 3;
  const page = { rules: RULES, paragraphs: [], tables: shown.map((table) => ({ box: "", title: "", under: "", section: "", caption: "", ...table })) };
  const holding = new Holding(page, tables);
  part(holding, new Names(page));
  return holding.faults;
}

const CHANGED = ["Month", "Rule", "Evaluable", "With an event", "Rate", "Cause"];
const AGAIN = {
  month: "2026-01", rule: "late", evaluable_before: "120", evaluable_now: "1131", approaches_with_event_before: "3",
  approaches_with_event_now: "4", rate_per_1000_before: "25", rate_per_1000_now: "", cause: "late flights", suppressed: "",
};
const again = (cells, row = AGAIN) => () => held(restated, [{ region: "figures that changed", heads: CHANGED, rows: [line(cells)] }], { restated: { rows: [row] } });

const RATE = {
  rule: "late", rule_status: "core", group_kind: "fleet", group: "fleet", approaches: "100", evaluable: "100", approaches_with_event: "2",
  rate_per_1000: "20", ci_low: "2.4", ci_high: "72.2", suppressed: "",
};
const COVERED = { rule: "late", month: "2026-01", group_kind: "fleet", approaches: "100", in_scope: "100", evaluable: "100" };
const LOOKED = { rule: "late", at_least_level: "low", looked_at: "14", stands: "12", ci_low: "0.6006", ci_high: "0.9599", suppressed: "" };
const FIGURES = ["100", "2", "20.0", "2.4 to 72.2"];
const HEADS = ["Evaluable approaches", "With an event", "Per 1,000 evaluable", "95 % interval", "Coverage (evaluable of approaches in scope)"];
const level = "20.0 (2.4 to 72.2)\n2 with an event";

const verdict = (text, row = LOOKED) => () => held(rates, [
  { region: "rates by rule", heads: ["Rule", ...HEADS, "Looked at by a person"], rows: [line(["Late", ...FIGURES, "100.0 % of 100", text], ["rule-1"])] },
  { region: "rates by level", heads: ["Rule", "Evaluable approaches", "Low or above", "Medium or above", "High"], rows: [line(["Late", "100", level, level, level])] },
  { region: "why rules could not be evaluated", heads: ["Rule", "Approaches in scope", "Reasons"], rows: [line(["Late", "100", "none"])] },
], {
  rates: { rows: ["low", "medium", "high"].map((at_least_level) => ({ ...RATE, at_least_level })) },
  coverage: { rows: [COVERED] },
  precision: { rows: [row] },
});

export const RARE = [
  { what: "figures then and now", held: again(["2026-01", "Late", "120 → 1,131", "3 → 4", "25.0 → not known", "late flights"]) },
  { what: "another figure then", held: again(["2026-01", "Late", "121 → 1,131", "3 → 4", "25.0 → not known", "late flights"]), told: ["row “2026-01 | Late”", "column “Evaluable”", "“121”"] },
  { what: "a figure that is withheld now", held: again(["2026-01", "Late", [3, "suppressed (fewer than 3 tail-days)"], "late flights"], { ...AGAIN, suppressed: "too few tail-days" }) },
  { what: "a withheld figure that is shown", held: again(["2026-01", "Late", "120 → 1,131", "3 → 4", "25.0 → not known", "late flights"], { ...AGAIN, suppressed: "too few flights" }), told: ["column “Evaluable”", "expected “suppressed (fewer than"] },
  { what: "verdicts", held: verdict("12 of 14 stand (60.1 % to 96.0 %)") },
  { what: "a verdict more", held: verdict("13 of 14 stand (60.1 % to 96.0 %)"), told: ["column “Looked at by a person”", "“13”"] },
  { what: "verdicts on few flights", held: verdict("suppressed (fewer than 10 flights)", { ...LOOKED, looked_at: "", stands: "", suppressed: "too few flights" }) },
  { what: "verdicts shown of few flights", held: verdict("12 of 14 stand (60.1 % to 96.0 %)", { ...LOOKED, looked_at: "", stands: "", suppressed: "too few flights" }), told: ["column “Looked at by a person”", "suppressed"] },
];
