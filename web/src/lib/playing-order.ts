// In what order the bars of a score are heard, repeats and first and second endings taken. Pure: from the bar lines alone.

export interface BarLines {
  label: string;
  repeatBegins: boolean;
  /** how often the repeat that ends here is played in all; 0: none ends here */
  repeatEnds: number;
  /** of a volta bracket over this bar: "1", "1, 2"; empty: none */
  endings: number[];
}

export function barLines(xml: string): BarLines[] {
  const score = new DOMParser().parseFromString(xml, 'application/xml');
  const part = score.querySelector('part');
  let over: number[] = [];
  return [...(part?.querySelectorAll(':scope > measure') ?? [])].map((m) => {
    const repeats = [...m.querySelectorAll('barline > repeat')];
    const backward = repeats.find((r) => r.getAttribute('direction') === 'backward');
    const endings = [...m.querySelectorAll('barline > ending')];
    const start = endings.find((e) => e.getAttribute('type') === 'start');
    if (start) over = (start.getAttribute('number') ?? '').split(/[,\s]+/).map(Number).filter((n) => n > 0);
    const bar: BarLines = {
      label: m.getAttribute('number') ?? '',
      repeatBegins: repeats.some((r) => r.getAttribute('direction') === 'forward'),
      repeatEnds: backward ? Number(backward.getAttribute('times') ?? 2) || 2 : 0,
      endings: over,
    };
    if (endings.some((e) => e.getAttribute('type') !== 'start')) over = [];
    return bar;
  });
}

/** Indices of bars as they are heard. A score that would never end is cut. */
export function playingOrder(bars: readonly BarLines[]): number[] {
  const order: number[] = [];
  let begin = 0;
  let pass = 1;
  for (let i = 0; i < bars.length && order.length < 20_000; ) {
    const bar = bars[i] as BarLines;
    if (bar.repeatBegins && i !== begin) {
      begin = i;
      pass = 1;
    }
    if (bar.endings.length > 0 && !bar.endings.includes(pass)) {
      // The last ending has no repeat of its own: past it everything begins afresh.
      i++;
      continue;
    }
    order.push(i);
    if (bar.repeatEnds > pass) {
      pass++;
      i = begin;
    } else {
      if (bar.repeatEnds > 0) {
        begin = i + 1;
        pass = 1;
      }
      i++;
      const next = bars[i];
      if (bar.endings.length > 0 && next && next.endings.length === 0) {
        begin = i;
        pass = 1;
      }
    }
  }
  return order;
}

export interface Heard {
  bar: number;
  /** quarters from the beginning of what is played */
  at: number;
}
/** When each bar begins, from `from` on, given where bars begin on paper. */
export function heardFrom(order: readonly number[], begins: readonly number[], end: number, from: number): Heard[] {
  const out: Heard[] = [];
  let at = 0;
  const first = order.indexOf(from);
  for (const bar of order.slice(Math.max(0, first))) {
    out.push({ bar, at });
    at += (begins[bar + 1] ?? end) - (begins[bar] ?? end);
  }
  return out;
}
export function barAt(heard: readonly Heard[], quarters: number): number {
  let now = heard[0]?.bar ?? 0;
  for (const h of heard) {
    if (h.at > quarters + 1e-6) break;
    now = h.bar;
  }
  return now;
}
