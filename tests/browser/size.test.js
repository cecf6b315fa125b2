// How heavy a page is: told, not judged. The one bound is so wide that only a page nobody could
// use goes beyond it.
import assert from "node:assert/strict";
import { statSync } from "node:fs";
import { after, before, test } from "node:test";
import { launch, setDetails, settle, withPage } from "./lib/browser.js";
import { named, pages } from "./lib/found.js";

const BOUND_MS = 30_000;

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

for (const file of pages()) {
  test(`size: ${named(file)}`, async (t) => {
    const start = performance.now();
    await withPage(browser, file, {}, async (page) => {
      const loaded = performance.now() - start;
      const opening = performance.now();
      await setDetails(page, true);
      // To ask for the height is to have all of it laid out.
      const { nodes, height } = await page.evaluate(() => ({
        nodes: document.querySelectorAll("*").length,
        height: document.documentElement.getBoundingClientRect().height,
      }));
      await settle(page);
      const opened = performance.now() - opening;
      t.diagnostic(`${statSync(file).size} bytes, ${nodes} elements, ${Math.round(height)} px long; `
        + `${Math.round(loaded)} ms to the load event, ${Math.round(opened)} ms to open and lay out all of it`);
      assert.ok(loaded + opened < BOUND_MS, `${Math.round(loaded + opened)} ms until it could be read`);
    });
  });
}
