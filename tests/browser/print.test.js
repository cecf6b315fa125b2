// Every page that is found, on both formats of paper, with details closed and open.
import { after, before, test } from "node:test";
import { none } from "./lib/assert.js";
import { launch } from "./lib/browser.js";
import { named, pages } from "./lib/found.js";
import { FORMATS } from "./lib/paper.js";
import { print } from "./lib/print.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

for (const file of pages()) {
  test(`print: ${named(file)}`, async (t) => {
    for (const format of Object.keys(FORMATS)) {
      for (const open of [false, true]) {
        await t.test(`${format}, details ${open ? "open" : "closed"}`, async () =>
          none(await print(browser, file, { format, open })));
      }
    }
  });
}
