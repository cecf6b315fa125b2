// On paper nothing can be scrolled or unfolded: what does not fit is lost, and must not be.
import { basename } from "node:path";
import { setDetails, settle, withPage } from "./browser.js";
import { area, lettersOf, MARGIN, read } from "./paper.js";

// Pages that are made for a fixed number of sheets.
const SHEETS = { "brief.html": 2 };

export const print = (browser, file, { format, open }) =>
  withPage(browser, file, {}, async (page) => {
    await setDetails(page, open);
    await page.emulateMedia({ media: "print" });
    const sheet = await area(page, format);
    await page.setViewportSize(sheet);
    await settle(page);
    const faults = await page.evaluate(cut);
    const { heads, folded, text } = await page.evaluate(printed, sheet.height);
    const margin = { left: MARGIN, right: MARGIN, top: MARGIN, bottom: MARGIN };
    const { pages, words } = await read(await page.pdf({ format, margin, printBackground: true }));
    const sheets = SHEETS[basename(file)];
    if (sheets !== undefined && pages !== sheets) faults.push(`${pages} pages on ${format}, where ${sheets} are meant`);
    faults.push(...folded);
    faults.push(...missing(heads, text, words));
    return faults;
  });

// A word of a header cell must stand on paper as often as in the page, and once more for each page
// its table goes on to.
function missing(heads, text, words) {
  const wanted = new Map();
  for (const one of lettersOf(text)) wanted.set(one, (wanted.get(one) ?? 0) + 1);
  for (const { text: head, again } of heads) {
    for (const one of lettersOf(head)) wanted.set(one, (wanted.get(one) ?? 0) + again);
  }
  const ofHeads = new Set(heads.flatMap((one) => lettersOf(one.text)));
  return [...ofHeads]
    .filter((one) => (words.get(one) ?? 0) < wanted.get(one))
    .map((one) => {
      const where = heads.filter(({ text: head }) => lettersOf(head).includes(one)).slice(0, 2);
      return `“${one}”, of a table's header, is on paper ${words.get(one) ?? 0} times, not ${wanted.get(one)}: `
        + where.map(({ text: head }) => `“${head}”`).join(", ");
    });
}

// Runs in the page, laid out at the width of the paper.
function cut() {
  const name = (one) => {
    const table = one.closest("table, svg");
    const what = table?.querySelector("caption, title")?.textContent ?? one.outerHTML;
    const part = one === table ? "" : `${one.textContent.trim().slice(0, 40)}” in “`;
    return `${one.localName} “${part}${what.replace(/\s+/g, " ").trim().slice(0, 70)}”`;
  };
  const faults = [];
  const style = getComputedStyle(document.body);
  const body = document.body.getBoundingClientRect();
  const left = body.left + parseFloat(style.paddingLeft);
  const right = body.right - parseFloat(style.paddingRight);
  for (const one of document.querySelectorAll("table, svg")) {
    const box = one.getBoundingClientRect();
    if (!one.checkVisibility() || box.width === 0) continue;
    if (box.left < left - 1 || box.right > right + 1) {
      const [wide, from, line] = [box.width, box.left - left, right - left].map(Math.round);
      faults.push(`${name(one)} is ${wide} px wide, from ${from}, on a line of ${line} px`);
    }
    for (let up = one.parentElement; up && up !== document.body; up = up.parentElement) {
      if (getComputedStyle(up).overflowX !== "visible" && up.scrollWidth > up.clientWidth + 1) {
        faults.push(`${name(one)} is cut by ${up.outerHTML.slice(0, 80)}`);
      }
    }
  }
  // Text that runs out of its cell lies over the next one, or over the edge.
  for (const cell of document.querySelectorAll("th, td")) {
    if (cell.checkVisibility() && cell.scrollWidth > cell.clientWidth + 1) faults.push(`${name(cell)} runs out of its cell`);
  }
  return faults;
}

// Runs in the page: the header cells that will be printed, and all text that will be.
function printed(height) {
  const heads = [];
  const folded = [];
  for (const table of document.querySelectorAll("table")) {
    if (!table.checkVisibility() || table.getClientRects().length === 0) continue;
    const again = Math.floor((table.getBoundingClientRect().height * 0.95) / height);
    const caption = table.caption?.textContent.trim().slice(0, 70);
    const head = table.tHead;
    if (!head) {
      if (again > 0) folded.push(`table “${caption}” goes over pages and has no thead`);
      continue;
    }
    if (getComputedStyle(head).display !== "table-header-group") {
      folded.push(`the header of table “${caption}” is not repeated: display is ${getComputedStyle(head).display}`);
    }
    for (const cell of head.querySelectorAll("th")) {
      if (cell.getClientRects().length > 0) heads.push({ text: cell.textContent.replace(/\s+/g, " ").trim(), again });
    }
  }
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  const text = [];
  while (walker.nextNode()) {
    const parent = walker.currentNode.parentElement;
    if (!/\S/.test(walker.currentNode.data) || !parent.checkVisibility()) continue;
    if (parent.closest("title, desc, style, script")) continue;
    range.selectNodeContents(walker.currentNode);
    if (range.getClientRects().length > 0) text.push(walker.currentNode.data);
  }
  return { heads, folded, text: text.join(" ") };
}
