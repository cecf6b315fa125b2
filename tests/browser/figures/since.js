// Topics of training, changes made on purpose, flights that nobody received, and figures that are others now.
import { isHidden, NOT_KNOWN, RATE_HEADS, rate, reason, signal } from "./cells.js";
import { over } from "./hold.js";
import { isFleet, rankOf, sorted } from "./names.js";
import { cell, figure } from "./shown.js";

// So many topics are read out; the table has them all.
const READ_OUT = 5;

const listed = (text, by) => text.split(by).map((word) => word.trim()).filter(Boolean).join(", ") || "–";

export function topics(holding) {
  const own = sorted(holding.tables.training_topics.rows.filter(isFleet), rankOf);
  holding.hold("topics for training", {
    csv: "training_topics",
    heads: ["Rank", "Topic", ...RATE_HEADS, "Latest month", "Stands out at", "Competencies"],
    keys: [1],
    rows: own.map((row) => ({ of: `${row.topic}, fleet`, cells: topic(row) })),
  });
  const said = own.filter((row) => rankOf(row) < Infinity && row.sentence !== "").slice(0, READ_OUT);
  const shown = holding.page.sentences;
  if (shown.length !== said.length) holding.tell("sentences on topics", `${shown.length} are read out, training_topics.csv has ${said.length} for it`);
  said.forEach((row, at) => {
    const text = shown[at]?.text.replace(/ Figures$/, "");
    if (text !== row.sentence) holding.tell(`sentences on topics, ${at + 1}`, `shown “${text}”, expected “${row.sentence}”`);
  });
}

const topic = (row) => [
  isHidden(row) ? "–" : figure("count", row, "rank", "–"),
  row.topic,
  ...rate(row),
  isHidden(row) ? "–" : signal(row.change, row.q !== ""),
  isHidden(row) ? "–" : listed(row.airports, " "),
  listed(row.competencies, ","),
];

export function changes(holding, names) {
  const rows = holding.tables.interventions.rows.map((row) => {
    const whom = [row.airport, row.aircraft_type].filter(Boolean).join(", ") || "whole fleet";
    const rule = `${names.title(row)}${row.planned === "true" ? " (planned)" : ""}`;
    return { of: `${row.what}, ${row.rule || row.family}`, cells: [`${row.what} (${whom})`, row.month, rule, ...change(row)] };
  });
  const heads = ["Change", "From", "Rule", "Before", "Since", "Ratio", "Result", "Remark"];
  holding.hold("before and after a change", { csv: "interventions", heads, keys: [0, 1, 2], rows });
}

// The rate, and how many of how many.
function side(row, when) {
  const of = (column) => figure("count", row, `${column}_${when}`);
  const shown = figure("rate", row, `rate_per_1000_${when}`, NOT_KNOWN);
  if (!row[`approaches_with_event_${when}`] || !row[`evaluable_${when}`]) return shown;
  return cell`${shown}\n${of("approaches_with_event")} of ${of("evaluable")}`;
}

function change(row) {
  if (isHidden(row)) return [over(5, reason(row))];
  const between = row.ratio_low && row.ratio_high ? cell` (${figure("two", row, "ratio_low")} to ${figure("two", row, "ratio_high")})` : "";
  const rise = row.detectable_rise_pct && !row.signal ? cell`a rise of ${figure("whole", row, "detectable_rise_pct")} % would probably have been seen` : "";
  return [
    side(row, "before"),
    side(row, "after"),
    row.ratio === "" ? NOT_KNOWN : cell`${figure("two", row, "ratio")}${between}`,
    signal(row.signal, row.p !== ""),
    cell`${row.why_no_signal}${row.why_no_signal && rise ? "; " : ""}${rise}`,
  ];
}

export function recovery(holding) {
  const count = (row, column) => figure("count", row, column, NOT_KNOWN);
  const share = (row, column) => figure("share", row, column, NOT_KNOWN);
  holding.hold("Flights flown and received", {
    csv: "recovery",
    heads: ["Month", "Flown", "Received", "Share", "Usable", "Share", "Remark"],
    rows: holding.tables.recovery.rows.filter(isFleet).map((row) => ({
      of: `fleet, ${row.month}`,
      cells: [
        row.month,
        ...(isHidden(row) ? [over(5, reason(row))] : [
          count(row, "flights_flown"), count(row, "flights_received"), share(row, "share"),
          count(row, "flights_usable"), share(row, "usable_share"),
        ]),
        row.note,
      ],
    })),
  });
}

export function restated(holding, names) {
  const rows = holding.tables.restated.rows;
  const pair = (row, column) => (row[`${column}_before`] === "" || row[`${column}_now`] === "" ? NOT_KNOWN
    : cell`${figure("count", row, `${column}_before`)} → ${figure("count", row, `${column}_now`)}`);
  const rates = (row) => ["before", "now"].map((when) => figure("rate", row, `rate_per_1000_${when}`, NOT_KNOWN));
  holding.hold("figures that changed", {
    csv: "restated",
    heads: ["Month", "Rule", "Evaluable", "With an event", "Rate", "Cause"],
    keys: [0, 1],
    rows: rows.map((row) => ({
      of: `${row.month}, ${row.rule}`,
      cells: [
        row.month,
        names.title(row),
        ...(isHidden(row) ? [over(3, reason(row))] : [
          pair(row, "evaluable"), pair(row, "approaches_with_event"), cell`${rates(row)[0]} → ${rates(row)[1]}`,
        ]),
        row.cause,
      ],
    })),
  });
}
