// The pictures within a page, in what the access checker does not look at: a name for each, text
// that stays within its frame, and text that stands out from its ground.
import { settle, WIDTHS, withPage } from "./browser.js";

const RATIO = 4.5;

export async function drawn(browser, file) {
  const faults = new Set();
  for (const colorScheme of ["light", "dark"]) {
    const options = { colorScheme, viewport: WIDTHS.laptop };
    const found = await withPage(browser, file, options, async (page) => {
      await settle(page);
      return page.evaluate(looked, RATIO);
    });
    for (const one of found) faults.add(one);
  }
  return [...faults];
}

function looked(least) {
  const faults = [];
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const parts = (colour) => colour.match(/[\d.]+/g)?.map(Number) ?? [];
  // What is drawn below a text within the picture is not looked at: it may have a halo of its own.
  const ground = (one) => {
    for (let up = one; up; up = up.parentElement) {
      const colour = parts(getComputedStyle(up).backgroundColor);
      if (colour.length === 3 || colour[3] > 0) return colour.slice(0, 3);
    }
    return [255, 255, 255];
  };
  for (const svg of document.querySelectorAll("svg")) {
    if (!svg.checkVisibility() || svg.closest("[aria-hidden=true]")) continue;
    const label = svg.getAttribute("aria-label")
      ?? svg.getAttribute("aria-labelledby")?.split(/\s+/).map((id) => document.getElementById(id)?.textContent).join(" ")
      ?? svg.querySelector(":scope > title")?.textContent ?? "";
    const name = `picture “${label.trim().slice(0, 60)}”`;
    if (!/^(img|group|graphics-document)/.test(svg.getAttribute("role") ?? "")) {
      faults.push(`${name} has no role that says it is a picture`);
    }
    if (!label.trim()) faults.push(`a picture has no name: ${svg.outerHTML.slice(0, 120)}`);
    const frame = svg.getBoundingClientRect();
    for (const text of svg.querySelectorAll("text")) {
      if (!text.textContent.trim() || !text.checkVisibility()) continue;
      const words = `${name}: “${text.textContent.trim().slice(0, 50)}”`;
      const box = text.getBoundingClientRect();
      const across = box.left < frame.left - 1 || box.right > frame.right + 1;
      if (across || box.top < frame.top - 1 || box.bottom > frame.bottom + 1) faults.push(`${words} leaves the frame`);
      const [a, b] = [light(parts(getComputedStyle(text).fill)), light(ground(svg))].sort((x, y) => y - x);
      const ratio = (a + 0.05) / (b + 0.05);
      if (ratio < least) faults.push(`${words} stands out ${ratio.toFixed(2)} to 1 only`);
    }
  }
  return faults;
}
