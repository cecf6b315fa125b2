// A figure as the page writes it, held against the number in the table: equal at the precision that is shown.

// Places after the point that a kind of figure may have, what it is multiplied by, and what stands behind it.
// `strict`: what rounds to nothing is not called nothing, nor to a whole a whole.
const KINDS = {
  count: { places: [0], exact: true },
  rate: { places: [1, 2], strict: true },
  share: { places: [1], scale: 100, unit: " %", strict: true },
  chance: { places: [2], open: true },
  error: { places: [3], open: true },
  measure: { places: [0, 1] },
  whole: { places: [0] },
  one: { places: [1] },
  two: { places: [2] },
};

// A number of a table, or none.
export const number = (text) => (text === "" || text === undefined || text === null ? null : Number(text));

// "−1,234.5" in parts; none where it is no figure.
export function parsed(text) {
  const parts = /^([<>]?)([+\-−]?)(\d{1,3}(?:,\d{3})*)(?:\.(\d+))?( %)?$/.exec(text);
  if (!parts) return null;
  const [, bound, sign, digits, after = "", unit = ""] = parts;
  const size = Number(`${digits.replaceAll(",", "")}.${after || 0}`);
  return { bound, value: sign === "-" || sign === "−" ? -size : size, places: after.length, unit };
}

// Why a text is not that number; nothing where it is.
export function unlike(text, value, kind) {
  const how = KINDS[kind];
  const shown = parsed(text);
  if (!shown) return "it is no figure";
  if (!how.places.includes(shown.places)) return `it has ${shown.places} places`;
  if (shown.unit !== (how.unit ?? "")) return "its unit is another";
  const scale = how.scale ?? 1;
  const meant = value * scale;
  const half = 0.5 * 10 ** -shown.places;
  const slack = 1e-9 * Math.max(Math.abs(meant), Math.abs(shown.value)) + 1e-12;
  if (shown.bound === "<") return meant < shown.value - half + slack && (meant > 0 || how.open) ? "" : "it is not below that";
  if (shown.bound === ">") return meant > shown.value + half - slack && (meant < scale || how.open) ? "" : "it is not above that";
  if (how.exact) return shown.value === meant ? "" : "it is another";
  if (Math.abs(shown.value - meant) > half + slack) return "it is another";
  if (how.strict && shown.value === 0 && meant !== 0) return "it is not nothing";
  if (how.strict && scale > 1 && shown.value === scale && meant !== scale) return "it is not all";
  return "";
}

// A figure that a cell must show: the number of a column, or words where there is none.
export function figure(kind, row, column, missing) {
  const value = number(row[column]);
  if (value === null && missing !== undefined) return missing;
  return { value, kind, column };
}

// The same of a number that is worked out of several columns.
export const reckoned = (kind, value, column) => ({ value, kind, column });

// What a cell must read: cell`${figure} to ${figure}`. A text among the figures must stand as it is.
export function cell(texts, ...figures) {
  const parts = [];
  texts.forEach((text, at) => {
    parts.push(text);
    if (at < figures.length) parts.push(...(figures[at].parts ?? [figures[at]]));
  });
  return { parts };
}

const plain = (text) => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");

const written = (expected) => (expected.parts ?? [expected])
  .map((part) => (typeof part === "string" ? part : `{${part.column} ${part.value}}`)).join("");

// What is wrong with a cell, in words; nothing where it is right.
export function wrong(text, expected) {
  const parts = expected.parts ?? [expected];
  const pattern = parts.map((part) => (typeof part === "string" ? plain(part) : "(\\S+?(?: %)?)")).join("");
  const found = new RegExp(`^${pattern}$`).exec(text);
  const told = `shown “${text.replaceAll("\n", " / ")}”, expected “${written(expected).replaceAll("\n", " / ")}”`;
  if (!found) return told;
  const figures = parts.filter((part) => typeof part !== "string");
  for (const [at, { value, kind }] of figures.entries()) {
    const why = value === null ? "there is no number in the table" : unlike(found[at + 1], value, kind);
    if (why) return `${told}: “${found[at + 1]}”: ${why}`;
  }
  return "";
}
