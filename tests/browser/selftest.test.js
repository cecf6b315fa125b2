// Each check finds what it is there for: a sound page passes all of them, and each way to break it
// is found by the check that is meant to, and told.
import assert from "node:assert/strict";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { access } from "./lib/access.js";
import { none } from "./lib/assert.js";
import { launch, WIDTHS } from "./lib/browser.js";
import { drawn } from "./lib/drawn.js";
import { jumps } from "./lib/jumps.js";
import { keyboard } from "./lib/keyboard.js";
import { policy } from "./lib/policy.js";
import { print } from "./lib/print.js";
import { reflow } from "./lib/reflow.js";
import { requests } from "./lib/requests.js";
import { scriptless } from "./lib/scriptless.js";
import { standalone } from "./lib/standalone.js";
import { targets } from "./lib/targets.js";
import { BROKEN, BROKEN_PICTURES } from "./selftest/broken.js";
import { PAGE, PICTURE } from "./selftest/sound.js";

const view = (colorScheme, width, open) => (browser, file) => access(browser, file, { colorScheme, width, open });
const CHECKS = {
  requests, policy, scriptless, targets, jumps, reflow, drawn,
  keyboard: (browser, file) => keyboard(browser, file, { viewport: WIDTHS.laptop, open: false }),
  access: view("light", "laptop", false),
  accessDark: view("dark", "laptop", false),
  accessOpen: view("light", "laptop", true),
  accessNarrow: view("light", "narrow", false),
  print: (browser, file) => print(browser, file, { format: "A4", open: false }),
};

let browser;
let folder;
before(async () => {
  browser = await launch();
  folder = await mkdtemp(join(tmpdir(), "selftest-"));
  await writeFile(join(folder, "figures.csv"), "a,b\n");
});
after(async () => {
  await browser.close();
  await rm(folder, { recursive: true });
});

async function written(name, text, change = []) {
  let broken = text;
  for (const [from, to] of change) {
    const next = broken.replace(from, () => to);
    assert.notEqual(next, broken, `${from} is not in the sound page: nothing would be broken`);
    broken = next;
  }
  const file = join(folder, name);
  await writeFile(file, broken);
  return file;
}

test("a sound page has no fault", async (t) => {
  for (const [name, check] of Object.entries(CHECKS)) {
    await t.test(name, async () => none(await check(browser, await written("sound.html", PAGE))));
  }
});

for (const format of ["A4", "Letter"]) {
  test(`two sheets are two sheets, ${format}`, async () =>
    none(await print(browser, await written("brief.html", PAGE), { format, open: true })));
}

for (const { what, check, as = "broken.html", change, told } of BROKEN) {
  test(`${check} finds ${what}`, async () => {
    const faults = await CHECKS[check](browser, await written(as, PAGE, change));
    assert.ok(faults.some((one) => one.includes(told)), `“${told}” is not among: ${JSON.stringify(faults)}`);
  });
}

test("a sound picture has no fault", async () => none(await standalone(browser, await written("sound.svg", PICTURE))));

for (const { what, change, told } of BROKEN_PICTURES) {
  test(`a picture: ${what}`, async () => {
    const faults = await standalone(browser, await written("broken.svg", PICTURE, change));
    assert.ok(faults.some((one) => one.includes(told)), `“${told}” is not among: ${JSON.stringify(faults)}`);
  });
}
