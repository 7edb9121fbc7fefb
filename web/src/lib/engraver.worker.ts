// Engraves a score away from the page, so that the page stays quick. Verovio (LGPL) is a file of its own, loaded only here.
import createModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import type { Asked, Told } from './engraver';

const post = (told: Told): void => self.postMessage(told);
let toolkit: Promise<VerovioToolkit> | undefined;

self.onmessage = async (e: MessageEvent<Asked>) => {
  const { id, xml, width } = e.data;
  try {
    toolkit ??= createModule().then((m) => new VerovioToolkit(m));
    const t = await toolkit;
    t.setOptions({
      scale: 42,
      pageWidth: Math.round((width / 42) * 100),
      pageMarginLeft: 10,
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
    // Several entries at a bar line have the same moment; the bar's own is the first that names it.
    const begins: number[] = [];
    let end = 0;
    for (const entry of t.renderToTimemap({ includeMeasures: true })) {
      if (entry.measureOn !== undefined) begins.push(entry.qstamp);
      end = Math.max(end, entry.qstamp);
    }
    const pages = t.getPageCount();
    post({ id, kind: 'bars', begins, end, pages });
    for (let page = 1; page <= pages; page++) post({ id, kind: 'page', page, svg: t.renderToSVG(page) });
    post({ id, kind: 'done' });
  } catch (error) {
    post({ id, kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
};
