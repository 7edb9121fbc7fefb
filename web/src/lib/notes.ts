// Notes as they are named at the keys: C4 is middle C (MIDI 60), said on every page that uses it.

const names = ['C', 'C♯', 'D', 'E♭', 'E', 'F', 'F♯', 'G', 'A♭', 'A', 'B♭', 'B'] as const;
const aloud = ['C', 'C sharp', 'D', 'E flat', 'E', 'F', 'F sharp', 'G', 'A flat', 'A', 'B flat', 'B'] as const;

const at = <T>(list: readonly T[], midi: number): T => list[((midi % 12) + 12) % 12] as T;
const octave = (midi: number): number => Math.floor(midi / 12) - 1;

export const noteName = (midi: number): string => `${at(names, midi)}${octave(midi)}`;
/** For a screen reader: "F sharp 2". */
export const noteAloud = (midi: number): string => `${at(aloud, midi)} ${octave(midi)}`;

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
