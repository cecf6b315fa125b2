// Access for all, as far as a machine can tell: axe-core in both colour schemes, at two widths,
// with everything folded in closed and open.
import { readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { setDetails, settle, WIDTHS, withPage } from "./browser.js";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"];
const SHOWN = 6;

const VIEWS = ["light", "dark"].flatMap((colorScheme) =>
  ["narrow", "laptop"].flatMap((width) =>
    [false, true].map((open) => ({ colorScheme, width, open }))));

// A heavy page repeats what a small one has: it is looked at unfolded, in the two views that differ most.
const HEAVY = 3_000_000;
const FURTHEST = ["light narrow", "dark laptop"];

export const viewsOf = (file) =>
  statSync(file).size <= HEAVY
    ? VIEWS
    : VIEWS.filter(({ colorScheme, width, open }) => open && FURTHEST.includes(`${colorScheme} ${width}`));

export const viewName = ({ colorScheme, width, open }) =>
  `${colorScheme}, ${WIDTHS[width].width} px, details ${open ? "open" : "closed"}`;

// The policy of the page would forbid the checker too: here alone it is set aside.
export const access = (browser, file, { colorScheme, width, open }) =>
  withPage(browser, file, { bypassCSP: true, colorScheme, viewport: WIDTHS[width] }, async (page) => {
    await setDetails(page, open);
    await page.addScriptTag({ content: AXE });
    await settle(page);
    const found = await page.evaluate(
      (values) => axe.run(document, { runOnly: { type: "tag", values }, resultTypes: ["violations"] }), TAGS);
    return found.violations.map(told);
  });

function told(violation) {
  const nodes = violation.nodes.slice(0, SHOWN).map((node) =>
    `    ${node.target.join(" ")}\n      ${node.html.replace(/\s+/g, " ").slice(0, 200)}\n      ` +
    node.failureSummary.replace(/\n\s*/g, " "));
  const more = violation.nodes.length - nodes.length;
  return [
    `${violation.id} (${violation.impact}): ${violation.help}, ${violation.nodes.length} nodes`,
    ...nodes,
    ...(more > 0 ? [`    and ${more} more`] : []),
  ].join("\n");
}
