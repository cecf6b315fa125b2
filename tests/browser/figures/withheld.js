// How many rows of each table are withheld, and why.
import { GIVES_AWAY } from "./csv.js";
import { reckoned } from "./shown.js";

// The order of the page is that of docs/tables.md, which is no matter here: rows are taken as they stand.
export function withheld(holding) {
  const shown = holding.page.tables.find((one) => one.region === "rows withheld")?.rows.map((row) => row.cells[0].text) ?? [];
  const place = (name) => (shown.includes(name) ? shown.indexOf(name) : shown.length);
  const own = Object.values(holding.tables)
    .filter((table) => table.reasons.size > 0)
    .sort((a, b) => place(a.name) - place(b.name));
  const many = (table) => {
    const all = [...table.reasons.values()].reduce((sum, n) => sum + n, 0);
    const away = table.reasons.get(GIVES_AWAY) ?? 0;
    return [reckoned("count", table.count, "rows"), reckoned("count", all - away, "suppressed: too few"), reckoned("count", away, "suppressed: would give away")];
  };
  holding.hold("rows withheld", {
    csv: "tables/*",
    heads: ["Table", "Rows", "Withheld: too few flights or tail-days", "Withheld: would give another away"],
    rows: own.map((table) => ({ of: `${table.name}.csv`, cells: [table.name, ...many(table)] })),
  });
}

