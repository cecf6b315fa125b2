// Every page that is found, held against every check that needs no paper.
import { after, before, test } from "node:test";
import { none } from "./lib/assert.js";
import { launch, WIDTHS } from "./lib/browser.js";
import { named, pages } from "./lib/found.js";
import { drawn } from "./lib/drawn.js";
import { jumps } from "./lib/jumps.js";
import { keyboard } from "./lib/keyboard.js";
import { policy } from "./lib/policy.js";
import { reflow } from "./lib/reflow.js";
import { requests } from "./lib/requests.js";
import { scriptless } from "./lib/scriptless.js";
import { targets } from "./lib/targets.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

for (const file of pages()) {
  test(named(file), async (t) => {
    await t.test("no request leaves, nothing is complained of", async () => none(await requests(browser, file)));
    await t.test("its policy lets nothing be loaded", async () => none(await policy(browser, file)));
    await t.test("it is whole without scripts", async () => none(await scriptless(browser, file)));
    await t.test("every link has a target", async () => none(await targets(browser, file)));
    await t.test("every link within it arrives", async (t) =>
      none(await jumps(browser, file, (line) => t.diagnostic(line))));
    await t.test("the Tab key, laptop", async (t) =>
      none(await keyboard(browser, file, { viewport: WIDTHS.laptop, open: false }, (line) => t.diagnostic(line))));
    await t.test("the Tab key, phone, details open", async (t) =>
      none(await keyboard(browser, file, { viewport: WIDTHS.phone, open: true }, (line) => t.diagnostic(line))));
    await t.test("at 320 px it scrolls one way only", async () => none(await reflow(browser, file)));
    await t.test("its pictures can be named and read", async () => none(await drawn(browser, file)));
  });
}
