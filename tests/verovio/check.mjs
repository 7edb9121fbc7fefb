// node tests/verovio/check.mjs FILE...
//
// Loads each score into Verovio, engraves every page, and fails where it reports an error or a warning, where nothing is
// drawn, or where a note lost its id. Ends with "N passed, N failed".
import { readFileSync } from 'node:fs';
import createModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';

const toolkit = new VerovioToolkit(await createModule());
toolkit.setOptions({ breaks: 'auto', header: 'none', footer: 'none', xmlIdSeed: 1 });
console.error = () => {};
console.warn = () => {};

// Lower case, so that a complaint is found whatever it is called.
const complaint = (log) => log.split('\n').find((line) => /error|warning/i.test(line));

function check(file) {
  const text = readFileSync(file, 'utf8');
  if (!toolkit.loadData(text)) return 'it was not loaded: ' + toolkit.getLog().trim();
  const said = complaint(toolkit.getLog());
  if (said) return said.trim();
  const pages = toolkit.getPageCount();
  let drawn = '';
  for (let page = 1; page <= pages; ++page) drawn += toolkit.renderToSVG(page);
  const ids = [...text.matchAll(/<note id="([^"]+)"/g)].map((m) => m[1]);
  const lost = ids.filter((id) => !drawn.includes(`id="${id}"`));
  if (ids.length > 0 && lost.length > 0) return `${lost.length} of ${ids.length} note ids were lost (${lost[0]})`;
  for (const sign of ['\u2227', '\u222a']) {
    if (text.includes(`>${sign}</fingering>`) && !drawn.includes(sign)) return `${sign} is in the file and not drawn`;
  }
  const words = [...text.matchAll(/<\?calcant begin\?><direction .*?<words[^>]*>([^<]*)<\/words>/g)].map((m) => m[1]);
  const missing = words.filter((w) => !drawn.includes(w.split(' ')[0]));
  if (missing.length > 0) return `"${missing[0]}" is in the file and not drawn`;
  console.log(`${file}: ${pages} pages, ${ids.length} notes with ids`);
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
