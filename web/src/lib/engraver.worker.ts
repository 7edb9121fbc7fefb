// Engraves a score away from the page, so that the page stays quick. Verovio (LGPL) is a file of its own, loaded only here.
import createModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import type { Asked, Told } from './engraver';

const post = (told: Told): void => self.postMessage(told);
let toolkit: Promise<VerovioToolkit> | undefined;

// What @page in base.css leaves of A4, less a line for the title, in pixels of 1/96 inch.
const paper = { width: 680, height: 960 };

self.onmessage = async (e: MessageEvent<Asked>) => {
  const { id, xml, width } = e.data;
  try {
    toolkit ??= createModule().then((m) => new VerovioToolkit(m));
    const t = await toolkit;
    // On a phone a shade smaller, as a pocket score is, so that a line holds more than a bar. On paper a stave of about 7 mm.
    const scale = width === null ? 37 : width < 560 ? 34 : 42;
    const units = (pixels: number): number => Math.round((pixels / scale) * 100);
    t.setOptions({
      scale,
      pageWidth: units(width ?? paper.width),
      pageHeight: width === null ? units(paper.height) : 2970,
      pageMarginLeft: 30, // half a bar's number stands there
      pageMarginRight: 10,
      pageMarginTop: 20,
      pageMarginBottom: 40,
      adjustPageHeight: true,
      breaks: 'auto',
      header: 'none',
      footer: 'none',
      svgViewBox: true,
      svgHtml5: true,
      svgAdditionalAttribute: ['measure@n'],
    });
    if (!t.loadData(xml)) throw new Error(t.getLog());
    const pages = t.getPageCount();
    post({ id, kind: 'laid out', pages });
    for (let page = 1; page <= pages; page++) post({ id, kind: 'page', page, svg: t.renderToSVG(page) });
    post({ id, kind: 'done' });
  } catch (error) {
    post({ id, kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
};
