// Each link within the page is clicked, and must end with its target in view: not beside the
// window, not under something that sticks to its edge, not in a closed fold.
import { settle, withPage } from "./browser.js";

const BUDGET = 60_000;

export async function jumps(browser, file, told = () => {}) {
  return withPage(browser, file, {}, async (page) => {
    const count = await page.evaluate(() => {
      window.links = [...document.querySelectorAll("a[href^='#']")].filter((one) => one.getAttribute("href") !== "#");
      // Those of the navigation first, so that they are clicked whatever the time allows.
      window.links.sort((a, b) => (b.closest("nav") ? 1 : 0) - (a.closest("nav") ? 1 : 0));
      return window.links.length;
    });
    const faults = [];
    let clicked = 0;
    let unfolded = 0;
    const end = Date.now() + BUDGET;
    for (const at of evenly(count)) {
      if (clicked >= 20 && Date.now() > end) break;
      const [fault, folds] = await follow(page, at);
      clicked += 1;
      unfolded += folds ? 1 : 0;
      if (fault) faults.push(fault);
    }
    told(`${clicked} of ${count} links clicked; ${unfolded} had to open a fold`);
    return faults;
  });
}

// Every fourth, then those between: where time ends the walk, all parts of the page have been met.
const evenly = (count) =>
  [0, 2, 1, 3].flatMap((first) => Array.from({ length: count }, (_, at) => at).filter((at) => at % 4 === first));

async function follow(page, at) {
  const link = (await page.evaluateHandle(prepare, at)).asElement();
  await settle(page);
  const name = await link.evaluate((one) => `${one.getAttribute("href")} (“${one.textContent.trim().slice(0, 60)}”)`);
  const folds = await page.evaluate(() => Boolean(window.target?.parentElement.closest("details:not([open])")));
  try {
    await link.click({ timeout: 5_000 });
  } catch (error) {
    return [`${name} cannot be clicked: ${error.message.split("\n").slice(0, 3).join(" ")}`, folds];
  }
  // A page may scroll softly: it is given two seconds to arrive.
  let fault = null;
  for (let tries = 0; tries < 20; tries += 1) {
    await settle(page);
    fault = await page.evaluate(arrived);
    if (!fault) return [null, folds];
    await page.waitForTimeout(100);
  }
  return [`${name} ${fault}`, folds];
}

// All folds closed but those the link itself is in; the window as far from the target as may be.
function prepare(at) {
  const link = window.links[at];
  const id = decodeURIComponent(link.getAttribute("href").slice(1));
  window.target = document.getElementById(id);
  for (const fold of document.querySelectorAll("details")) fold.open = fold.contains(link);
  const top = !window.target || window.target.getBoundingClientRect().top + scrollY > innerHeight;
  scrollTo({ top: top ? 0 : document.documentElement.scrollHeight, behavior: "instant" });
  // A link that shows itself only when focus comes to it shows itself now.
  link.focus({ preventScroll: true });
  return link;
}

function arrived() {
  const target = window.target;
  if (!target) return "has no target";
  const fold = target.parentElement.closest("details:not([open])");
  if (fold) return `leaves its target in the closed fold “${fold.querySelector("summary")?.textContent.trim()}”`;
  const box = target.getBoundingClientRect();
  if (box.height === 0 || box.width === 0) return "has a target that is not shown";
  if (box.top < -2 || box.top > innerHeight - 8) {
    return `ends with the target at ${Math.round(box.top)} px of ${innerHeight}`;
  }
  const x = Math.min(Math.max(box.left + 4, 1), innerWidth - 1);
  const hit = document.elementFromPoint(x, Math.max(box.top, 0) + Math.min(4, box.height / 2));
  if (hit && !target.contains(hit) && !hit.contains(target)) {
    return `ends with the target covered by ${hit.outerHTML.slice(0, 80)}`;
  }
  return null;
}
