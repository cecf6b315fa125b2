// Tools of the print checks: how wide a printed line is, and which words stand on the paper.
import { execFile } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";

const run = promisify(execFile);
const MM = 96 / 25.4;

export const FORMATS = {
  A4: { width: 210 * MM, height: 297 * MM },
  Letter: { width: 8.5 * 96, height: 11 * 96 },
};

// For pages that set no margin of their own, about what a browser's print dialog would use.
export const MARGIN = 10 * MM;

// The area the page is laid out in. A size of paper in the style sheet holds on any paper: the
// browser lays out for that size and shrinks the result.
export async function area(page, format) {
  const { size, margins } = await page.evaluate(() => {
    const found = { size: "", margins: {} };
    const walk = (rules) => {
      for (const rule of rules) {
        if (rule instanceof CSSPageRule && rule.selectorText === "") {
          found.size = rule.style.getPropertyValue("size") || found.size;
          for (const side of ["left", "right", "top", "bottom"]) {
            const value = rule.style.getPropertyValue(`margin-${side}`);
            if (value) found.margins[side] = value;
          }
        } else if (rule.cssRules) walk(rule.cssRules);
      }
    };
    for (const sheet of document.styleSheets) walk(sheet.cssRules);
    return found;
  });
  let paper = FORMATS[/^letter/i.test(size) ? "Letter" : /^a4/i.test(size) ? "A4" : format];
  if (/landscape/i.test(size)) paper = { width: paper.height, height: paper.width };
  const side = (name) => (margins[name] === undefined ? MARGIN : pixels(margins[name]));
  return {
    width: Math.floor(paper.width - side("left") - side("right")),
    height: Math.floor(paper.height - side("top") - side("bottom")),
  };
}

function pixels(length) {
  const [, value, unit] = /^([\d.]+)(mm|cm|in|pt|px)?$/.exec(length) ?? [];
  const factor = { mm: MM, cm: 10 * MM, in: 96, pt: 96 / 72, px: 1 }[unit ?? "px"];
  if (value === undefined) throw new Error(`a margin of paper in a unit these tests do not know: ${length}`);
  return Number(value) * factor;
}

// How many pages the PDF has, and how often each word stands within the edges of its page.
export async function read(pdf) {
  const folder = await mkdtemp(join(tmpdir(), "paper-"));
  try {
    const file = join(folder, "page.pdf");
    await writeFile(file, pdf);
    const { stdout: facts } = await run("pdfinfo", [file]);
    const { stdout: boxes } = await run("pdftotext", ["-bbox", file, "-"], { maxBuffer: 1 << 28 });
    return { pages: Number(/^Pages:\s+(\d+)/m.exec(facts)[1]), words: within(boxes) };
  } finally {
    await rm(folder, { recursive: true });
  }
}

function within(boxes) {
  const words = new Map();
  let width = 0;
  let height = 0;
  for (const line of boxes.split("\n")) {
    const paper = /<page width="([\d.]+)" height="([\d.]+)"/.exec(line);
    if (paper) [width, height] = [Number(paper[1]), Number(paper[2])];
    const word = /<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)<\/word>/.exec(line);
    if (!word) continue;
    const [left, top, right, bottom] = word.slice(1, 5).map(Number);
    if (left < -0.5 || top < -0.5 || right > width + 0.5 || bottom > height + 0.5) continue;
    for (const one of lettersOf(word[5])) words.set(one, (words.get(one) ?? 0) + 1);
  }
  return words;
}

// Runs of letters, as they can be told apart both in a page and on paper.
export const lettersOf = (text) => text.normalize("NFKC").toLowerCase().match(/\p{L}{2,}/gu) ?? [];
