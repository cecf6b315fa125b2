// Every page that is found, with axe-core.
import { after, before, test } from "node:test";
import { access, viewName, viewsOf } from "./lib/access.js";
import { none } from "./lib/assert.js";
import { launch } from "./lib/browser.js";
import { named, pages } from "./lib/found.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

for (const file of pages()) {
  test(`access: ${named(file)}`, async (t) => {
    for (const view of viewsOf(file)) {
      await t.test(viewName(view), async () => none(await access(browser, file, view)));
    }
  });
}
