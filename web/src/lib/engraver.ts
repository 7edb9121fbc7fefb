// The engraver seen from the page.
export interface Asked {
  id: number;
  xml: string;
  /** in pixels; none: of a sheet of paper */
  width: number | null;
}
export type Told =
  | { id: number; kind: 'laid out'; pages: number }
  | { id: number; kind: 'page'; page: number; svg: string }
  | { id: number; kind: 'done' }
  | { id: number; kind: 'failed'; message: string };

let worker: Worker | undefined;
let last = 0;

/** Tells pages as they are ready; gives how to stop listening. */
export function engrave(xml: string, width: number | null, told: (t: Told) => void): () => void {
  worker ??= new Worker(new URL('./engraver.worker.ts', import.meta.url), { type: 'module' });
  const id = ++last;
  const w = worker;
  const listen = (e: MessageEvent<Told>): void => {
    if (e.data.id === id) told(e.data);
  };
  const broken = (): void => told({ id, kind: 'failed', message: 'The engraver could not be started in this browser.' });
  w.addEventListener('message', listen);
  w.addEventListener('error', broken);
  w.postMessage({ id, xml, width } satisfies Asked);
  return () => {
    w.removeEventListener('message', listen);
    w.removeEventListener('error', broken);
  };
}

/** Words over the last bar may stand out beyond the music: the page is made as wide as they want. It must be on the screen. */
export function widened(page: SVGSVGElement): void {
  const inner = page.querySelector<SVGSVGElement>('svg.definition-scale');
  const drawn = inner?.querySelector<SVGGElement>('g.page-margin');
  const margin = drawn?.transform.baseVal.consolidate()?.matrix.e ?? 0;
  if (!inner || !drawn) return;
  const box = drawn.getBBox();
  const { width, height } = inner.viewBox.baseVal;
  // No more than a quarter: the music is what is read.
  const wider = Math.min(1.25, (box.x + box.width + 2 * margin) / width);
  if (!(wider > 1)) return;
  const outer = page.viewBox.baseVal;
  page.setAttribute('viewBox', `0 0 ${outer.width * wider} ${outer.height}`);
  inner.setAttribute('viewBox', `0 0 ${width * wider} ${height}`);
}

let musicFont = false;
/**
 * An engraved page as an element. Its styles are left out (the desk's policy lets none in that is written into a page;
 * the score's own stand in Score.svelte), and the letters it carries for signs in text are given to the browser by hand.
 */
export function pageElement(svg: string): SVGSVGElement | null {
  const font = /src: url\(data:[^,]*,([A-Za-z0-9+/=]+)\)/.exec(svg)?.[1];
  if (font && !musicFont) {
    musicFont = true;
    const bytes = Uint8Array.from(atob(font), (c) => c.charCodeAt(0));
    void new FontFace('Leipzig', bytes).load().then((f) => document.fonts.add(f), () => undefined);
  }
  const bare = svg.replace(/<style[\s\S]*?<\/style>/g, '');
  const page = new DOMParser().parseFromString(bare, 'image/svg+xml').documentElement;
  return page instanceof SVGSVGElement ? page : null;
}
