// The month in short: what a sentence says of something stands in the row its link leads to, figure and interval.
import { hasRate, isHidden } from "./cells.js";
import { isHead } from "./names.js";
import { number, reckoned, wrong, cell } from "./shown.js";

// A figure with its interval, as sentences have it and as tables have it: their figures alone, one after the other.
const FIGURE = "[<>]?−?\\d+(?:,\\d{3})*(?:\\.\\d+)?(?: %)?";
const WITH_INTERVAL = [
  new RegExp(`(${FIGURE}) per 1,000, (${FIGURE}) to (${FIGURE})`, "g"),
  new RegExp(`(${FIGURE}) a month, (${FIGURE}) to (${FIGURE})`, "g"),
  new RegExp(`(${FIGURE}) \\((?:95 % interval )?(${FIGURE}) to (${FIGURE})(?=[);])`, "g"),
];
// What stands beside them: the rate before, the error probability, the rate of the fleet, how many of how many.
const ALONE = [
  [new RegExp(`before (${FIGURE})`, "g"), "Before"], [new RegExp(`q (${FIGURE})`, "g"), "q"],
  [new RegExp(`(${FIGURE} of ${FIGURE})`, "g"), null], [new RegExp(`all airports (${FIGURE})`, "g"), "fleet"],
];

const figures = (text) => text.match(new RegExp(FIGURE, "g")) ?? [];

// Whether those figures stand one after the other.
const follow = (all, some) => all.some((_, at) => some.every((one, next) => all[at + next] === one));

export function summary(holding) {
  for (const { question, parts } of holding.page.answers) {
    // A link, and all that is said up to the next.
    const claims = [];
    for (const part of parts) {
      if (part.to) claims.push({ to: part.to, name: part.text, text: part.text });
      else if (claims.length > 0) claims.at(-1).text += part.text;
      else if (WITH_INTERVAL.some((one) => part.text.match(one))) holding.tell(`in short, “${question}”`, `“${part.text}” leads nowhere`);
    }
    for (const one of claims) claim(holding, `in short, “${question}”`, one);
  }
  counts(holding);
  tests(holding);
  more(holding);
  facts(holding);
}

function claim(holding, where, { to, name, text }) {
  const { page } = holding;
  const rows = page.tables.flatMap((table) => table.rows.filter((row) => row.id === to || table.under === to).map((row) => ({ row, table })));
  const intervals = WITH_INTERVAL.flatMap((one) => [...text.matchAll(one)].map((found) => found.slice(1, 4)));
  const alone = ALONE.flatMap(([one, column]) => [...text.matchAll(one)].map((found) => ({ shown: found[1], column })));
  if (intervals.length === 0) return;
  const named = rows.filter(({ row }) => isAbout(row, to, name));
  // Below a heading the link may name no row of its own: then it is one of them.
  const about = named.length === 0 && rows.every(({ row }) => row.id !== to) ? rows : named;
  const holds = ({ row, table }) => {
    const cells = row.cells.map((one) => one.text);
    const all = cells.flatMap(figures);
    const fleet = table.region === "airports to look at" ? page.paragraphs.filter((p) => row.links.includes(p.box)).map((p) => p.text) : [];
    return intervals.every((one) => follow(all, one)) && alone.every(({ shown, column }) => {
      if (column === "fleet") return fleet.some((one) => one.includes(`together: ${shown} per`));
      if (column) return figures(cells[table.heads.indexOf(column)] ?? "")[0] === shown;
      // “2 of 55” stands as such, or in the columns of the whole and of the part.
      return cells.some((one) => one.includes(shown)) || shown.split(" of ").every((one) => cells.includes(one));
    });
  };
  if (!about.some(holds)) {
    const told = about.length === 1 ? `there: ${about[0].row.cells.map((one) => one.text.replaceAll("\n", " / ")).join(" | ")}` : `${about.length} rows there, none with it`;
    holding.tell(`${where}, “${name}”`, `its figures are not in the row that its link leads to (#${to}): shown “${text.trim()}”; ${told}`);
  }
}

// A link names what its row is about: a rule, a topic, an airport and a rule; below a heading, what stands first.
function isAbout(row, to, name) {
  const said = row.cells.map((cell) => cell.text);
  if (row.id !== to) return name === said[0] || name.includes(` ${said[0]} `);
  return said.includes(name) || said.some((one) => name.startsWith(`${one}, `) && said.includes(name.slice(one.length + 2)));
}

// How many rules have a rate, how many rows are withheld, what was tested.
function counts(holding) {
  const { page, tables } = holding;
  const heads = tables.rates.rows.filter((row) => isHead(row) && row.rule !== "");
  const withRate = heads.filter(hasRate).length;
  const trial = heads.filter((row) => row.rule_status === "trial").length;
  const months = new Set(tables.trend_monthly.rows.map((row) => row.month)).size;
  const unstable = tables.go_arounds.rows.find((row) => row.group_kind === "fleet" && row.at_gate === "unstable");
  const count = (value, column) => reckoned("count", value, column);
  const many = (value, one, more) => (value === 1 ? one : more);
  const gone = number(unstable && !isHidden(unstable) ? unstable.approaches : "");
  const meant = [
    [/\S+ of \S+ rules? have a rate to show/, heads.length === 0 ? null
      : cell`${count(withRate, "rates.csv: rules with a rate")} of ${count(heads.length, "rates.csv: rules")} ${many(heads.length, "rule", "rules")} have a rate to show`],
    [/\S+ (?:is|are) on trial/, trial === 0 ? null : cell`${count(trial, "rates.csv: rules on trial")} ${many(trial, "is", "are")} on trial`],
    [/Over \S+ months?/, months === 0 ? null : cell`Over ${count(months, "trend_monthly.csv: months")} ${many(months, "month", "months")}`],
    [/\S+ approach(?:es were| was) unstable/, gone === null ? null
      : cell`${count(gone, "go_arounds.csv: approaches")} ${many(gone, "approach was", "approaches were")} unstable`],
  ];
  const all = said(page);
  for (const [form, expected] of meant) {
    const found = form.exec(all)?.[0];
    if (expected === null && found) holding.tell("in short", `shown “${found}”, the tables have no such figure`);
    if (expected === null) continue;
    const why = found ? wrong(found, expected) : `nothing there reads like ${form}`;
    if (why) holding.tell("in short", why);
  }
}

// What was tested, and what rise would have shown: the least, and that of the middle one.
function tests(holding) {
  const region = "latest month against the months before";
  const both = holding.page.tables.filter((one) => one.region.startsWith(region));
  const table = both[0] && { ...both[0], rows: both.flatMap((one) => one.rows) };
  const all = said(holding.page);
  if (!table || !/Tested: |no signal in /.test(all)) return;
  const column = (name) => table.heads.indexOf(name);
  const shown = (row, name) => row.cells[column(name)]?.text ?? "";
  const tested = table.rows.filter((row) => shown(row, "Result") !== "not tested");
  const families = tested.filter((row) => row.cells[0].text.startsWith("Any rule of the family ")).length;
  const many = (n, one, more) => `${n.toLocaleString("en-US")} ${n === 1 ? one : more}`;
  const whom = many(tested.length - families, "rule", "rules") + (families > 0 ? ` and ${many(families, "family", "families")}` : "");
  const found = /(?:Tested: |no signal in \S+ on )(\d[^.]*?)(?: tested)?\./.exec(all)?.[1];
  if (found !== whom) holding.tell("in short", `shown “${found}” tested, expected “${whom}” by the table “${table.region}”`);
  if (!/the smallest rise/.test(all)) return;
  const size = (text) => Number(text.replace(/,| %/g, ""));
  const rises = table.rows.map((row) => ({ name: row.cells[0].text, rise: shown(row, "Rise that would have shown") }))
    .filter(({ rise }) => rise.endsWith(" %")).sort((a, b) => size(a.rise) - size(b.rise));
  const least = /four times in five is (.*? %) \((.*?)\);/.exec(all) ?? [];
  if (least[1] !== rises[0].rise || !rises.some(({ name, rise }) => name === least[2] && rise === least[1])) {
    holding.tell("in short", `the smallest rise that would have shown: shown “${least[1]} (${least[2]})”, expected “${rises[0].rise} (${rises[0].name})”`);
  }
  const half = /only one of (.*? %) or more/.exec(all)?.[1];
  const middle = rises[Math.floor(rises.length / 2)].rise;
  if (half !== middle) holding.tell("in short", `the middle rise that would have shown: shown “${half}”, expected “${middle}”`);
}

const said = (page) => page.answers.map(({ parts }) => parts.map((one) => one.text).join("")).join("\n");

// What is named and what is only counted are all that the table has.
function more(holding) {
  const { page } = holding;
  const rows = (region) => page.tables.find((one) => one.region === region)?.rows ?? [];
  const ranked = rows("topics for training").filter((row) => row.id !== "").length;
  for (const [to, id, all] of [["topics", /^topic-/, ranked], ["airports", /^flag-/, [...rows("airports to look at"), ...rows("too few approaches to be classed")].length]]) {
    const parts = page.answers.flatMap((answer) => answer.parts);
    const named = parts.filter((part) => id.test(part.to)).length;
    const left = parts.filter((part) => part.to === to && part.text.endsWith(" more")).reduce((sum, part) => sum + Number.parseInt(part.text, 10), 0);
    if (named + left !== all) holding.tell(`in short, #${to}`, `${named} are named and ${left} more are counted, the table has ${all}`);
  }
}

// Flights and approaches: told in short, told among the facts, and the approaches in the table of rates as well.
function facts(holding) {
  const { page, tables } = holding;
  const fact = (name) => page.facts.find((one) => one.name === name)?.value;
  const meant = `${fact("Approaches found in them")} in ${fact("Flights used")} of ${fact("Flights received")} received`;
  const found = page.answers.flatMap((answer) => answer.parts).find((part) => part.to === "analysed")?.text ?? "nothing";
  if (found.replace(/ (approach(es)?|flights?)\b/g, "") !== meant) holding.tell("in short, #analysed", `shown “${found}”, expected “${meant}”`);
  const row = tables.rates.rows.find((one) => isHead(one) && one.rule !== "" && one.approaches !== "");
  const why = row ? wrong(fact("Approaches found in them") ?? "", reckoned("count", number(row.approaches), "approaches")) : "";
  if (why) holding.tell("facts, “Approaches found in them”", `${why} (rates.csv: ${row.rule})`);
}
