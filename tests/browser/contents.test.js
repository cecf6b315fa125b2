// What the browser made of the report still holds every rule and its pictures.
import assert from "node:assert/strict";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { launch, withPage } from "./lib/browser.js";
import { folders, pages } from "./lib/found.js";

const LEAST_PICTURES = 3;
const report = join(folders()[0], "report.html");
const rules = process.env.RULES_FOLDER;

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

test("the report is among the pages found", () => assert.ok(pages().includes(report)));

test("the report has pictures", async (t) => {
  const count = await withPage(browser, report, {}, (page) => page.locator("svg").count());
  t.diagnostic(`${count} pictures`);
  assert.ok(count >= LEAST_PICTURES, `${count} pictures, at least ${LEAST_PICTURES} are meant`);
});

// A review by rules of one's own has other rules on its page: the folder is given where it is known.
if (rules) {
  test("every rule is on the report", async () => {
    const ids = readdirSync(rules)
      .filter((name) => name.endsWith(".toml") && !name.endsWith(".test.toml"))
      .map((name) => name.slice(0, -".toml".length));
    assert.ok(ids.length > 0, `no rule in ${rules}`);
    const words = await withPage(browser, report, {}, (page) =>
      page.evaluate(() => document.body.textContent.match(/[a-z0-9_-]+/gi)));
    const on = new Set(words);
    assert.deepEqual(ids.filter((id) => !on.has(id)), [], "these rules are not on the page");
  });
}
