// The tables beside a report, as they are written: a line a row, quotes where a value holds a comma, a quote or
// a line break, and an empty value for what is not known.
import { readFileSync, readdirSync, realpathSync, statSync } from "node:fs";
import { join } from "node:path";

const QUOTE = 34;
const COMMA = 44;
const LINE = 10;
const RETURN = 13;

// All rows of a text, the header among them, each an array of strings.
export function* rows(text) {
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  while (at < text.length) {
    const row = [];
    for (;;) {
      let value;
      if (text.charCodeAt(at) === QUOTE) {
        let parts = "";
        for (at += 1; ; at += 2) {
          const end = text.indexOf('"', at);
          if (end < 0) throw new Error("a quote is opened and never closed");
          parts += text.slice(at, end);
          at = end;
          if (text.charCodeAt(at + 1) !== QUOTE) break;
          parts += '"';
        }
        at += 1;
        value = parts;
      } else {
        const start = at;
        while (at < text.length) {
          const code = text.charCodeAt(at);
          if (code === COMMA || code === LINE || code === RETURN) break;
          at += 1;
        }
        value = start === at ? "" : text.slice(start, at);
      }
      row.push(value);
      if (text.charCodeAt(at) !== COMMA) break;
      at += 1;
    }
    if (text.charCodeAt(at) === RETURN) at += 1;
    if (at < text.length && text.charCodeAt(at) !== LINE) throw new Error(`a value goes on after its quote: ${row.at(-1)}`);
    at += 1;
    yield row;
  }
}

export const FEW_FLIGHTS = "too few flights";
export const FEW_DAYS = "too few tail-days";
export const GIVES_AWAY = "would give another cell away";

// Of the largest tables the page shows the whole fleet only: the other rows are counted and let go.
const FLEET_ONLY = ["trend_monthly", "trend_slope", "rates", "coverage"];

function read(file, name) {
  const lines = rows(readFileSync(file, "utf8"));
  const columns = lines.next().value;
  const kind = columns.indexOf("group_kind");
  const reason = columns.indexOf("suppressed");
  const kept = [];
  const reasons = new Map();
  let count = 0;
  for (const row of lines) {
    count += 1;
    if (row.length !== columns.length) throw new Error(`${name}.csv, row ${count}: ${row.length} values for ${columns.length} columns`);
    if (reason >= 0 && row[reason]) reasons.set(row[reason], (reasons.get(row[reason]) ?? 0) + 1);
    if (FLEET_ONLY.includes(name) && row[kind] !== "fleet") continue;
    kept.push(Object.fromEntries(row.map((value, at) => [columns[at], value])));
  }
  return { name, columns, rows: kept, count, reasons };
}

// A file is read once, however often it is looked into.
const seen = new Map();

export function table(file, name) {
  const real = realpathSync(file);
  const { mtimeMs, size } = statSync(real);
  const key = `${real} ${mtimeMs} ${size}`;
  if (!seen.has(key)) seen.set(key, read(real, name));
  return seen.get(key);
}

// Every table of a folder, by its name.
export const tables = (folder) =>
  Object.fromEntries(readdirSync(folder)
    .filter((name) => name.endsWith(".csv"))
    .map((file) => [file.slice(0, -".csv".length), table(join(folder, file), file.slice(0, -".csv".length))]));
