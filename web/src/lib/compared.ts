// Two runs of one stop set against each other, in words and as points along the keys. Pure.
import { noteName } from './notes';
import type { Point } from './runs';
import type { RunsCompared } from './types';

type Note = RunsCompared['notes'][number];
type Change = NonNullable<RunsCompared['whole_cents']>;

const whole = (v: number): string => {
  const r = Math.round(v);
  return r === 0 ? '0' : `${r > 0 ? '+' : '−'}${Math.abs(r)}`;
};
// Never nought: nothing is known so well.
const band = (c: Change): number => Math.max(1, Math.ceil(c.half_width_95));
const height = (c: Change): string => `${Math.abs(c.by).toFixed(Math.abs(c.by) < 9.5 ? 1 : 0)} cents ${c.by > 0 ? 'sharper' : 'flatter'}`;

/** "The whole stop stands where it stood, give or take 2 cents …" */
export function wholeWords(c: RunsCompared): string {
  const w = c.whole_cents;
  if (!w) return '';
  const by = `${height(w)} than it did`;
  const give = `give or take ${band(w)}`;
  return w.sure
    ? `The whole stop stands ${by}, ${give}, each time against the organ’s pitch at that day’s temperature.`
    : `The whole stop stands where it stood, ${give} cents, each time against the organ’s pitch at that day’s temperature.`;
}

const states: Record<string, string> = { speaks: 'spoke', dead: 'gave no sound', cipher: 'ciphered', wrong: 'gave another note', unsure: 'was not heard for certain' };
const statesNow: Record<string, string> = { speaks: 'now speaks', dead: 'now gives no sound', cipher: 'now ciphers', wrong: 'now gives another note', unsure: 'was not heard for certain this time' };

/** "C♯4 is 6.1 cents sharper among its neighbours." for each key of which a change can be told. */
export function changesSaid(c: RunsCompared): string[] {
  return c.notes.filter((n) => n.changed).map((n) => `${noteName(n.midi)} ${changeWords(n)}.`);
}
function changeWords(n: Note): string {
  const parts: string[] = [];
  if (n.before !== n.after) parts.push(`${states[n.before] ?? n.before}, and ${statesNow[n.after] ?? n.after}`);
  if (n.cents?.sure) parts.push(`is ${height(n.cents)} among its neighbours, give or take ${band(n.cents)}`);
  if (n.level_db?.sure) parts.push(`is ${n.level_db.by > 0 ? 'louder' : 'softer'} (${whole(n.level_db.by)} dB)`);
  if (n.speech_times?.sure) parts.push(n.speech_times.by > 1 ? `takes ${n.speech_times.by.toFixed(1)} times as long to speak` : `speaks in ${n.speech_times.by.toFixed(1)} of the time`);
  return parts.join('; ');
}

export function changePoints(c: RunsCompared, what: 'cents' | 'level_db'): Point[] {
  return c.notes.flatMap((n) => {
    const change = n[what];
    return change ? [{ midi: n.midi, value: change.by, half: change.half_width_95 }] : [];
  });
}

export const changeHeads = [
  { head: 'Key' },
  { head: 'before' },
  { head: 'now' },
  { head: 'cents', figure: true },
  { head: 'told from', figure: true },
  { head: 'dB', figure: true },
  { head: 'speech, times', figure: true },
];
export function changeRows(c: RunsCompared): string[][] {
  const told = (v: Change | null, digits: number): string => (v === null ? '–' : (v.by > 0 && digits === 1 ? '+' : '') + v.by.toFixed(digits).replace('-', '−'));
  return c.notes.map((n) => [
    noteName(n.midi) + (n.changed ? ' *' : ''),
    n.before,
    n.after,
    told(n.cents, 1),
    n.cents === null ? '–' : `± ${n.cents.half_width_95.toFixed(1)}`,
    told(n.level_db, 1),
    told(n.speech_times, 2),
  ]);
}

/** "Great Principal: 3.0 cents sharper for each kelvin …" */
export const warmthWords = (w: RunsCompared['temperature'][number]): string =>
  `${w.name}: ${w.cents_per_kelvin.toFixed(2)} cents for each °C, give or take ${w.cents_per_kelvin_95.toFixed(2)}, learnt from ${w.measurings} runs between ${w.coldest_celsius} and ${w.warmest_celsius} °C.`;
