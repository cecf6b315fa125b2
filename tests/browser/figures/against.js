// What is new, gone or changed since the review that was given, against the table of it.
import { NOT_KNOWN } from "./cells.js";
import { cell, figure } from "./shown.js";

const MARKS = ["new", "changed", "gone"];
const KINDS = { month: "latest month", slope: "trend", place: "place", topic: "topic", intervention: "before and after a change" };
const GROUPS = { aircraft_type: "type", airport: "airport", runway: "runway" };
const LEVELS = { medium: ", medium or high", high: ", high" };
const WITHHELD = ["too few flights", "too few tail-days", "would give another cell away"];

export function against(holding, names) {
  const rows = holding.tables.against?.rows ?? [];
  const shown = MARKS.flatMap((mark) => rows.filter((row) => row.mark === mark));
  holding.hold("new, changed and gone since the review before", {
    csv: "against",
    heads: ["Since then", "Flag of", "Rule, family or topic", "Where", "Then", "Now", "Why"],
    keys: [0, 1, 2, 3],
    rows: shown.map((row) => ({
      of: `${row.mark} ${row.kind}, ${row.rule || row.topic || row.family}, ${row.group}`,
      cells: [
        row.mark, KINDS[row.kind], title(row, names), where(row), side(row, "before"), side(row, "now"),
        row.cause === "" ? NOT_KNOWN : row.cause.split("; ").join(", "),
      ],
    })),
  });
  if (rows.length === 0) return;
  const same = rows.filter((row) => row.mark === "unchanged").length;
  const said = { 0: "No flag is as it was.", 1: "One flag is as it was." }[same] ?? `${same.toLocaleString("en-US")} flags are as they were.`;
  if (!holding.page.paragraphs.some((one) => one.text.endsWith(said))) {
    holding.tell("since the review before", `against.csv has ${same} unchanged flags, no sentence says “${said}”`);
  }
}

function title(row, names) {
  const name = row.rule === "" && row.topic !== "" ? row.topic : names.title(row);
  const change = row.intervention && row.intervention_month ? `, ${row.intervention} (${row.intervention_month})` : "";
  return `${name}${change}${LEVELS[row.at_least_level] ?? ""}`;
}

const where = (row) => (row.group_kind === "fleet" ? "whole fleet" : `${GROUPS[row.group_kind]} ${row.group}`);

// "higher (61.9)", or why there is no flag.
function side(row, when) {
  const why = row[`why_not_${when}`];
  const reason = WITHHELD.includes(why) ? `withheld, ${why}` : why;
  const said = row[`flag_${when}`] || (reason ? `no flag: ${reason}` : "no flag");
  if (row[`slope_pct_per_month_${when}`] !== "") return cell`${said} (${figure("one", row, `slope_pct_per_month_${when}`)} % a month)`;
  if (row[`rate_per_1000_${when}`] !== "") return cell`${said} (${figure("rate", row, `rate_per_1000_${when}`)})`;
  return said;
}
