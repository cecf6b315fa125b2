// Which rule or family a row of a table is of, and what the page calls it.
import { number } from "./shown.js";

export class Names {
  #titles;

  constructor(page) {
    this.rules = page.rules;
    this.#titles = new Map(page.rules.map((rule) => [rule.id, rule]));
  }

  // A rule by its title in the list of rules; a family by its name.
  title(row) {
    if (row.rule === "") return `Any rule of the family ${row.family}`;
    return this.#titles.get(row.rule)?.title ?? `(the rule list has no ${row.rule})`;
  }

  anchor(row) { return this.#titles.get(row.rule)?.anchor; }
}

export const isFleet = (row) => row.group_kind === "fleet";

// Events of any level, the whole fleet.
export const isHead = (row) => isFleet(row) && row.at_least_level === "low";

export const isCore = (row) => row.rule_status === "core";

// The rules that are not on trial, and the families: what the page compares. Families stand before or after.
export function compared(tables, familiesFirst) {
  const own = tables.rates.rows.filter((row) => isHead(row) && isCore(row));
  const rules = own.filter((row) => row.rule !== "");
  const families = own.filter((row) => row.rule === "").sort((a, b) => (a.family < b.family ? -1 : 1));
  return familiesFirst ? [...families, ...rules] : [...rules, ...families];
}

export const isOf = (subject) => (row) =>
  row.rule === subject.rule && (subject.rule !== "" || row.family === subject.family);

// Sorted as `order` has it, of equals the first first.
export const sorted = (rows, ...orders) =>
  [...rows].sort((a, b) => {
    for (const order of orders) {
      const [x, y] = [order(a), order(b)];
      if (x !== y) return x < y ? -1 : 1;
    }
    return 0;
  });

// Ranked ones by rank; what has none, or is hidden, after them.
export const rankOf = (row) => (row.suppressed === "" && row.rank !== "" ? number(row.rank) : Infinity);
