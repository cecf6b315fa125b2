// A picture that is handed on by itself must stand by itself: in a slide, in a message, in print.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { createRequire } from "node:module";

const AXE = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

const UNREADABLE = "it cannot be read";

export async function standalone(browser, file) {
  const text = readFileSync(file, "utf8");
  const context = await browser.newContext({ offline: true });
  const faults = [];
  try {
    const page = await context.newPage();
    faults.push(...(await page.evaluate(parsed, [text, UNREADABLE])));
    // What cannot be read can be looked at no further.
    if (faults.some((one) => one.startsWith(UNREADABLE))) return faults;
    // As it is opened from the folder.
    const own = pathToFileURL(file).href;
    page.on("request", (one) => {
      if (one.url() !== own) faults.push(`a request leaves: ${one.url()}`);
    });
    page.on("console", (one) => {
      if (["error", "warning"].includes(one.type())) faults.push(`console: ${one.text()}`);
    });
    await page.goto(own);
    faults.push(...(await page.evaluate(sized)));
    // As it stands in a page.
    await page.goto("about:blank");
    const drawing = text.replace(/^[^]*?(?=<svg)/, "");
    await page.setContent(`<!DOCTYPE html><html lang="en"><title>One picture</title><main>${drawing}</main>`);
    await page.addScriptTag({ path: AXE });
    const { violations } = await page.evaluate(() =>
      axe.run(document, { runOnly: { type: "rule", values: ["svg-img-alt"] } }));
    for (const one of violations) faults.push(`${one.id}: ${one.help}`);
    const role = await page.evaluate(() => document.querySelector("svg").getAttribute("role"));
    if (role !== "img") faults.push(`its role is ${role}, not img: it is read out as loose words`);
  } finally {
    await context.close();
  }
  return faults;
}

function parsed([text, unreadable]) {
  const faults = [];
  const file = new DOMParser().parseFromString(text, "image/svg+xml");
  const broken = file.querySelector("parsererror");
  if (broken) return [`${unreadable}: ${broken.textContent.slice(0, 200)}`];
  if (file.documentElement.localName !== "svg") return [`${unreadable}: its root is ${file.documentElement.localName}`];
  if (file.doctype) faults.push("it has a document type, which may name files outside");
  for (const name of ["title", "desc"]) {
    if (!file.querySelector(`svg > ${name}`)?.textContent.trim()) faults.push(`it has no ${name}`);
  }
  const outside = (value) => !/^(#|data:)/.test(value.trim());
  const urls = (style) => [...style.matchAll(/url\(\s*['"]?([^'")]*)/g)].map((at) => at[1]).filter(outside);
  for (const one of file.querySelectorAll("*")) {
    if (["script", "foreignObject", "iframe"].includes(one.localName)) faults.push(`it holds a ${one.localName}`);
    for (const { localName, name, value } of one.attributes) {
      if (["href", "src"].includes(localName) && outside(value)) faults.push(`it refers outside: ${name}="${value}"`);
      if (/^on/.test(localName)) faults.push(`it would run a script: ${name}`);
      for (const url of urls(value)) faults.push(`it refers outside: ${name} has url(${url})`);
    }
    if (one.localName === "style") {
      for (const url of urls(one.textContent)) faults.push(`it refers outside: its style has url(${url})`);
      if (/@import/.test(one.textContent)) faults.push("its style imports another");
    }
  }
  for (const one of file.childNodes) {
    if (one.nodeType === Node.PROCESSING_INSTRUCTION_NODE) faults.push(`it asks for ${one.target}`);
  }
  return faults;
}

function sized() {
  const root = document.documentElement;
  const frame = root.getBoundingClientRect();
  const shapes = [...root.querySelectorAll("path, rect, circle, line, polyline, polygon, text, use")];
  const seen = shapes.filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width + box.height > 0 && box.right > frame.left && box.left < frame.right;
  });
  if (frame.width < 1 || frame.height < 1) return [`it is drawn ${frame.width} by ${frame.height} px large`];
  return seen.length === 0 ? ["nothing is drawn in it"] : [];
}
