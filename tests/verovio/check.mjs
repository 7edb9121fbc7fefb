// node tests/verovio/check.mjs FILE... [--apart FILE...]
//
// Loads each score into Verovio, engraves every page, and fails where it reports an error or a warning, where nothing is
// drawn, where a note lost its id, or of those behind --apart where words of a mark touch
// other words or signs, at two widths of the page. Ends with "N passed, N failed".
import { readFileSync } from 'node:fs';
import createModule from 'verovio/wasm';
import { LOG_WARNING, VerovioToolkit, enableLog, enableLogToBuffer } from 'verovio/esm';

const module = await createModule();
enableLog(LOG_WARNING, module);
enableLogToBuffer(true, module);
const toolkit = new VerovioToolkit(module);
toolkit.setOptions({ breaks: 'auto', header: 'none', footer: 'none', xmlIdSeed: 1 });
// A page's fonts run a little wider than those Verovio reckons with.
const wider = 1.06;
const signs = ['dir', 'tempo', 'dynam', 'reh', 'fing', 'ending', 'notehead'];

// Every line of words and every sign of a page: whose it is (the innermost of `signs`), what it says, and its box.
function boxes(svg) {
  const found = [];
  const open = [];
  for (const [, closing, tag, attributes, alone, after] of svg.matchAll(/<(\/?)(g|rect|tspan|text)\b([^>]*?)(\/?)>([^<]*)/g)) {
    const said = (name) => attributes.match(new RegExp(`(?:^|\\s)${name}="([^"]*)"`))?.[1] ?? '';
    if (tag === 'rect') {
      if (!open.at(-1)?.kind.includes('content-bounding-box')) continue;
      const owner = open.findLast((o) => signs.includes(o.kind));
      const [x, y, w, h] = ['x', 'y', 'width', 'height'].map((name) => Number(said(name)));
      if (owner) found.push({ owner, x, y, right: x + w * (owner.kind === 'notehead' ? 1 : wider), bottom: y + h });
    } else if (closing) open.pop();
    else if (!alone) open.push({ kind: said('class'), words: '' });
    if (!closing && tag !== 'rect' && after.trim() !== '') for (const o of open) o.words += (o.words && '\n') + after.trim();
  }
  return found;
}

// What of ours touches something else, in words; null: nothing does.
function touching(text, ours, pageWidth) {
  toolkit.setOptions({ svgBoundingBoxes: true, svgContentBoundingBoxes: true, pageWidth });
  let told = null;
  toolkit.loadData(text);
  for (let page = 1; told === null && page <= toolkit.getPageCount(); ++page) {
    const all = boxes(toolkit.renderToSVG(page));
    for (const a of all.filter((b) => b.owner.kind === 'dir' && b.owner.words.split('\n').every((l) => ours.has(l)))) {
      const b = all.find((o) => o.owner !== a.owner && o.x < a.right && a.x < o.right && o.y < a.bottom && a.y < o.bottom);
      if (b) told = `"${a.owner.words.replaceAll('\n', ' ')}" touches ${b.owner.kind} "${b.owner.words}"`;
    }
  }
  toolkit.setOptions({ svgBoundingBoxes: false, svgContentBoundingBoxes: false, pageWidth: 2100 });
  return told;
}

function check(file, apart) {
  const text = readFileSync(file, 'utf8');
  if (!toolkit.loadData(text)) return 'it was not loaded: ' + toolkit.getLog().trim();
  const said = toolkit.getLog().trim();
  if (said !== '') return said.split('\n').slice(0, 3).join('; ');
  const pages = toolkit.getPageCount();
  let drawn = '';
  for (let page = 1; page <= pages; ++page) drawn += toolkit.renderToSVG(page);
  const heads = (drawn.match(/class="note[ "]/g) ?? []).length;
  if (heads === 0) return 'nothing was drawn';
  const ids = [...text.matchAll(/<note id="([^"]+)"/g)].map((m) => m[1]);
  const lost = ids.filter((id) => !drawn.includes(`id="${id}"`));
  if (lost.length > 0) return `${lost.length} of ${ids.length} note ids were lost (${lost[0]})`;
  for (const sign of ['\u2227', '\u222a']) {
    if (text.includes(`>${sign}</fingering>`) && !drawn.includes(sign)) return `${sign} is in the file and not drawn`;
  }
  const words = [...text.matchAll(/<\?calcant begin\?><direction .*?<words[^>]*>([^<]*)<\/words>/g)].map((m) => m[1]);
  // Each line of a mark is drawn as a line of its own, the second of a long one indented.
  drawn = drawn.replaceAll(/<tspan([^>]*)>\s+/g, '<tspan$1>').replaceAll(/\s+<\/tspan>/g, '</tspan>');
  const lines = words.flatMap((w) => w.split('\n')).map((w) => w.trim());
  const missing = lines.filter((l) => !drawn.includes(`>${l}</tspan>`));
  if (missing.length > 0) return `"${missing[0]}" is in the file and not drawn as a line`;
  for (const width of apart ? [1400, 2100] : []) {
    const touched = touching(text, new Set(lines), width);
    if (touched) return `${touched}, on a page ${width} wide`;
  }
  console.log(`${file}: ${pages} pages, ${heads} notes drawn, ${ids.length} with ids`);
  return null;
}

let failed = 0;
const given = process.argv.slice(2);
const apart = given.includes('--apart') ? given.indexOf('--apart') : given.length;
const files = given.filter((g) => g !== '--apart');
for (const [i, file] of files.entries()) {
  const why = check(file, i >= apart);
  if (why === null) continue;
  console.log(`${file}: ${why}`);
  ++failed;
}
console.log(`${files.length - failed} passed, ${failed} failed`);
process.exit(failed === 0 && files.length > 0 ? 0 : 1);
