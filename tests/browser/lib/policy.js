// The page says itself that nothing may be loaded, before anything that could load.
import { withPage } from "./browser.js";

export const policy = (browser, file) =>
  withPage(browser, file, {}, (page) =>
    page.evaluate(() => {
      const meta = document.querySelector("meta[http-equiv='Content-Security-Policy' i]");
      if (!meta) return ["the page has no Content-Security-Policy"];
      const parts = meta.content.split(";").map((part) => part.trim().split(/\s+/));
      const faults = [];
      const fallback = parts.find(([name]) => name.toLowerCase() === "default-src");
      if (!fallback || fallback.slice(1).join(" ") !== "'none'") {
        faults.push(`default-src is not 'none' in: ${meta.content}`);
      }
      // A source with a host, a scheme that goes out or a star would take back what the fallback gives.
      for (const [name, ...sources] of parts) {
        for (const source of sources) {
          if (!/^('.*'|data:|blob:)$/.test(source)) faults.push(`${name} lets ${source} in`);
        }
      }
      if (meta.parentElement !== document.head) faults.push("the policy is not in the head, where alone it counts");
      const loader = document.querySelector("script, style, link, img");
      if (loader && loader.compareDocumentPosition(meta) & Node.DOCUMENT_POSITION_FOLLOWING) {
        faults.push(`the policy comes after ${loader.outerHTML.slice(0, 80)}`);
      }
      return faults;
    }));
