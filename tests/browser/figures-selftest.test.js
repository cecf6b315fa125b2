// The check of figures finds what it is there for: copies of the review at hand are broken, one way at a time, and
// each fault must be told with its place. Faults of the review itself are not counted.
import assert from "node:assert/strict";
import { cp, mkdir, mkdtemp, readFile, readdir, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { PAGES, TABLES } from "./figures/broken.js";
import { figures, hasTables } from "./figures/check.js";
import { rows } from "./figures/csv.js";
import { helpers } from "./figures/helpers.js";
import { RARE } from "./figures/rare.js";
import { unlike } from "./figures/shown.js";
import { launch } from "./lib/browser.js";
import { folders } from "./lib/found.js";

const [folder] = folders();
const skip = hasTables(folder) ? false : "there is no tables/ beside the report: there is nothing to break";

let browser;
let tab;
let temporary;
let sound;
let copies = 0;
before(async () => {
  browser = await launch();
  tab = await browser.newPage();
  temporary = await mkdtemp(join(tmpdir(), "figures-"));
  if (!skip) sound = await figures(browser, folder);
});
after(async () => {
  await browser.close();
  await rm(temporary, { recursive: true });
});

// A copy in which all is as it was but for what is written into it: the rest are links to the review.
async function copy() {
  copies += 1;
  const own = join(temporary, `copy-${copies}`);
  await mkdir(join(own, "tables"), { recursive: true });
  for (const name of await readdir(folder)) {
    if (name !== "tables") await symlink(join(folder, name), join(own, name));
  }
  for (const name of await readdir(join(folder, "tables"))) await symlink(join(folder, "tables", name), join(own, "tables", name));
  return own;
}

async function replaced(file, text) {
  await rm(file, { force: true });
  await writeFile(file, text);
}

async function finds(own, part, told) {
  const found = await figures(browser, own);
  const fresh = found[part].filter((one) => !sound[part].includes(one));
  assert.ok(fresh.some((one) => told.every((word) => one.includes(word))),
    `“${told.join("” and “")}” are not told: ${JSON.stringify(fresh.slice(0, 5))}`);
}

// A page that is changed keeps of its pictures what they say of themselves, and is not laid out: the look of it is
// not read, and slow to make.
const changed = async (change) => {
  const html = await readFile(join(folder, "report.html"), "utf8");
  return tab.evaluate(`((html) => {
    const document = new DOMParser().parseFromString(html, "text/html");
    for (const one of document.querySelectorAll("svg > :not(title, desc)")) one.remove();
    document.querySelector("style").textContent = "body { display: none; }";
    const told = (${change})((${helpers})(document));
    return { told, html: "<!DOCTYPE html>" + document.documentElement.outerHTML };
  })(${JSON.stringify(html)})`);
};

for (const { what, part, page } of PAGES) {
  test(`on the page: ${what}`, { skip }, async (t) => {
    const { told, html } = await changed(page);
    if (!told) return t.skip("this review has no place for it");
    const own = await copy();
    await replaced(join(own, "report.html"), html);
    await finds(own, part, told);
  });
}

const quoted = (value) => (/[",\n\r]/.test(value) ? `"${value.replaceAll('"', '""')}"` : value);

for (const { what, name, part, of, change, told } of TABLES) {
  test(`in ${name}.csv: ${what}`, { skip }, async (t) => {
    const [columns, ...lines] = rows(await readFile(join(folder, "tables", `${name}.csv`), "utf8"));
    const named = (row) => Object.fromEntries(row.map((value, at) => [columns[at], value]));
    const at = lines.findIndex((row) => of(named(row)));
    if (at < 0) return t.skip("this review has no place for it");
    const row = named(lines[at]);
    change?.(row);
    lines.splice(at, 1, ...(change ? [Object.values(row)] : []));
    const own = await copy();
    await replaced(join(own, "tables", `${name}.csv`), [columns, ...lines].map((row) => `${row.map(quoted).join(",")}\n`).join(""));
    await finds(own, part, told);
  });
}

test("a picture file that says another figure", { skip }, async (t) => {
  const own = await copy();
  const pictures = join(own, "pictures");
  await rm(pictures, { force: true });
  await cp(join(folder, "pictures"), pictures, { recursive: true });
  const [first, second] = (await readdir(pictures)).filter((name) => name.endsWith(".svg"));
  if (!second) return t.skip("this review has no pictures");
  const text = await readFile(join(pictures, first), "utf8");
  await replaced(join(pictures, first), text.replace(/(<desc[^>]*>)/, "$1Q "));
  await rm(join(pictures, second));
  await writeFile(join(pictures, "more.svg"), text);
  await finds(own, "pictures", [`picture “${first.slice(0, -4)}”`, "in its file"]);
  await finds(own, "pictures", [`picture “${second.slice(0, -4)}”`, "there is no file"]);
  await finds(own, "pictures", ["pictures/more.svg", "no such picture"]);
});

test("a brief that says another figure", { skip }, async () => {
  const own = await copy();
  const text = await readFile(join(folder, "brief.html"), "utf8");
  await replaced(join(own, "brief.html"), text.replace(/(\d)( to [\d.,]+\)<\/td>)/, (_, digit, rest) => `${(Number(digit) + 3) % 10}${rest}`));
  await finds(own, "brief", ["brief, table “", "column “Rate (95 % interval)”", "shown “", "expected “"]);
});

// What the sample has no rows for is held against rows made up here.
for (const { what, held, told } of RARE) {
  test(`made up: ${what}`, () => {
    const faults = held();
    if (told) assert.ok(faults.some((one) => told.every((word) => one.includes(word))), `“${told.join("” and “")}” are not told: ${faults}`);
    else assert.deepEqual(faults, []);
  });
}

test("tables are read as they are written", () => {
  assert.deepEqual([...rows('a,b\r\n"x, ""y""\n",\n,2')], [["a", "b"], ['x, "y"\n', ""], ["", "2"]]);
  assert.throws(() => [...rows('a\n"x')], /never closed/);
  assert.throws(() => [...rows('a\n"x"y')], /goes on/);
});

test("a figure is equal at the precision shown, and no further off", () => {
  for (const [text, value, kind] of [
    ["1,234", 1234, "count"], ["5.0", 5.0499999, "rate"], ["0.61", 0.6149, "rate"], ["<0.01", 0.004, "rate"], ["0.0", 0, "rate"],
    [">99.9 %", 0.9996, "share"], ["100.0 %", 1, "share"], ["<0.1 %", 0.0002, "share"], ["−1,234", -1234.4, "measure"],
    [">0.99", 0.999, "chance"], ["<0.001", 0, "error"], ["-1.2", -1.2, "one"], ["+3.4", 3.41, "one"], ["0.0", -0.02, "measure"],
  ]) assert.equal(unlike(text, value, kind), "", `${text} is ${value}`);
  for (const [text, value, kind] of [
    ["1234", 1234, "count"], ["1,235", 1234, "count"], ["5.1", 5.04, "rate"], ["5", 5, "rate"], ["0.0", 0.004, "rate"], ["<0.01", 0, "rate"],
    ["<0.01", 0.006, "rate"], ["100.0 %", 0.9999, "share"], [">99.9 %", 1, "share"], ["99.9", 0.999, "share"], ["1,234", -1234, "measure"],
    ["1.2 %", 1.2, "one"], ["", 0, "count"], ["12,34", 1234, "count"],
  ]) assert.notEqual(unlike(text, value, kind), "", `${text} is not ${value}`);
});
