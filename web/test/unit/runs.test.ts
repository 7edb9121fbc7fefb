import { describe, expect, it } from 'vitest';
import { pointsOf, rowsOf, silent, spanOf, ticks, type NoteOf } from '../../src/lib/runs';

const note = (midi: number, more: Partial<NoteOf>): NoteOf =>
  ({ midi, note: '', state: 'speaks', start_s: 0, hz: 440, cents: 0, cents_95: 1, in_run_cents: 0, in_run_cents_95: 0.5, ruled_by: '', rise_ms: 10, speech_ms: 40, room_limited: false, level_db: -20, level_db_95: 1, pipes_heard: 1, harmonics_db: [], rank: '', pipe: 1, ...more }) as NoteOf;

describe('a run along the keys', () => {
  const notes = [note(60, { in_run_cents: 3 }), note(61, { state: 'does not speak', hz: null, in_run_cents: null, level_db: null, speech_ms: null }), note(62, { in_run_cents: -4, in_run_cents_95: 2 })];
  it('plots what has a figure, with its interval, and says what has none', () => {
    expect(pointsOf(notes, 'in_run_cents')).toEqual([{ midi: 60, value: 3, half: 0.5 }, { midi: 62, value: -4, half: 2 }]);
    expect(silent(notes)).toEqual(['C♯4: does not speak']);
  });
  it('has every key in the table', () => {
    expect(rowsOf(notes).map((r) => r.slice(0, 4))).toEqual([['C4', 'speaks', '440.00', '3.0'], ['C♯4', 'does not speak', '–', '–'], ['D4', 'speaks', '440.00', '-4.0']]);
  });
  it('leaves room for every bar, and nought where it says something', () => {
    const span = spanOf(pointsOf(notes, 'in_run_cents'), true, 4);
    expect(span.low).toBeLessThan(-6);
    expect(span.high).toBeGreaterThan(3.5);
    const flat = spanOf([{ midi: 60, value: 2, half: 0 }], false, 6);
    expect(flat.high - flat.low).toBeCloseTo(6);
  });
  it('is measured off in round steps', () => {
    expect(ticks(-6, 4)).toEqual([-6, -4, -2, 0, 2, 4]);
    expect(ticks(0, 0.35)).toEqual([0, 0.1, 0.2, 0.3]);
    expect(ticks(1, 1)).toEqual([1]);
  });
});
