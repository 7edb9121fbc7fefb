// The bars of a score: what is printed over them, and which of them sounds. Pure.
import type { Heard } from './types';

export interface Bar {
  label: string;
  /** what its beats are counted in: 4, 8, 2 */
  beatType: number;
}

export function barsOf(xml: string): Bar[] {
  const part = new DOMParser().parseFromString(xml, 'application/xml').querySelector('part');
  let beatType = 4;
  return [...(part?.querySelectorAll(':scope > measure') ?? [])].map((m) => {
    beatType = Number(m.querySelector('attributes > time > beat-type')?.textContent ?? beatType) || beatType;
    return { label: m.getAttribute('number') ?? '', beatType };
  });
}

/** Which bar sounds so many seconds after the beginning; none where nothing is known of bars. */
export function barAt(heard: Heard['bars'], seconds: number): number | null {
  return heard.findLast((h) => h.at_s <= seconds + 1e-3)?.bar_index ?? heard[0]?.bar_index ?? null;
}
