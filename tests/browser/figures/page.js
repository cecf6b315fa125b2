// What a page shows, read off its elements: tables, pictures, sentences, and where each of them stands.
import { realpathSync, statSync } from "node:fs";
import { withPage } from "../lib/browser.js";

// A page is read once, however often it is looked into.
const seen = new Map();

export function read(browser, file) {
  const real = realpathSync(file);
  const key = `${real} ${statSync(real).mtimeMs}`;
  // As one text: many small pieces would take far longer to hand over.
  const look = async (page) => JSON.parse(await page.evaluate(looked));
  if (!seen.has(key)) seen.set(key, withPage(browser, real, {}, look));
  return seen.get(key);
}

function looked() {
  const one = (text) => text.replace(/\s+/g, " ").trim();
  // A break within a cell parts two figures: it must not glue them together. Small pictures have no figures.
  const text = (node) => {
    const walk = (at) => {
      if (at.nodeType === Node.TEXT_NODE) return at.data.replace(/\s+/g, " ");
      if (at.localName === "br") return "\n";
      return at.localName === "svg" ? "" : [...at.childNodes].map(walk).join("");
    };
    return walk(node).split("\n").map(one).join("\n").trim();
  };
  const links = (node) => [...node.querySelectorAll("a[href^='#']")].map((a) => a.getAttribute("href").slice(1));
  const titled = (box) => one(box.querySelector(":scope > h3, :scope > h4, :scope > summary")?.textContent ?? "");

  // Everything stands in a box of its own, or else below the last heading before it: one walk finds them all.
  const below = new Map();
  let last;
  for (const node of document.querySelectorAll("main h2, main h3, table, svg[aria-labelledby], main p")) {
    if (/^h[23]$/.test(node.localName)) last = node.closest("article") ? last : node;
    else below.set(node, last);
  }
  const place = (node) => {
    const [own, heading] = [node.closest("article, details.item"), below.get(node)];
    return {
      box: own ? own.id : heading?.id ?? "",
      title: own ? titled(own) : one(heading?.textContent ?? ""),
      under: heading?.id ?? "",
      section: node.closest("section")?.getAttribute("aria-labelledby") ?? "",
    };
  };

  const spread = (cells) => cells.flatMap((cell) => Array(cell.colSpan).fill(one(cell.textContent)));
  const tables = [...document.querySelectorAll("table")].map((table) => ({
    ...place(table),
    region: one(table.closest("[role=region]")?.getAttribute("aria-label") ?? "").replace(/^Table: /, ""),
    caption: one(table.caption?.textContent ?? ""),
    heads: spread([...(table.tHead?.rows[0]?.cells ?? [])]),
    rows: [...table.tBodies].flatMap((body) => [...body.rows]).map((row) => ({
      id: row.id,
      links: links(row),
      cells: [...row.cells].map((cell) => ({ text: text(cell), span: cell.colSpan })),
    })),
  }));

  const pictures = [...document.querySelectorAll("svg[aria-labelledby]")].map((svg) => ({
    ...place(svg),
    name: svg.getAttribute("aria-labelledby").split("-title")[0],
    desc: one(svg.querySelector(":scope > desc")?.textContent ?? ""),
  }));

  const rules = [...document.querySelectorAll("article.rule")].map((rule) => ({
    anchor: rule.id,
    title: titled(rule),
    id: one(rule.querySelector("code")?.textContent ?? ""),
    trial: /on trial/.test(rule.querySelector(".tag")?.textContent ?? ""),
  }));

  const paragraphs = [...document.querySelectorAll("main p")].map((p) => ({ ...place(p), text: one(p.textContent) }));
  const sentences = [...document.querySelectorAll("ol.sentences > li")].map((li) => ({ text: one(li.textContent), links: links(li) }));
  const answers = [...document.querySelectorAll(".summary dl > div")].map((answer) => ({
    question: one(answer.querySelector("dt").textContent),
    parts: [...answer.querySelector("dd").childNodes].map((node) => ({
      text: node.textContent.replace(/\s+/g, " "),
      to: node.localName === "a" ? node.getAttribute("href").slice(1) : "",
    })),
  }));
  const facts = [...document.querySelectorAll(".facts > div")].map((fact) => ({
    name: one(fact.querySelector("dt").textContent), value: one(fact.querySelector("dd").textContent),
  }));
  const month = one(document.querySelector(".run strong")?.textContent ?? "");
  return JSON.stringify({ tables, pictures, rules, paragraphs, sentences, answers, facts, month });
}
