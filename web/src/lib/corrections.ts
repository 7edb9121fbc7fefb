// How a recording was cut up, and what is corrected in it: pure. A correction is one line that is to stand as it is said.
import { noteName } from './notes';
import type { CutUp, Decision } from './types';

export type Found = CutUp['decisions'][number];

const words: Record<Decision['what'], string> = {
  speaks: 'its pipe',
  dead: 'no sound',
  unsure: 'not played',
  wrong: 'another note',
  cipher: 'a cipher',
  nothing: 'no note: left alone',
  repeat: 'played once more: left alone',
  'false start': 'a false start: left alone',
};

/** "its pipe", "another note: sounds like F4" */
export function foundWords(d: Decision): string {
  const like = d.what === 'wrong' && d.heard_midi !== undefined ? `: sounds like ${noteName(d.heard_midi)}` : '';
  return words[d.what] + like;
}
export const seconds = (s: number): string => s.toFixed(1);
export const stretchWords = (d: Decision): string =>
  d.from_s === undefined || d.to_s === undefined ? '–' : `${seconds(d.from_s)} – ${seconds(d.to_s)} s`;

/** In the order of the recording; keys without a stretch follow the one that was played before them. */
export function inOrder(found: readonly Found[]): Found[] {
  let last = 0;
  const placed = found.map((d, i) => {
    if (d.from_s !== undefined) last = d.from_s;
    return { d, i, at: d.from_s ?? last };
  });
  return placed.sort((a, b) => a.at - b.at || a.i - b.i).map((p) => p.d);
}

export const byHand = (cut: CutUp): Decision[] => cut.decisions.filter((d) => d.by_hand).map(sent);
/** Without what is only told. */
export function sent(d: Found | Decision): Decision {
  const { what, midi, from_s, to_s, heard_midi } = d;
  return {
    what,
    ...(midi === undefined ? {} : { midi }),
    ...(from_s === undefined ? {} : { from_s }),
    ...(to_s === undefined ? {} : { to_s }),
    ...(heard_midi === undefined ? {} : { heard_midi }),
  };
}

const overlap = (a: Decision, b: Decision): boolean =>
  a.from_s !== undefined && a.to_s !== undefined && b.from_s !== undefined && b.to_s !== undefined && a.from_s < b.to_s && b.from_s < a.to_s;
const sameKey = (a: Decision, b: Decision): boolean => keyed(a) && keyed(b) && a.midi === b.midi;
const keyed = (d: Decision): boolean => !['nothing', 'repeat', 'false start'].includes(d.what);

/** With `more`, in place of what was said of the same key or the same stretch. */
export function noted(decisions: readonly Decision[], more: readonly Decision[]): Decision[] {
  const kept = decisions.filter((d) => !more.some((m) => sameKey(d, m) || overlap(d, m)));
  return [...kept, ...more];
}
/** Without what was said of that line. */
export const withdrawn = (decisions: readonly Decision[], of: Decision): Decision[] => decisions.filter((d) => !sameKey(d, of) && !overlap(d, of));

export const same = (a: readonly Decision[], b: readonly Decision[]): boolean => {
  const sorted = (list: readonly Decision[]): string[] => list.map((d) => JSON.stringify(sent(d))).sort();
  return JSON.stringify(sorted(a)) === JSON.stringify(sorted(b));
};

/** "F4: its pipe, 24.1 – 28.0 s" */
export function decisionWords(d: Decision): string {
  const times = d.from_s === undefined ? '' : `, ${stretchWords(d)}`;
  return `${keyed(d) && d.midi !== undefined ? `${noteName(d.midi)}: ` : ''}${foundWords(d)}${times}`;
}

/** "12,5" as it is typed; nothing where it is no time. */
export function secondsTyped(text: string): number | null {
  const t = text.trim().replace(',', '.');
  return /^\d{1,5}(\.\d{0,3})?$/.test(t) ? Number(t) : null;
}
