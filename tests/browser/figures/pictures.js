// What a picture says of itself, against the table beside it and against the file of the same name.
import { existsSync, readdirSync, readFileSync, realpathSync } from "node:fs";
import { join } from "node:path";

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const FIGURE = /[<>]?−?\d+(?:,\d{3})*(?:\.\d+)?(?: %)?/g;

// A folder of pictures is read once, however often it is looked into.
const seen = new Map();

// The name of each file, and what its description says.
export async function described(browser, folder) {
  const own = join(folder, "pictures");
  if (!existsSync(own)) return [];
  const real = realpathSync(own);
  if (!seen.has(real)) seen.set(real, await parsed(browser, real));
  return seen.get(real);
}

async function parsed(browser, folder) {
  const files = readdirSync(folder).filter((name) => name.endsWith(".svg"));
  const texts = files.map((name) => readFileSync(join(folder, name), "utf8"));
  const page = await browser.newPage();
  try {
    const descs = await page.evaluate((all) => all.map((text) =>
      new DOMParser().parseFromString(text, "image/svg+xml").querySelector("svg > desc")?.textContent.replace(/\s+/g, " ").trim()), texts);
    return files.map((name, at) => ({ name: name.slice(0, -".svg".length), desc: descs[at] ?? "" }));
  } finally {
    await page.close();
  }
}

export function pictures(holding, files) {
  const { page } = holding;
  const byName = new Map(files.map((one) => [one.name, one.desc]));
  for (const picture of page.pictures) {
    const where = `picture “${picture.name}”`;
    if (!byName.has(picture.name)) holding.tell(where, "there is no file of that name");
    else if (byName.get(picture.name) !== picture.desc) holding.tell(where, `${differ(picture.desc, byName.get(picture.name))} in its file`);
    byName.delete(picture.name);
    const said = sentences(page, picture);
    if (said !== null && said !== picture.desc) holding.tell(where, `${differ(picture.desc, said)} in the table beside it`);
    if (said === null) figures(holding, picture, where);
  }
  for (const name of byName.keys()) holding.tell(`pictures/${name}.svg`, "the page has no such picture");
}

// Where two texts part.
function differ(shown, other) {
  const [a, b] = [shown.split(/(?<=[.;]) /), other.split(/(?<=[.;]) /)];
  const at = a.findIndex((part, index) => part !== b[index]);
  return `it says “${a[at] ?? ""}”, and “${b[at < 0 ? a.length : at] ?? ""}”`;
}

const find = (page, region) => page.tables.find((one) => one.region === region);

// A line of figures as rates, months and airports have it.
function line(row, first) {
  const [evaluable, , rate, interval] = row.cells.slice(first).map((one) => one.text);
  if (row.cells[first].span === 4) return evaluable;
  if (row.cells[first + 1].span === 3) return row.cells[first + 1].text;
  return `${rate} (${interval === "not estimated" ? "interval not estimated" : interval}), ${evaluable} evaluable`;
}

// The whole description, where the table beside it gives it word by word; otherwise nothing.
function sentences(page, { name, box, title }) {
  if (name === "rates-picture") {
    const shown = (find(page, "rates by rule")?.rows ?? []).filter((row) => row.cells.length > 4);
    return shown.map((row) => `${row.cells[0].text}: ${line(row, 1)}.`).join(" ");
  }
  if (name.startsWith("airports-")) {
    const rows = page.tables.find((one) => one.box === box && one.region === `airports, ${title}`)?.rows ?? [];
    // Which airports are withheld stands below the picture.
    const drawn = rows.filter((row) => !row.cells[3].text.startsWith("suppressed"));
    return drawn.map((row) => `${row.cells[1].text}: ${line(row, 3)}${row.cells[2].text === "–" ? "" : `, ${row.cells[2].text}`}.`).join(" ");
  }
  if (name.startsWith("trend-")) {
    const rows = page.tables.find((one) => one.box === box && one.region === `${title} by month`)?.rows ?? [];
    return rows.map((row) => {
      const [year, month] = row.cells[0].text.split("-");
      return `${MONTHS[Number(month) - 1]} ${year}: ${line(row, 1)}`;
    }).join("; ");
  }
  return null;
}

// Elsewhere each figure of the description must stand in a table below the same heading.
function figures(holding, picture, where) {
  const beside = holding.page.tables.filter((table) => table.section === picture.section
    && (picture.name === "funnel" ? table.region.startsWith("airports, ") : table.box === picture.box && table.title === picture.title));
  const there = new Set(beside.flatMap((table) => table.rows.flatMap((row) => row.cells.flatMap((cell) => cell.text.match(FIGURE) ?? []))));
  const said = picture.desc.match(FIGURE) ?? [];
  if (said.length === 0) holding.tell(where, "its description has no figure");
  const lost = said.filter((figure) => !there.has(figure));
  if (lost.length > 0) holding.tell(where, `it says ${lost.slice(0, 5).join(", ")}, which no table beside it has`);
}
