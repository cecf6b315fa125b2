// Airports against the fleet, rule by rule, and those to look at over all rules.
import { hasRate, isHidden, NOT_ESTIMATED, NOT_KNOWN, RATE_HEADS, rate } from "./cells.js";
import { over } from "./hold.js";
import { compared, isHead, isOf, rankOf, sorted } from "./names.js";
import { cell, figure } from "./shown.js";

const FLAGS = ["hot spot", "watch"];
const HEADS = ["Rank", "Airport", "Class", ...RATE_HEADS, "Expected", "Observed ÷ expected", "Shrunk rate", "Its 5 % quantile", "Chance above fleet"];
const FLAGGED_HEADS = ["Airport", "Class", "Rank", "Rule", ...RATE_HEADS, "Expected", "Observed ÷ expected", "Chance above fleet"];

export function airports(holding, names) {
  const { tables } = holding;
  const places = tables.hotspots.rows.filter((row) => row.runway === "");
  const flagged = [];
  // Families stand after the rules here.
  for (const subject of compared(tables, false)) {
    const title = names.title(subject);
    const own = sorted(places.filter(isOf(subject)), rankOf, isHidden, (row) => row.airport);
    flagged.push(...own.filter((row) => FLAGS.includes(row.class) && hasRate(row)));
    const table = holding.hold(`airports, ${title}`, {
      csv: "hotspots",
      heads: HEADS,
      keys: [1],
      rows: own.map((row) => ({ of: of(row), cells: line(row) })),
    });
    if (table) {
      const fleet = tables.rates.rows.find((row) => isHead(row) && isOf(subject)(row));
      holding.sentence({ box: table.box, title }, /^Rate of the whole fleet/, fleetRate(fleet), `rates.csv: ${subject.rule || subject.family}, fleet`);
    }
  }
  holding.hold("airports to look at", {
    csv: "hotspots",
    heads: FLAGGED_HEADS,
    keys: [0, 3],
    rows: sorted(flagged, (row) => FLAGS.indexOf(row.class)).map((row) => {
      const title = names.title(row);
      const box = holding.page.tables.find((one) => one.region === `airports, ${title}`)?.box;
      return {
        of: of(row),
        links: box ? [box] : [],
        cells: [row.airport, row.class, rank(row), title, ...rate(row), expected(row), observed(row), chance(row)],
      };
    }),
  });
}

const of = (row) => `${row.airport}, ${row.rule || `family ${row.family}`}`;
const rank = (row) => (hasRate(row) ? figure("count", row, "rank", "unranked") : "unranked");
const expected = (row) => figure("one", row, "expected", NOT_ESTIMATED);
const observed = (row) => figure("two", row, "standardised_ratio", NOT_ESTIMATED);
const chance = (row) => figure("chance", row, "prob_above_fleet", NOT_ESTIMATED);

function line(row) {
  const rest = hasRate(row)
    ? [expected(row), observed(row), figure("rate", row, "shrunk_rate", NOT_ESTIMATED), figure("rate", row, "shrunk_low_5pct", NOT_ESTIMATED), chance(row)]
    : [over(5, "nothing to compare")];
  return [rank(row), row.airport, hasRate(row) ? row.class || "insufficient data" : "–", ...rate(row), ...rest];
}

function fleetRate(row) {
  if (!row || row.rate_per_1000 === "") return `Rate of the whole fleet: ${NOT_KNOWN}.`;
  return cell`Rate of the whole fleet: ${figure("rate", row, "rate_per_1000")} per 1,000 evaluable approaches.`;
}
