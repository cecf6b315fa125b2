// The brief is a part of the report: what it shows must be there too.
import { existsSync } from "node:fs";
import { join } from "node:path";
import { read } from "./page.js";

const texts = (row) => row.cells.map((cell) => cell.text);

export const brief = async (browser, folder) => {
  const file = join(folder, "brief.html");
  return existsSync(file) ? read(browser, file) : null;
};

export function held(holding, short) {
  if (!short) return;
  const find = (page, region) => page.tables.find((one) => one.region === region);
  same(holding, "topics", find(short, "topics"), find(holding.page, "topics for training"), (row) => {
    const [rank, topic, ...rest] = texts(row);
    const last = rest.slice(-3);
    if (rest.length < 7) return [rank, topic, rest.length === 4 ? rest[0] : rest[1], "–", ...last];
    return [rank, topic, `${rest[2]} (${rest[3]})`, `${rest[1]} of ${rest[0]}`, ...last];
  });
  same(holding, "airports to look at", find(short, "airports to look at"), find(holding.page, "airports to look at"), (row) => {
    const [airport, name, , rule, , , rate, interval, , ratio] = texts(row);
    return [airport, name, rule, `${rate} (${interval})`, ratio];
  });
  for (const sentence of short.sentences) {
    if (!holding.page.sentences.some((one) => one.text.startsWith(sentence.text))) holding.tell("brief, sentences", `“${sentence.text}” is not in the report`);
  }
  went(holding, short, find);
}

// The brief has the first rows of the report's table, in its order.
function same(holding, region, shown, whole, form) {
  if (!shown || !whole) {
    if (shown) holding.tell(`brief, table “${region}”`, "the report has no such table");
    return;
  }
  shown.rows.forEach((row, at) => {
    const [is, meant] = [texts(row), whole.rows[at] ? form(whole.rows[at]) : []];
    const column = is.findIndex((text, index) => text !== meant[index]);
    if (column >= 0) {
      holding.tell(`brief, table “${region}”, row “${row.cells[0].text} ${row.cells[1].text}”, column “${shown.heads[column]}”`,
        `shown “${is[column]}”, expected “${meant[column] ?? "nothing"}”`);
    }
  });
}

function went(holding, short, find) {
  const row = find(holding.page, "what followed a verdict at the governing gate")?.rows[0];
  const said = short.paragraphs.find((one) => one.text.startsWith("Unstable at the gate"));
  if (!said || !row) return;
  const [, , approaches, landed, , whole, part, share] = texts(row);
  const meant = `Unstable at the gate: ${approaches} approaches, of which ${landed} landed. `
    + `Of those that landed or went around, ${share}, ${part} of ${whole} went around.`;
  if (said.text !== meant) holding.tell("brief, “Unstable at the gate”", `shown “${said.text}”, expected “${meant}”`);
}
