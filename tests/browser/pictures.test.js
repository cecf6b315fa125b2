// Every picture that is handed on as a file of its own. There may be none.
import { after, before, test } from "node:test";
import { none } from "./lib/assert.js";
import { launch } from "./lib/browser.js";
import { named, pictures } from "./lib/found.js";
import { standalone } from "./lib/standalone.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

test("pictures as files", async (t) => {
  t.diagnostic(`${pictures().length} found`);
  for (const file of pictures()) {
    await t.test(named(file), async () => none(await standalone(browser, file)));
  }
});
