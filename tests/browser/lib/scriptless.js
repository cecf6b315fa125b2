// With scripts switched off nothing may be missing.
import { setDetails, withPage } from "./browser.js";

const WHAT = ["section", "article", "h2", "h3", "table", "tbody tr", "svg", "figure", "details"];

const counted = (browser, file, javaScriptEnabled) =>
  withPage(browser, file, { javaScriptEnabled }, async (page) => {
    await setDetails(page, true);
    return page.evaluate((what) =>
      Object.fromEntries(what.map((name) => {
        const all = [...document.querySelectorAll(name)];
        const seen = all.filter((one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true })
          && one.getBoundingClientRect().height > 0);
        return [name, { all: all.length, seen: seen.length }];
      })), WHAT);
  });

export async function scriptless(browser, file) {
  const [on, off] = [await counted(browser, file, true), await counted(browser, file, false)];
  const faults = [];
  for (const name of WHAT) {
    // What is for paper only is seen in neither; what a script makes or uncovers is missing here.
    for (const kind of ["all", "seen"]) {
      if (off[name][kind] < on[name][kind]) {
        faults.push(`${name}: ${off[name][kind]} ${kind} without scripts, ${on[name][kind]} with them`);
      }
    }
    if (off[name].all > 0 && off[name].seen === 0) faults.push(`${name}: none of ${off[name].all} is seen`);
  }
  return faults;
}
