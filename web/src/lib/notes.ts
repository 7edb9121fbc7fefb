// Notes as they are named at the keys: C4 is middle C (MIDI 60), said on every page that uses it. The keys between are sharps,
// as pipes are marked, so that one key has one name on every page, on the tuner's list and in the book.

const names = ['C', 'C♯', 'D', 'D♯', 'E', 'F', 'F♯', 'G', 'G♯', 'A', 'A♯', 'B'] as const;

const at = <T>(list: readonly T[], midi: number): T => list[((midi % 12) + 12) % 12] as T;
const octave = (midi: number): number => Math.floor(midi / 12) - 1;

export const noteName = (midi: number): string => `${at(names, midi)}${octave(midi)}`;
/** For a screen reader: "F sharp 2". */
export const noteAloud = (midi: number): string => `${at(names, midi).replace('♯', ' sharp')} ${octave(midi)}`;

/** As programs write them, "F#2" and "Bb3", or with their signs: in a sentence, what is a note and how it is read out. */
const named = /\b([A-G])(#|b|♯|♭)(-?\d+)\b/g;
const signs: Record<string, readonly [string, string]> = { '#': ['♯', 'sharp'], '♯': ['♯', 'sharp'], b: ['♭', 'flat'], '♭': ['♭', 'flat'] };
export function cutAtNotes(text: string): { text: string; aloud?: string }[] {
  const out: { text: string; aloud?: string }[] = [];
  let from = 0;
  for (const m of text.matchAll(named)) {
    const [whole, letter = '', written = '', number = ''] = m;
    const [sign, word] = signs[written] ?? ['', ''];
    if (m.index > from) out.push({ text: text.slice(from, m.index) });
    out.push({ text: `${letter}${sign}${number}`, aloud: `${letter} ${word} ${number}` });
    from = m.index + whole.length;
  }
  if (from < text.length) out.push({ text: text.slice(from) });
  return out;
}
/** "F♯2", where a sentence can be nothing but text. */
export const spelt = (text: string): string => cutAtNotes(text).map((p) => p.text).join('');
/** "F sharp 2", for a name that is only read out. */
export const spoken = (text: string): string => cutAtNotes(text).map((p) => p.aloud ?? p.text).join('');

export interface Octave {
  number: number;
  notes: number[];
}
/** The keys from low to high, octave by octave, as they are offered for choice. */
export function octaves(low: number, high: number): Octave[] {
  const out: Octave[] = [];
  for (let midi = low; midi <= high; midi++) {
    const last = out.at(-1);
    if (last?.number === octave(midi)) last.notes.push(midi);
    else out.push({ number: octave(midi), notes: [midi] });
  }
  return out;
}

/** What organists call an octave that begins on C, on a manual or the pedals. */
export function octaveWords(number: number, pedal: boolean): string {
  const manual = ['', '', 'bottom octave', 'tenor', 'middle', 'treble', 'top'];
  const feet = ['', '', 'bottom octave', 'upper octave', 'top'];
  return (pedal ? feet : manual)[number] ?? '';
}
