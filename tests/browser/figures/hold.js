// One table of the page against the rows it must have: all of them, no other, in that order, cell by cell.
import { wrong } from "./shown.js";

// A cell that reaches over several columns.
export const over = (span, expected) => ({ span, expected });

const spanned = (one) => (one && one.span ? one : { span: 1, expected: one });

// What stands at each column: a cell over several columns is met at the first of them.
function byColumn(cells) {
  const at = new Map();
  let column = 0;
  for (const cell of cells) {
    at.set(column, cell);
    column += cell.span;
  }
  return { at, width: column };
}

// A row is known by what its first columns say: `key` tells how many.
const named = (row, keys) => keys.map((column) => byColumn(row.cells).at.get(column)?.text ?? "").join(" | ");

export class Holding {
  faults = [];
  // Tables of the page that something was held against.
  met = new Set();

  constructor(page, tables) {
    this.page = page;
    this.tables = tables;
  }

  tell(where, what) { this.faults.push(`${where}: ${what}`); }

  // The one table of the page under that name.
  find(region, section) {
    const found = this.page.tables.filter((one) => one.region === region && (!section || one.section === section));
    if (found.length === 1) {
      this.met.add(found[0]);
      return found[0];
    }
    this.tell(`table “${region}”`, found.length === 0 ? "it is not on the page" : `${found.length} of them are on the page`);
    return null;
  }

  // `rows`: what must be there, each with what it is of in the table beside the page, and its cells.
  hold(region, { csv, heads, keys = [0], rows, section }) {
    if (rows.length === 0) {
      const there = this.page.tables.find((one) => one.region === region);
      if (there) {
        this.met.add(there);
        this.tell(`table “${region}”`, `it has ${there.rows.length} rows, ${csv}.csv has none for it`);
      }
      return null;
    }
    const table = this.find(region, section);
    if (!table) return null;
    const where = `table “${region}”`;
    if (table.heads.join(" | ") !== heads.join(" | ")) {
      this.tell(where, `its columns are “${table.heads.join(" | ")}”, expected “${heads.join(" | ")}”`);
      return table;
    }
    this.#rows(where, table, { csv, keys, rows });
    return table;
  }

  #rows(where, table, { csv, keys, rows }) {
    const expected = new Map();
    for (const row of rows) {
      const all = byColumn(row.cells.map(spanned)).at;
      const name = keys.map((column) => all.get(column).expected).join(" | ");
      if (expected.has(name)) this.tell(`${where}, row “${name}”`, `${csv}.csv has more than one row for it`);
      expected.set(name, row);
    }
    const shown = new Map();
    for (const row of table.rows) {
      const name = named(row, keys);
      if (shown.has(name)) this.tell(`${where}, row “${name}”`, "it is there twice");
      shown.set(name, row);
    }
    for (const name of shown.keys()) {
      if (!expected.has(name)) this.tell(`${where}, row “${name}”`, `${csv}.csv has no row for it`);
    }
    for (const [name, row] of expected) {
      if (!shown.has(name)) this.tell(`${where}, row “${name}”`, `it is not on the page; ${csv}.csv has it: ${row.of}`);
      else this.#cells(`${where}, row “${name}”`, table, shown.get(name), { ...row, csv });
    }
    const order = (names, others) => [...names.keys()].filter((name) => others.has(name));
    const [are, meant] = [order(shown, expected), order(expected, shown)];
    const first = are.findIndex((name, at) => name !== meant[at]);
    if (first >= 0) this.tell(`${where}, row “${are[first]}”`, `it stands where “${meant[first]}” is expected`);
  }

  #cells(where, table, shown, { csv, of, cells, links = [] }) {
    const found = byColumn(shown.cells);
    const meant = byColumn(cells.map(spanned));
    for (const [column, { span, expected }] of meant.at) {
      if (expected === null) continue;
      const cell = found.at.get(column);
      const why = cell ? wrong(cell.text, expected) : "there is no cell";
      const told = why || (cell.span === span ? "" : `it reaches over ${cell.span} columns, expected ${span}`);
      if (told) this.tell(`${where}, column “${table.heads[column]}”`, `${told} (${csv}.csv: ${of})`);
    }
    if (found.width !== meant.width) this.tell(where, `it has ${found.width} columns, expected ${meant.width}`);
    for (const link of links) {
      if (!shown.links.includes(link)) this.tell(where, `its link leads to ${shown.links.join(", ") || "nowhere"}, expected ${link}`);
    }
  }

  // A sentence below a heading or within a box: one of them must read so.
  sentence({ box, title }, start, expected, of) {
    const own = this.page.paragraphs.filter((one) => (box ? one.box === box : one.title === title) && start.test(one.text));
    if (own.length !== 1) return this.tell(`“${title ?? box}”`, `${own.length} sentences that match ${start}, expected 1 (${of})`);
    const why = wrong(own[0].text, expected);
    if (why) this.tell(`“${own[0].title}”, a sentence`, `${why} (${of})`);
  }
}
