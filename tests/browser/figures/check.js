// Every table of a report against the tables beside it, both ways; what of the page no table holds is named here.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { against } from "./against.js";
import { airports } from "./airports.js";
import { brief, held } from "./brief.js";
import { limits } from "./cells.js";
import { tables as read } from "./csv.js";
import { decisions, decisive, gates, outcomes, recoverability, shortcuts } from "./flown.js";
import { Holding } from "./hold.js";
import { Names } from "./names.js";
import { read as look } from "./page.js";
import { described, pictures } from "./pictures.js";
import { rates } from "./rates.js";
import { changes, recovery, restated, topics } from "./since.js";
import { spreads } from "./spreads.js";
import { summary } from "./summary.js";
import { trend } from "./trend.js";
import { withheld } from "./withheld.js";

// Each part of the page, and what it is held against.
const PARTS = {
  rates, trend, airports, topics, changes, recovery, restated, spreads, outcomes, decisive, gates, decisions, shortcuts,
  recoverability, withheld, against, summary,
};

// Counted over flights and approaches, whose tables are not handed on.
const OF_NO_TABLE = [
  "Flights refused", "Approaches by outcome", "Approaches by aircraft type", "Approaches by airport",
  "Approaches by month", "recorded parameters", "source of the height", "run",
];

export const hasTables = (folder) => existsSync(join(folder, "tables"));

// Faults by part. `told` is given how much was looked at.
export async function figures(browser, folder, told = () => {}) {
  const page = await look(browser, join(folder, "report.html"));
  const { thresholds } = JSON.parse(readFileSync(join(folder, "run.json"), "utf8"));
  limits.flights = thresholds.min_flights;
  limits.days = thresholds.min_tail_days;
  const holding = new Holding(page, read(join(folder, "tables")));
  const names = new Names(page);
  const found = {};
  const part = (name, hold) => {
    holding.faults = [];
    hold();
    found[name] = holding.faults;
  };
  for (const [name, hold] of Object.entries(PARTS)) part(name, () => hold(holding, names));
  const [files, short] = [await described(browser, folder), await brief(browser, folder)];
  part("pictures", () => pictures(holding, files));
  part("brief", () => held(holding, short));
  part("tables of the page", () => {
    for (const { region } of page.tables.filter((one) => !holding.met.has(one) && !OF_NO_TABLE.includes(one.region))) {
      holding.tell(`table “${region}”`, "no table beside the page is known to hold its figures");
    }
  });
  const rows = [...holding.met].reduce((sum, table) => sum + table.rows.length, 0);
  told(`${holding.met.size} of ${page.tables.length} tables with ${rows} rows, ${page.pictures.length} pictures`);
  return found;
}
