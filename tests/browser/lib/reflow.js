// At 320 CSS pixels (a page zoomed fourfold) the page itself scrolls in one direction only.
// Regions inside may scroll: tables and pictures need their width.
import { setDetails, settle, WIDTHS, withPage } from "./browser.js";

export const reflow = (browser, file) =>
  withPage(browser, file, { viewport: WIDTHS.reflow }, async (page) => {
    const faults = [];
    for (const open of [false, true]) {
      await setDetails(page, open);
      await settle(page);
      const found = await page.evaluate(tooWide);
      faults.push(...found.map((one) => `details ${open ? "open" : "closed"}: ${one}`));
    }
    return faults;
  });

function tooWide() {
  const root = document.documentElement;
  // Also what a hidden overflow of the page would merely cut off.
  const width = Math.max(root.scrollWidth, document.body.scrollWidth);
  const beyond = [...document.body.querySelectorAll("*")].filter((one) => {
    if (!one.checkVisibility() || one.getBoundingClientRect().right + scrollX <= root.clientWidth + 1) return false;
    for (let up = one.parentElement; up && up !== document.body; up = up.parentElement) {
      if (getComputedStyle(up).overflowX !== "visible") return false;
    }
    return true;
  });
  if (width <= root.clientWidth + 1 && beyond.length === 0) return [];
  // The innermost name what is really too wide.
  const inner = beyond.filter((one) => !beyond.some((other) => other !== one && one.contains(other)));
  return [
    `the page is ${width} px wide in a window of ${root.clientWidth} px`,
    ...inner.slice(0, 8).map((one) => `  beyond the edge: ${one.outerHTML.replace(/\s+/g, " ").slice(0, 140)}`),
  ];
}
