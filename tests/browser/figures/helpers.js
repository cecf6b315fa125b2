// Put into the browser: ways to change a page, each of which gives the words that must be told of the change.
export function helpers(document) {
  const one = (text) => text.replace(/\s+/g, " ").trim();
  const h = {};
  h.other = (digit) => String((Number(digit) + 3) % 10);
  h.all = (selector, words) => [...document.querySelectorAll(selector)].filter((node) => words.test(node.textContent));
  h.table = (region) => (region ? [...document.querySelectorAll("table")].find((table) => name(table) === region) : undefined);
  const name = (table) => one(table.closest("[role=region]")?.getAttribute("aria-label") ?? "").replace(/^Table: /, "");
  h.first = (words) => [...document.querySelectorAll("table")].map(name).find((region) => words.test(region)) ?? "";
  const rows = (region) => [...(h.table(region)?.tBodies[0].rows ?? [])];
  const head = (row) => row.closest("table").tHead.rows[0];
  const label = (row) => one((row.querySelector("th[scope=row]") ?? row.cells[0]).textContent);

  // The last piece of text below a node that matches, changed.
  h.text = (node, from, to, told) => {
    const walk = node ? document.createTreeWalker(node, NodeFilter.SHOW_TEXT) : null;
    while (walk?.nextNode()) {
      const { data } = walk.currentNode;
      if (from.source !== "$" && !from.test(data)) continue;
      const next = data.replace(from, to);
      if (next === data || one(data) === "") continue;
      walk.currentNode.data = next;
      return told;
    }
    return null;
  };
  const cell = (row, at) => row.cells[at];
  const whole = (row) => row.cells.length === head(row).cells.length && ![...row.cells].some((c) => c.colSpan > 1);

  h.edit = (region, at, from, to, told) => {
    for (const row of rows(region).filter(whole)) {
      if (h.text(cell(row, at), from, to, true)) {
        const now = one([...cell(row, at).childNodes].map((node) => (node.localName === "br" ? " / " : node.textContent)).join(""));
        return told ?? [`table “${region}”, row “${label(row)}`, `, column “${one(head(row).cells[at].textContent)}”`, `shown “${now}”`, "expected “"];
      }
    }
    return null;
  };
  // The last digit of the first figure.
  h.digit = (region, at) => h.edit(region, at, /\d(?=\D*$)/, h.other);
  h.found = (regions, from, to) => {
    for (const table of [...document.querySelectorAll("table")].filter((table) => regions.test(name(table)))) {
      for (const row of [...table.tBodies[0].rows].filter(whole)) {
        for (const [at, own] of [...row.cells].entries()) {
          const text = one(own.textContent);
          if (typeof from === "string" ? text !== from : !from.test(text)) continue;
          own.textContent = typeof to === "string" ? to : to(text);
          return [`table “${name(table)}”, row “${label(row)}”, column “${one(head(row).cells[at].textContent)}”`, `shown “${own.textContent}”`, "expected “"];
        }
      }
    }
    return null;
  };
  const hidden = (regions) => [...document.querySelectorAll("td.unknown")]
    .find((td) => td.textContent.startsWith("suppressed") && regions.test(name(td.closest("table"))));
  const place = (td) => [`table “${name(td.closest("table"))}”`, `row “${label(td.parentElement)}”`, `shown “${one(td.textContent)}”`, "expected “suppressed ("];
  h.bare = (regions) => {
    const td = hidden(regions);
    if (!td) return null;
    td.textContent = "12";
    return place(td);
  };
  h.other_reason = (regions) => {
    const td = hidden(regions);
    if (!td) return null;
    td.textContent = /neighbour/.test(td.textContent) ? "suppressed (fewer than 10 flights)" : "suppressed (it would give away a suppressed neighbour)";
    return place(td);
  };
  h.drop = (region) => {
    const row = rows(region)[0];
    if (!row) return null;
    const told = [`table “${region}”, row “`, label(row), "it is not on the page"];
    row.remove();
    return told;
  };
  h.swap = (region) => {
    const [a, b] = rows(region);
    if (!b) return null;
    a.before(b);
    return [`table “${region}”, row “`, label(b), "it stands where", label(a)];
  };
  h.twice = (region) => {
    const row = rows(region)[0];
    if (!row) return null;
    row.after(row.cloneNode(true));
    return [`table “${region}”, row “${label(row)}”`, "twice"];
  };
  h.gone = (region) => {
    const table = h.table(region);
    table?.remove();
    return table ? [`table “${region}”`, "it is not on the page"] : null;
  };
  h.link = (region) => {
    const links = rows(region).map((row) => row.querySelector("a"));
    if (links.length < 2) return null;
    const told = [`row “${one(links[0].textContent)}”`, "its link leads to", links[0].getAttribute("href").slice(1)];
    links[0].setAttribute("href", links[1].getAttribute("href"));
    return told;
  };
  // A sentence with figures leads to the row of the next one.
  h.crossed = () => {
    const links = [...document.querySelectorAll(".summary dd a")].filter((a) => /per 1,000/.test(a.nextSibling?.textContent ?? ""));
    const other = links.find((a) => a.getAttribute("href") !== links[0].getAttribute("href"));
    if (!other) return null;
    links[0].setAttribute("href", other.getAttribute("href"));
    return [`“${one(links[0].textContent)}”`, "not in the row that its link leads to"];
  };
  h.attribute = (selector, attribute, value, told) => {
    const node = document.querySelector(selector);
    node?.setAttribute(attribute, value);
    return node ? told : null;
  };
  h.stranger = () => {
    const region = document.querySelector("table").closest("[role=region]");
    const copy = region.cloneNode(true);
    copy.setAttribute("aria-label", "Table: nothing known");
    region.after(copy);
    return ["table “nothing known”", "no table beside the page"];
  };
  return h;
}
