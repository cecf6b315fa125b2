// What the report shows is what its tables hold: every figure, every reason, every row, both ways.
import { after, before, test } from "node:test";
import { figures, hasTables } from "./figures/check.js";
import { none } from "./lib/assert.js";
import { launch } from "./lib/browser.js";
import { folders } from "./lib/found.js";

const [folder] = folders();

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

const skip = hasTables(folder) ? false : "there is no tables/ beside the report: its figures are held against nothing";

test("figures on the page and in the tables", { skip }, async (t) => {
  const parts = await figures(browser, folder, (line) => t.diagnostic(line));
  for (const [name, faults] of Object.entries(parts)) await t.test(name, () => none(faults));
});
