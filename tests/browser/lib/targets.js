// Every link has something to lead to: a place on its page, or a file that is handed on with it.
import { existsSync, readFileSync, statSync } from "node:fs";
import { dirname, resolve, sep } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { withPage } from "./browser.js";

export async function targets(browser, file) {
  const { links, twice } = await withPage(browser, file, {}, (page) =>
    page.evaluate(() => {
      const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
      return {
        links: [...document.querySelectorAll("[href]")].map((one) => one.getAttribute("href")),
        twice: [...new Set(ids.filter((id, at) => ids.indexOf(id) !== at))],
      };
    }));
  const faults = twice.map((id) => `id "${id}" stands more than once`);
  for (const href of new Set(links)) {
    const fault = wrong(href, file);
    if (fault) faults.push(`href="${href}" ${fault}`);
  }
  return faults;
}

function wrong(href, file) {
  const url = new URL(href, pathToFileURL(file));
  if (url.protocol !== "file:") return `leads out of the report, by ${url.protocol}`;
  const fragment = decodeURIComponent(url.hash.slice(1));
  url.hash = "";
  const target = fileURLToPath(url);
  // What is handed on must be whole by itself; a restricted page may also look into what is handed on.
  const review = resolve(file).split(`${sep}restricted${sep}`);
  const home = review.length > 1 ? review[0] : dirname(review[0]);
  if (!target.startsWith(home + sep)) return "leads out of the folder that is handed on";
  if (!existsSync(target) || !statSync(target).isFile()) return "leads to a file that is not there";
  if (fragment && !hasId(readFileSync(target, "utf8"), fragment)) return "leads to an id that is not there";
  if (href === "#") return "leads nowhere";
  return null;
}

const hasId = (text, id) =>
  [...text.matchAll(/\sid=(?:"([^"]*)"|'([^']*)'|([^\s>"']+))/g)].some((at) => (at[1] ?? at[2] ?? at[3]) === id);
