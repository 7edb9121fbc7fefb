// A printed page of the program taken apart, so that it can stand inside a page of the desk. Nothing in it can run: only
// elements and their classes are taken over, no scripts, no handlers, no addresses.

import { spelt } from './notes';

const passing = new Set(
  'SECTION HEADER FOOTER DIV SPAN P H1 H2 H3 H4 B I EM STRONG SMALL UL OL LI DL DT DD TABLE THEAD TBODY TFOOT TR TH TD CAPTION BR HR SUP SUB MAIN ARTICLE FIGURE FIGCAPTION'.split(
    ' ',
  ),
);

// The plots of a page: their shapes and where these stand, by the names SVG has for them.
const svgSpace = 'http://www.w3.org/2000/svg';
const shapes = new Set('svg g title line circle rect path polyline polygon text tspan'.split(' '));
const drawn = 'viewBox width height x y x1 y1 x2 y2 cx cy r rx ry d points transform text-anchor role aria-label aria-hidden'.split(' ');

// On the screen the page follows the light and the width it is given; on paper it is as it was made.
const onScreen = `
@media screen {
  :host { font-size: clamp(1.06rem, 0.95rem + 0.6vw, 1.2rem) !important; max-width: none !important; padding: 0 !important; }
  * { border-color: currentColor !important; }
  h1 { font-size: 1.35em !important; }
  .item > h2 { font-size: 1.2em !important; }
  .item > h2 .number { min-width: 2.6em !important; }
  .step { grid-template-columns: minmax(2.6em, auto) 1fr !important; column-gap: .5em; }
  .back { margin-top: 3em; }
  table { max-width: 100%; }
  .over { margin-left: 3.1em !important; }
  .step .which { font-size: 1.1em !important; }
  svg line, svg circle { stroke: currentColor !important; }
  svg .grid, svg .octave { opacity: .3; }
  svg text, svg .in { fill: currentColor !important; }
  svg .out { fill: transparent !important; }
}
@media screen and (max-width: 30rem) {
  td, th { padding-inline: .15em !important; }
  header { display: block !important; }
  header .organ { text-align: left !important; white-space: normal !important; }
}
`;

/** `paper`: its margins on paper, which are the whole document's to keep to. */
export function sheetParts(html: string): { css: string; paper: string; body: DocumentFragment; title: string } {
  // Styles are taken out of the text first: the desk's policy lets no style in that is written into a page.
  const css = [...html.matchAll(/<style>([^<]*)<\/style>/g)].map((m) => m[1] ?? '').join('\n');
  const page = new DOMParser().parseFromString(html.replace(/<style>[^<]*<\/style>/g, ''), 'text/html');
  const body = document.createDocumentFragment();
  for (const child of page.body.childNodes) copy(child, body);
  return { css: hosted(css) + onScreen, paper: (css.match(pageRule) ?? []).join('\n'), body, title: page.title };
}

const pageRule = /@page[^{]*\{[^}]*\}/g;
/** What was said of the whole page is now said of the element that holds it. */
export function hosted(css: string): string {
  return css
    .replace(pageRule, '')
    .replace(/(^|[\s,}])html\s*\{[^}]*\}/g, '$1')
    .replace(/(^|[\s,{}])body(?=\s*[{,.])/g, '$1:host')
    .replace(/font-family:\s*"Source Serif 4"/g, 'font-family: "Source Serif 4 Variable", "Source Serif 4"')
    .replace(/(\/[\d.]+\s+)"Source Serif 4"/g, '$1"Source Serif 4 Variable", "Source Serif 4"');
}

function copy(from: Node, into: Node): void {
  if (from.nodeType === Node.TEXT_NODE) {
    into.appendChild(document.createTextNode(spelt(from.textContent ?? '')));
    return;
  }
  if (!(from instanceof Element)) return;
  const plot = from.namespaceURI === svgSpace;
  if (!(plot ? shapes.has(from.localName) : passing.has(from.tagName))) return;
  // The page it stands in has a main part already.
  const name = from.tagName === 'MAIN' ? 'DIV' : from.localName;
  const made = plot ? document.createElementNS(svgSpace, name) : document.createElement(name);
  for (const kept of plot ? ['class', ...drawn] : ['class', 'colspan', 'rowspan', 'scope', 'id']) {
    const value = from.getAttribute(kept);
    if (value !== null) made.setAttribute(kept, value);
  }
  for (const child of from.childNodes) copy(child, made);
  into.appendChild(made);
}
