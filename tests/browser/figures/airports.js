// Airports against the fleet, rule by rule, and those to look at over all rules.
import { hasRate, isHidden, NOT_ESTIMATED, NOT_KNOWN, RATE_HEADS, rate } from "./cells.js";
import { over } from "./hold.js";
import { compared, isOf, rankOf, sorted } from "./names.js";
import { cell, figure } from "./shown.js";

const FLAGS = ["hot spot", "watch"];
const HEADS = ["Rank", "Airport", "Class", ...RATE_HEADS, "Expected", "Observed ÷ expected", "Shrunk rate", "Its 5 % quantile", "Chance above all airports"];
const FLAGGED_HEADS = ["Airport", "Class", "Rank", "Rule", ...RATE_HEADS, "Expected", "Observed ÷ expected", "Chance above all", "Chance well above"];
const UNCLASSED_HEADS = ["Airport", "Rule", ...RATE_HEADS, "Expected", "Observed ÷ expected"];
// One in a thousand by chance.
const FAR_BEYOND = 0.001;

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
      holding.sentence({ box: table.box, title }, /^Rate at all airports/, rateOfAll(own[0]), `hotspots.csv: ${subject.rule || subject.family}`);
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
        cells: [row.airport, row.class, rank(row), title, ...rate(row), expected(row), observed(row), chance(row), hot(row)],
      };
    }),
  });
  const unclassed = compared(tables, false).flatMap((subject) =>
    sorted(places.filter(isOf(subject)), rankOf, isHidden, (row) => row.airport).filter(isFarBeyond));
  holding.hold("too few approaches to be classed", {
    csv: "hotspots",
    heads: UNCLASSED_HEADS,
    keys: [0, 1],
    rows: unclassed.map((row) => ({ of: of(row), cells: [row.airport, names.title(row), ...rate(row), expected(row), observed(row)] })),
  });
}

const of = (row) => `${row.airport}, ${row.rule || `family ${row.family}`}`;
const rank = (row) => (hasRate(row) ? figure("count", row, "rank", "unranked") : "unranked");
const expected = (row) => figure("one", row, "expected", NOT_ESTIMATED);
const observed = (row) => figure("two", row, "standardised_ratio", NOT_ESTIMATED);
const hot = (row) => figure("chance", row, "prob_above_1_5x", NOT_ESTIMATED);
const isFarBeyond = (row) =>
  row.class === "insufficient data" && hasRate(row) && row.upper_tail_p !== "" && Number(row.upper_tail_p) <= FAR_BEYOND;
const chance = (row) => figure("chance", row, "prob_above_fleet", NOT_ESTIMATED);

function line(row) {
  const rest = hasRate(row)
    ? [expected(row), observed(row), figure("rate", row, "shrunk_rate", NOT_ESTIMATED), figure("rate", row, "shrunk_low_5pct", NOT_ESTIMATED), chance(row)]
    : [over(5, "nothing to compare")];
  return [rank(row), row.airport, hasRate(row) ? row.class || "insufficient data" : "–", ...rate(row), ...rest];
}

function rateOfAll(row) {
  if (!row || row.rate_of_all === "") return `Rate at all airports together: ${NOT_KNOWN}.`;
  return cell`Rate at all airports together: ${figure("rate", row, "rate_of_all")} per 1,000 evaluable approaches.`;
}
