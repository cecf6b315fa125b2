// A small page and a small picture in which no check finds a fault. The self-test breaks them.
const STYLE = `
body { margin: 0 auto; max-width: 60rem; padding: 1rem; background: #fff; color: #222; font: 1rem/1.5 sans-serif; }
a, summary { color: #1f5c66; }
a:focus-visible, summary:focus-visible, .scroll:focus-visible { outline: 3px solid #1f5c66; }
.scroll { overflow-x: auto; }
.skip { position: absolute; left: -100rem; }
.skip:focus { position: static; }
.tall { height: 90rem; }
table { border-collapse: collapse; }
th, td { padding: .2rem .6rem; text-align: left; }
svg { display: block; width: 100%; max-width: 6rem; height: auto; }
@media screen and (prefers-color-scheme: dark) {
  body { background: #15191b; color: #e4e7e2; }
  a, summary { color: #83c9d0; }
  svg text { fill: #e4e7e2; }
}
@media print {
  @page { margin: 14mm; }
  body { max-width: none; padding: 0; }
  .scroll { overflow: visible; }
  .tall { height: auto; }
}`;

const drawing = (id) => `<title id="${id}-t">Rates by month</title><desc id="${id}-d">Two bars.</desc>
<rect x="10" y="20" width="40" height="60" fill="#1f5c66"/><rect x="70" y="40" width="40" height="40" fill="#1f5c66"/>
<text x="10" y="95">first</text>`;

// As many rows as make the table longer than a sheet: it goes on to a second one, and its header with it.
// There the page ends.
const rows = Array.from({ length: 40 }, (_, at) => `<tr><th scope="row">Line ${at + 1}</th><td>${at * 7}</td></tr>`).join("\n");

export const PAGE = `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>A sound page</title>
<style>${STYLE}</style>
</head>
<body>
<a class="skip" href="#main">Skip to the text</a>
<header><h1>A sound page</h1></header>
<nav aria-label="Sections"><ul><li><a href="#one">One</a></li><li><a href="#two">Two</a></li></ul></nav>
<main id="main">
<section aria-labelledby="one"><h2 id="one">One</h2>
<p>More is told <a href="#deep">further down</a>, and in a <a href="figures.csv">file</a>.</p>
<div class="scroll" role="region" aria-label="Figures" tabindex="0">
<table><caption>Figures</caption><thead><tr><th scope="col">Quillwort</th><th scope="col">Count</th></tr></thead><tbody>
${rows}
</tbody></table>
</div>
<figure><svg role="img" aria-labelledby="in-t in-d" viewBox="0 0 120 100">${drawing("in")}</svg></figure>
</section>
<div class="tall"></div>
<section aria-labelledby="two"><h2 id="two">Two</h2>
<details><summary>More</summary><h3 id="deep">Deep</h3><p>What was folded in.</p></details>
</section>
<div class="tall"></div>
</main>
</body>
</html>
`;

export const PICTURE = `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="own-t own-d" viewBox="0 0 120 100" width="240" height="200">
${drawing("own")}
</svg>
`;
