// One way to start the browser and to open a page, for all checks.
import { chromium } from "playwright-core";
import { pathToFileURL } from "node:url";

export const WIDTHS = {
  phone: { width: 390, height: 844 },
  narrow: { width: 375, height: 812 },
  laptop: { width: 1366, height: 768 },
  projector: { width: 1920, height: 1080 },
  reflow: { width: 320, height: 800 },
};

// A fresh profile is made, and removed, by each launch.
export const launch = () =>
  chromium.launch({
    // A machine that builds at the same time is slow to start anything.
    timeout: 120_000,
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: [
      "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ],
  });

// Opens a file, gives the page to `work` and closes it whatever happens. The context is offline:
// a request that a page makes is seen, but leaves no machine. `before` may listen from the start.
export async function withPage(browser, file, options, work, before = () => {}) {
  const context = await browser.newContext({
    viewport: WIDTHS.laptop, reducedMotion: "reduce", offline: true, ...options,
  });
  try {
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    await before(page);
    await page.goto(pathToFileURL(file).href, { waitUntil: "load" });
    return await work(page);
  } finally {
    await context.close();
  }
}

export const setDetails = (page, open) =>
  page.evaluate((open) => {
    for (const one of document.querySelectorAll("details")) one.open = open;
  }, open);

// Two frames: what was changed has been laid out and painted.
export const settle = (page) =>
  page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
