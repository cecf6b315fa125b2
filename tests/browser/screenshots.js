// Pictures of every page as a reader meets it: its top on four screens, and each main section.
import { mkdir } from "node:fs/promises";
import { basename, join } from "node:path";
import { launch, settle, WIDTHS, withPage } from "./lib/browser.js";
import { isSingle, pages } from "./lib/found.js";

const folder = process.env.SCREENSHOT_FOLDER;
const TOPS = [
  { name: "phone", viewport: WIDTHS.phone, colorScheme: "light" },
  { name: "laptop", viewport: WIDTHS.laptop, colorScheme: "light" },
  { name: "projector", viewport: WIDTHS.projector, colorScheme: "light" },
  { name: "laptop-dark", viewport: WIDTHS.laptop, colorScheme: "dark" },
];

const shoot = async (page, name) => {
  await settle(page);
  await page.screenshot({ path: join(folder, `${name}.png`), animations: "disabled" });
};

const browser = await launch();
try {
  await mkdir(folder, { recursive: true });
  for (const file of pages().filter((one) => !isSingle(one))) {
    const page = basename(file, ".html");
    for (const { name, ...options } of TOPS) {
      await withPage(browser, file, options, (shown) => shoot(shown, `${page}-${name}`));
    }
    await withPage(browser, file, { viewport: WIDTHS.laptop, colorScheme: "light" }, async (shown) => {
      // A section is named by its heading's id, or by its own; one within another is part of it.
      const ids = await shown.evaluate(() =>
        [...document.querySelectorAll("section, footer")]
          .filter((one) => !one.parentElement.closest("section"))
          .map((one) => one.querySelector("h2[id]")?.id || one.id)
          .filter(Boolean));
      for (const id of ids) {
        await shown.evaluate((id) => {
          const target = document.getElementById(id);
          for (let up = target; up; up = up.parentElement) if (up.localName === "details") up.open = true;
          target.scrollIntoView({ block: "start", behavior: "instant" });
        }, id);
        await shoot(shown, `${page}-section-${id}`);
      }
    });
  }
} finally {
  await browser.close();
}
console.log(`screenshots: ${folder}`);
