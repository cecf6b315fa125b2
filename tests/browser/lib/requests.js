// Nothing leaves the page and nothing is complained of: read, opened, scrolled to its end, printed.
import { pathToFileURL } from "node:url";
import { setDetails, settle, withPage } from "./browser.js";

export async function requests(browser, file) {
  const own = pathToFileURL(file).href;
  const faults = [];
  const listen = (page) => {
    page.on("request", (one) => {
      if (one.url().split("#")[0] !== own) faults.push(`a request leaves: ${one.method()} ${one.url()}`);
    });
    page.on("websocket", (one) => faults.push(`a connection leaves: ${one.url()}`));
    page.on("console", (one) => {
      if (["error", "warning"].includes(one.type())) faults.push(`console ${one.type()}: ${one.text()}`);
    });
    page.on("pageerror", (error) => faults.push(`page error: ${error.message}`));
    page.on("popup", (one) => faults.push(`a window opens: ${one.url()}`));
  };
  await withPage(browser, file, {}, async (page) => {
    await setDetails(page, true);
    // Whatever waits to be scrolled to has been scrolled to.
    await page.evaluate(() => window.scrollTo(0, document.documentElement.scrollHeight));
    await settle(page);
    await page.emulateMedia({ media: "print" });
    await page.pdf({ format: "A4" });
    await page.emulateMedia({ media: "screen", colorScheme: "dark" });
    await settle(page);
    // Requests and messages reach us a moment after their cause.
    await page.waitForTimeout(300);
    faults.push(...(await page.evaluate(hints)));
  }, listen);
  return [...new Set(faults)];
}

// What would make the browser connect without a request that can be listened to.
function hints() {
  const kinds = /^(preconnect|dns-prefetch|prefetch|prerender|preload|modulepreload)$/i;
  const found = [];
  for (const one of document.querySelectorAll("link[rel]")) {
    for (const kind of one.relList) if (kinds.test(kind)) found.push(`a link asks to ${kind}: ${one.href}`);
  }
  for (const one of document.querySelectorAll("a[ping], form[action], meta[http-equiv=refresh i]")) {
    found.push(`an element that would send or leave: ${one.outerHTML.slice(0, 160)}`);
  }
  return found;
}
