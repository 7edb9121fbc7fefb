// Runs of measured pipes as points along the keys. Pure.
import { noteName } from './notes';
import type { MeasuredNote, RunKept } from './types';

export type NoteOf = MeasuredNote | RunKept['notes'][number];
export interface Point {
  midi: number;
  value: number;
  /** half the 95 % interval; 0 where none is known */
  half: number;
}

export interface Quantity {
  key: 'in_run_cents' | 'level_db' | 'speech_ms';
  title: string;
  unit: string;
  /** a line at nought says something */
  zero: boolean;
  about: string;
  digits: number;
}
export const quantities: readonly Quantity[] = [
  { key: 'in_run_cents', title: 'Tuning, against the run’s own mean', unit: 'cents', zero: true, about: 'Above the line is sharp, below it flat. A hundred cents are a semitone.', digits: 1 },
  { key: 'level_db', title: 'Loudness, as recorded', unit: 'dB', zero: false, about: 'Differences along the keys tell; the height of the whole depends on the recorder.', digits: 1 },
  { key: 'speech_ms', title: 'How soon it speaks', unit: 'ms', zero: false, about: 'From the first breath to steady speech. Big and stringy pipes are slow by nature.', digits: 0 },
];

export function pointsOf(notes: readonly NoteOf[], key: Quantity['key']): Point[] {
  return notes.flatMap((n) => {
    const value = n[key];
    if (value === null || n.state !== 'speaks') return [];
    return [{ midi: n.midi, value, half: halfOf(n, key) }];
  });
}
function halfOf(n: NoteOf, key: Quantity['key']): number {
  if (key === 'in_run_cents') return n.in_run_cents_95 ?? 0;
  if (key === 'level_db' && 'level_db_95' in n) return n.level_db_95 ?? 0;
  return 0;
}

/** Notes that gave no figure, with why: what a plot cannot show. */
export function silent(notes: readonly NoteOf[]): string[] {
  return notes.filter((n) => n.state !== 'speaks').map((n) => `${noteName(n.midi)}: ${n.state}`);
}

export function rowsOf(notes: readonly NoteOf[]): (string | number)[][] {
  const told = (v: number | null, digits: number): string => (v === null ? '–' : v.toFixed(digits));
  return notes.map((n) => [
    noteName(n.midi),
    n.state,
    told(n.hz, 2),
    told(n.in_run_cents, 1),
    n.in_run_cents_95 === null ? '–' : `± ${n.in_run_cents_95.toFixed(1)}`,
    told(n.level_db, 1),
    told(n.speech_ms, 0),
  ]);
}
export const rowHeads = [
  { head: 'Key' },
  { head: 'What' },
  { head: 'Hz', figure: true },
  { head: 'cents', figure: true },
  { head: '95 %', figure: true },
  { head: 'dB', figure: true },
  { head: 'speaks after, ms', figure: true },
];

/** Round steps for an axis: five or so, 1, 2 or 5 times a power of ten. */
export function ticks(low: number, high: number, about = 5): number[] {
  const span = high - low;
  if (!(span > 0)) return [low];
  const raw = span / about;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * ([1, 2, 5, 10].find((m) => m * power >= raw) ?? 10);
  const out: number[] = [];
  for (let t = Math.ceil(low / step) * step; t <= high + step * 1e-9; t += step) out.push(Number(t.toPrecision(12)));
  return out;
}

export interface Scale {
  low: number;
  high: number;
}
/** The span of the points with their bars, a little wider, never narrower than `least`. */
export function spanOf(points: readonly Point[], zero: boolean, least: number): Scale {
  const values = points.flatMap((p) => [p.value - p.half, p.value + p.half]);
  if (zero) values.push(0);
  const low = Math.min(...values);
  const high = Math.max(...values);
  const more = Math.max((high - low) * 0.08, (least - (high - low)) / 2);
  return { low: low - more, high: high + more };
}
