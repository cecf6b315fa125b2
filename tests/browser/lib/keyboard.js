// The Tab key alone: it reaches all that can be worked, in the order of the page, and shows where it is.
import { setDetails, settle, withPage } from "./browser.js";

// So much time is given to one walk: some thousand stops. Of a page with more, the first are walked.
const BUDGET = 120_000;

export const keyboard = (browser, file, { viewport, open }, told = () => {}) =>
  withPage(browser, file, { viewport }, async (page) => {
    await setDetails(page, open);
    await settle(page);
    const { stops: expected, faults } = await page.evaluate(prepare);
    const met = new Set();
    let last = -1;
    let ended = true;
    const end = Date.now() + BUDGET;
    for (let presses = 0; presses < expected.length + 200; presses += 1) {
      if (Date.now() > end) {
        ended = false;
        break;
      }
      await page.keyboard.press("Tab");
      let stop = await page.evaluate(look);
      // A page may scroll softly: it is given a second to bring the stop into view.
      for (let tries = 0; stop && !stop.inView && tries < 10; tries += 1) {
        await page.waitForTimeout(100);
        stop = await page.evaluate(look);
      }
      if (!stop || met.has(stop.at)) break;
      met.add(stop.at);
      if (stop.at < last) faults.push(`focus goes back: ${stop.name}`);
      last = stop.at;
      if (!stop.visible) faults.push(`focus is not to be seen on: ${stop.name}`);
      if (!stop.inView) faults.push(`focus is out of the window on: ${stop.name}`);
    }
    for (const { at, name } of expected) {
      if (!met.has(at) && (ended || at < last)) faults.push(`Tab does not reach: ${name}`);
    }
    told(`${met.size} stops of ${expected.length}`);
    return faults;
  });

// Runs in the page: numbers all elements, remembers how the stops look without focus.
function prepare() {
  const all = [...document.querySelectorAll("*")];
  const style = (one) => {
    const { outlineStyle, outlineWidth, outlineColor, boxShadow } = getComputedStyle(one);
    const drawn = outlineStyle !== "none" && parseFloat(outlineWidth) > 0;
    return { outline: drawn ? `${outlineStyle} ${outlineWidth} ${outlineColor}` : "none", shadow: boxShadow };
  };
  const name = (one) => one.outerHTML.replace(/\s+/g, " ").slice(0, 120);
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length > 0;
  // The root scrolls too, by other keys: it is no stop.
  const scrolls = (one) => {
    if (one === document.documentElement || one === document.body) return false;
    const { overflowX, overflowY } = getComputedStyle(one);
    return (/auto|scroll/.test(overflowX) && one.scrollWidth > one.clientWidth + 1)
      || (/auto|scroll/.test(overflowY) && one.scrollHeight > one.clientHeight + 1);
  };
  const works = "a[href], summary, button, input:not([type=radio]:not(:checked)), select, textarea, [tabindex]";
  // This browser stops at every region that scrolls and holds no other stop; not all do.
  const regions = all.filter((one) => shown(one) && scrolls(one) && !one.querySelector("a[href], button, [tabindex]"));
  const stops = all.filter((one) =>
    (one.matches(works) && one.tabIndex >= 0 && !one.disabled && shown(one)) || regions.includes(one));
  window.numbers = new Map(all.map((one, at) => [one, at]));
  window.plain = new Map(all.filter((one) => one.tabIndex >= 0 || stops.includes(one)).map((one) => [one, style(one)]));
  window.styleOf = style;
  window.nameOf = name;
  scrollTo(0, 0);
  return {
    stops: stops.map((one) => ({ at: window.numbers.get(one), name: name(one) })),
    faults: regions.filter((one) => !one.hasAttribute("tabindex"))
      .map((one) => `a region that scrolls has no tabindex: ${name(one)}`),
  };
}

// Runs in the page: where focus is, and whether a reader would know.
function look() {
  const one = document.activeElement;
  if (!one || one === document.body || one === document.documentElement) return null;
  const now = window.styleOf(one);
  const before = window.plain.get(one) ?? { outline: "none", shadow: "none" };
  const box = one.getBoundingClientRect();
  return {
    at: window.numbers.get(one),
    name: window.nameOf(one),
    visible: ["outline", "shadow"].some((by) => now[by] !== "none" && now[by] !== before[by]),
    inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
  };
}
