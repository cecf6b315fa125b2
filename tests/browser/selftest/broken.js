// What is broken, in which check it must be found, and a word of the fault that must be told.
// `change` is a pair: what is replaced, and by what. The rest of the page stays as it was.
const inMain = (text) => ["</main>", `${text}</main>`];
const inStyle = (text) => ["</style>", `${text}</style>`];
const inHead = (text) => ["</head>", `${text}</head>`];
const NO_POLICY = [/<meta http-equiv.*>\n/, ""];

export const BROKEN = [
  // Asked for in spite of the policy, and without one.
  { what: "a picture from outside", check: "requests", change: [inMain(`<img alt="Outside" src="http://outside.invalid/a.png">`)], told: "outside.invalid" },
  { what: "a picture from outside, no policy", check: "requests", change: [NO_POLICY, inMain(`<img alt="Outside" src="http://outside.invalid/a.png">`)], told: "a request leaves: GET http://outside.invalid/a.png" },
  { what: "a picture waiting far down, in a fold", check: "requests", change: [NO_POLICY, ["<p>What was", `<img loading="lazy" alt="Late" src="http://outside.invalid/late.png"><p>What was`]], told: "late.png" },
  { what: "a picture in print alone", check: "requests", change: [NO_POLICY, inStyle("@media print { h1 { background: url(http://outside.invalid/print.png); } }")], told: "print.png" },
  { what: "a font from beside the page", check: "requests", change: [NO_POLICY, inStyle("@font-face { font-family: own; src: url(own.woff2); } h1 { font-family: own; }")], told: "own.woff2" },
  { what: "a connection made in advance", check: "requests", change: [inHead(`<link rel="preconnect" href="http://outside.invalid">`)], told: "preconnect" },
  { what: "an error in the console", check: "requests", change: [NO_POLICY, inMain(`<script>console.error("gone wrong")</script>`)], told: "gone wrong" },
  { what: "a warning in the console", check: "requests", change: [NO_POLICY, inMain(`<script>console.warn("nearly wrong")</script>`)], told: "nearly wrong" },
  { what: "a script that fails", check: "requests", change: [NO_POLICY, inMain("<script>nothing.there()</script>")], told: "page error" },

  { what: "no policy", check: "policy", change: [NO_POLICY], told: "no Content-Security-Policy" },
  { what: "a policy that lets all in", check: "policy", change: [["default-src 'none'", "default-src *"]], told: "default-src is not 'none'" },
  { what: "a policy with a host", check: "policy", change: [["img-src data:", "img-src https://outside.invalid"]], told: "img-src lets" },
  { what: "a policy that comes too late", check: "policy", change: [NO_POLICY, inHead(`<meta http-equiv="Content-Security-Policy" content="default-src 'none'">`)], told: "comes after" },

  { what: "a table made by a script", check: "scriptless", change: [NO_POLICY, inMain("<script>document.querySelector('main').append(document.querySelector('table').cloneNode(true))</script>")], told: "table: 1 all without scripts, 2 with them" },
  { what: "a section shown by a script", check: "scriptless", change: [NO_POLICY, [`<section aria-labelledby="two">`, `<section id="late" hidden aria-labelledby="two">`], inMain("<script>document.getElementById('late').hidden = false</script>")], told: "section: 1 seen" },
  { what: "pictures without height", check: "scriptless", change: [inStyle("svg { height: 0 !important; }")], told: "svg: none of 1" },

  { what: "a broken anchor", check: "targets", change: [[`href="#two"`, `href="#too"`]], told: "#too" },
  { what: "a file that is not there", check: "targets", change: [["figures.csv", "other.csv"]], told: "other.csv" },
  { what: "a way out of the folder", check: "targets", change: [["figures.csv", "../secret.csv"]], told: "out of the folder" },
  { what: "a link to elsewhere", check: "targets", change: [["figures.csv", "https://outside.invalid/"]], told: "out of the report" },
  { what: "one id twice", check: "targets", change: [[`id="deep"`, `id="two"`], [`href="#deep"`, `href="#two"`]], told: "more than once" },

  { what: "a broken anchor, clicked", check: "jumps", change: [[`href="#two"`, `href="#too"`]], told: "has no target" },
  { what: "a target that is hidden", check: "jumps", change: [inStyle("#two { display: none; }")], told: "not shown" },
  { what: "a fold that a script closes again", check: "jumps", change: [NO_POLICY, inMain("<script>document.querySelector('details').addEventListener('toggle', (e) => { e.target.open = false; })</script>")], told: "closed fold" },
  { what: "a bar over the target", check: "jumps", change: [inStyle("nav { position: sticky; top: 0; background: #fff; height: 6rem; }")], told: "covered by" },
  { what: "a link that cannot be clicked", check: "jumps", change: [inStyle("nav a { pointer-events: none; }")], told: "cannot be clicked" },

  { what: "focus that does not show", check: "keyboard", change: [inStyle("a:focus-visible { outline: none; }")], told: "focus is not to be seen on: <a" },
  { what: "an outline that is always there", check: "keyboard", change: [inStyle("summary, summary:focus-visible { outline: 3px solid #1f5c66; }")], told: "focus is not to be seen on: <summary" },
  { what: "an order of its own", check: "keyboard", change: [[`<a href="#two"`, `<a tabindex="1" href="#two"`]], told: "focus goes back" },
  { what: "a stop off the window", check: "keyboard", change: [inStyle(".skip:focus { position: absolute; }")], told: "out of the window" },
  { what: "a region that keys scroll in some browsers only", check: "keyboard", change: [inMain(`<div style="overflow: auto; height: 2rem"><p style="height: 20rem">far</p></div>`)], told: "no tabindex" },
  { what: "a script that holds focus", check: "keyboard", change: [NO_POLICY, inMain("<script>addEventListener('keydown', (e) => { if (e.key === 'Tab' && document.activeElement.localName === 'a') e.preventDefault(); })</script>")], told: "Tab does not reach: <summary" },

  { what: "a wide table", check: "reflow", change: [inMain(`<table><tr><td><div style="width: 700px">wide</div></td></tr></table>`)], told: "beyond the edge" },
  { what: "a wide table in a fold", check: "reflow", change: [["<p>What was", `<table><tr><td><div style="width: 700px">wide</div></td></tr></table><p>What was`]], told: "details open: the page is" },
  { what: "a wide text that the page cuts off", check: "reflow", change: [inStyle("body { overflow-x: hidden; }"), inMain(`<p style="width: 700px">wide</p>`)], told: "beyond the edge" },

  { what: "low contrast", check: "access", change: [inMain(`<p style="color: #aaa; background: #bbb">hard to read</p>`)], told: "color-contrast" },
  { what: "low contrast in the dark", check: "accessDark", change: [inStyle("@media (prefers-color-scheme: dark) { p { color: #333; } }")], told: "color-contrast" },
  { what: "low contrast in a fold", check: "accessOpen", change: [["<p>What was", `<p style="color: #aaa; background: #bbb">What was`]], told: "color-contrast" },
  { what: "a picture without words", check: "access", change: [inMain(`<img src="data:,">`)], told: "image-alt" },
  { what: "an empty heading", check: "accessNarrow", change: [["<h2 id=\"two\">Two</h2>", "<h2 id=\"two\"></h2>"]], told: "empty-heading" },

  { what: "a picture without a name", check: "drawn", change: [[/ aria-labelledby="in-t in-d"/, ""], [/<title id="in-t">.*?<\/title>/, ""]], told: "has no name" },
  { what: "a picture without a role", check: "drawn", change: [[`<svg role="img"`, "<svg"]], told: "no role" },
  { what: "text cut by the frame", check: "drawn", change: [[`<text x="10" y="95">first`, `<text x="100" y="95">first`]], told: "leaves the frame" },
  { what: "faint text in a picture", check: "drawn", change: [inStyle("svg text { fill: #999; }")], told: "stands out" },
  { what: "text in a picture, dark on dark", check: "drawn", change: [[/svg text \{ fill: #e4e7e2; \}/, ""]], told: "stands out" },

  { what: "a table wider than paper", check: "print", change: [inStyle("@media print { table { width: 1200px; } }")], told: "on a line of" },
  { what: "a table in a region that scrolls", check: "print", change: [inStyle("@media print { .scroll { overflow: auto; } table { width: 1200px; } }")], told: "is cut by" },
  { what: "text that runs out of its cell", check: "print", change: [inStyle("table { table-layout: fixed; width: 3rem; }"), [">Count<", ">Countofeverything<"]], told: "runs out of its cell" },
  { what: "a header that is not repeated", check: "print", change: [inStyle("@media print { thead { display: table-row-group; } }")], told: "is not repeated" },
  { what: "a header that stands on one sheet only", check: "print", change: [inStyle("@media print { thead { break-inside: auto; height: 30rem; } }")], told: "“quillwort”, of a table's header" },
  { what: "a header off the paper", check: "print", change: [inStyle("@media print { thead th { position: relative; left: -80rem; } }")], told: "“quillwort”, of a table's header" },
  { what: "a third sheet", check: "print", as: "brief.html", change: [inMain("<div style='height: 400mm'></div>")], told: "where 2 are meant" },
];

export const BROKEN_PICTURES = [
  { what: "not well-formed", change: [["</svg>", ""]], told: "cannot be read" },
  { what: "no title", change: [[/<title.*?<\/title>/, ""]], told: "no title" },
  { what: "no description", change: [[/<desc.*?<\/desc>/, ""]], told: "no desc" },
  { what: "a picture from outside", change: [["<rect", `<image href="http://outside.invalid/a.png" width="9" height="9"/><rect`]], told: "refers outside" },
  { what: "a style from outside", change: [["<rect", `<style>rect { fill: url("other.svg#g"); }</style><rect`]], told: "url(other.svg#g)" },
  { what: "an import", change: [["<rect", "<style>@import 'other.css';</style><rect"]], told: "imports" },
  { what: "a script", change: [["<rect", "<script>1</script><rect"]], told: "holds a script" },
  { what: "an empty title", change: [[/<title.*?<\/title>/, "<title> </title>"]], told: "no title" },
  { what: "not a picture", change: [[/<svg([^]*)<\/svg>/, "<p xmlns='http://www.w3.org/1999/xhtml'/>"]], told: "root is p" },
  { what: "no name", change: [[/<title.*?<\/title>/, ""], [/ aria-labelledby="[^"]*"/, ""]], told: "svg-img-alt" },
  { what: "no role", change: [[` role="img"`, ""]], told: "not img" },
  { what: "no size", change: [[/width="240" height="200"/, `width="0" height="0"`]], told: "px large" },
  { what: "nothing drawn", change: [[/<rect.*\n/g, ""], [/<text.*\n/, ""]], told: "nothing is drawn" },
];
