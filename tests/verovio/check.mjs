// node tests/verovio/check.mjs FILE...
//
// Loads each score into Verovio, engraves every page, and fails where it reports an error or a warning, where nothing is
// drawn, or where a note lost its id. Ends with "N passed, N failed".
import { readFileSync } from 'node:fs';
import createModule from 'verovio/wasm';
import { LOG_WARNING, VerovioToolkit, enableLog, enableLogToBuffer } from 'verovio/esm';

const module = await createModule();
enableLog(LOG_WARNING, module);
enableLogToBuffer(true, module);
const toolkit = new VerovioToolkit(module);
toolkit.setOptions({ breaks: 'auto', header: 'none', footer: 'none', xmlIdSeed: 1 });
function check(file) {
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
  drawn = drawn.replaceAll(/<tspan([^>]*)>\s+/g, '<tspan$1>');
  const lines = words.flatMap((w) => w.split('\n')).map((w) => w.trim());
  const missing = lines.filter((l) => !drawn.includes(`>${l}</tspan>`));
  if (missing.length > 0) return `"${missing[0]}" is in the file and not drawn as a line`;
  console.log(`${file}: ${pages} pages, ${heads} notes drawn, ${ids.length} with ids`);
  return null;
}

let failed = 0;
const files = process.argv.slice(2);
for (const file of files) {
  const why = check(file);
  if (why === null) continue;
  console.log(`${file}: ${why}`);
  ++failed;
}
console.log(`${files.length - failed} passed, ${failed} failed`);
process.exit(failed === 0 && files.length > 0 ? 0 : 1);
