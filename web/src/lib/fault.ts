// A fault in five answers, and the sentence it makes as it grows. Pure: the page shows it, the queue keeps it.
import { noteName } from './notes';
import type { Division, FaultKind, FaultWish, OrganShown, Stop } from './types';

export const questions = ['division', 'stop', 'note', 'what', 'when'] as const;
export type Question = (typeof questions)[number];

export interface FaultSaid {
  division?: string;
  /** '' is the whole division */
  stop?: string;
  /** null is the whole stop */
  midi?: number | null;
  what?: string;
  when?: string;
}

export interface Choice {
  value: string;
  word: string;
  about?: string;
}

/** What organists say they hear, commonest first; the values are the words of the book. */
export const whats: readonly Choice[] = [
  { value: 'dead', word: 'Dead', about: 'does not speak' },
  { value: 'cipher', word: 'Ciphers', about: 'sounds on' },
  { value: 'late', word: 'Late', about: 'after the key' },
  { value: 'slow to speak', word: 'Slow to speak', about: 'the pipe itself' },
  { value: 'out of tune', word: 'Out of tune' },
  { value: 'off speech', word: 'Off speech', about: 'overblows, or its octave' },
  { value: 'weak', word: 'Weak' },
  { value: 'unsteady', word: 'Unsteady', about: 'wavers' },
  { value: 'running', word: 'Running', about: 'murmurs with no key down' },
  { value: 'noise', word: 'A noise', about: 'hiss, rattle, buzz' },
  { value: 'out of use', word: 'Out of use' },
];

export const whens: readonly Choice[] = [
  { value: 'always', word: 'Always' },
  { value: 'cold', word: 'When cold' },
  { value: 'now and then', word: 'Now and then' },
  { value: 'at first', word: 'At first', about: 'better after ten minutes' },
  { value: 'with other stops', word: 'With many stops drawn' },
  { value: 'damp', word: 'In damp weather' },
];

/** The question that stands open; null when all five are answered. */
export function open(said: FaultSaid): Question | null {
  if (said.division === undefined) return 'division';
  if (said.stop === undefined) return 'stop';
  if (said.midi === undefined) return 'note';
  if (said.what === undefined) return 'what';
  if (said.when === undefined) return 'when';
  return null;
}

/** The last answer taken back. A whole division asked for no note, so both go. */
export function back(said: FaultSaid): FaultSaid {
  const { division, stop, midi, what } = said;
  switch (open(said)) {
    case 'division':
      return {};
    case 'stop':
      return {};
    case 'note':
      return kept<FaultSaid>({ division });
    case 'what':
      return stop === '' ? kept({ division }) : kept({ division, stop });
    case 'when':
      return kept<FaultSaid>({ division, stop, midi });
    case null:
      return kept<FaultSaid>({ division, stop, midi, what });
  }
}

/** Without what was not said. */
function kept<T extends object>(said: { [K in keyof T]: T[K] | undefined }): T {
  return Object.fromEntries(Object.entries(said).filter(([, v]) => v !== undefined)) as T;
}

export const divisionOf = (organ: OrganShown, id: string | undefined): Division | undefined =>
  organ.divisions.find((d) => d.id === id);
export const stopOf = (organ: OrganShown, said: FaultSaid): Stop | undefined =>
  divisionOf(organ, said.division)?.stops.find((s) => s.id === said.stop);

/** The keys a stop can be heard on: from its lowest note to the top key. */
export function keysOf(organ: OrganShown, said: FaultSaid): { low: number; high: number } | null {
  const division = divisionOf(organ, said.division);
  const stop = stopOf(organ, said);
  if (!division || !stop) return null;
  const low = stop.low_midi ?? division.low_midi ?? division.action_low_midi;
  return { low, high: division.high_midi ?? division.action_high_midi };
}

/** "Pedal Bourdon 16, F♯2, dead, when cold" as far as it goes. */
export function sentenceOf(organ: OrganShown, said: FaultSaid): string {
  const parts: string[] = [];
  const division = divisionOf(organ, said.division);
  if (division) parts.push(said.stop ? `${division.name} ${stopOf(organ, said)?.name ?? said.stop}` : division.name);
  if (said.stop === '') parts[0] += ', the whole division';
  if (said.midi === null && said.stop !== '') parts.push('the whole stop');
  else if (typeof said.midi === 'number') parts.push(noteName(said.midi));
  if (said.what !== undefined) parts.push((whats.find((w) => w.value === said.what)?.word ?? said.what).toLowerCase());
  if (said.when !== undefined) parts.push((whens.find((w) => w.value === said.when)?.word ?? said.when).toLowerCase());
  return parts.join(', ');
}

/** As the desk takes it; its key is given when it is kept. */
export function toHandIn(said: FaultSaid, today: string): FaultWish {
  if (open(said) !== null) throw new Error('a fault is handed in when all five questions are answered');
  return kept<FaultWish>({
    division: said.division,
    stop: said.stop || undefined,
    midi: said.midi ?? undefined,
    kind: said.what as FaultKind,
    when: said.when === 'always' ? undefined : said.when,
    on: today,
  });
}

/** "when cold", as it is said of a fault in the book; nothing for one that is always there. */
export function whenWords(when: string): string {
  const said = whens.find((w) => w.value === when);
  return when === '' ? '' : (said?.word ?? when).toLowerCase();
}
