import { describe, expect, it } from 'vitest';
import { changePoints, changesSaid, wholeWords } from '../../src/lib/compared';
import { byHand, decisionWords, inOrder, noted, same, secondsTyped, withdrawn } from '../../src/lib/corrections';
import { faultsOf } from '../../src/lib/finding-faults';
import type { CutUp, Decision, RunFinding, RunsCompared } from '../../src/lib/types';

describe('corrections', () => {
  const d4: Decision = { what: 'speaks', midi: 62, from_s: 10, to_s: 12 };
  it('one of a key or of a stretch takes the place of the one before', () => {
    const dead: Decision = { what: 'dead', midi: 62 };
    expect(noted([d4], [dead])).toEqual([dead]);
    expect(noted([d4], [{ what: 'nothing', from_s: 11, to_s: 13 }])).toEqual([{ what: 'nothing', from_s: 11, to_s: 13 }]);
    expect(noted([d4], [{ what: 'speaks', midi: 63, from_s: 12, to_s: 14 }])).toHaveLength(2);
    expect(noted([], [d4, { ...d4, midi: 63, from_s: 12, to_s: 14 }])).toHaveLength(2);
    expect(withdrawn([dead, { what: 'dead', midi: 63 }], d4)).toEqual([{ what: 'dead', midi: 63 }]);
  });
  it('are the same in any order, and told in words', () => {
    const talk: Decision = { what: 'nothing', from_s: 1, to_s: 2 };
    expect(same([d4, talk], [talk, d4])).toBe(true);
    expect(same([d4], [{ ...d4, to_s: 13 }])).toBe(false);
    expect(decisionWords(d4)).toBe('D4: its pipe, 10.0 – 12.0 s');
    expect(decisionWords(talk)).toBe('no note: left alone, 1.0 – 2.0 s');
  });
  it('lines follow the recording, a silent key the one before it', () => {
    const lines = [d4, { what: 'dead', midi: 63 }, { what: 'speaks', midi: 64, from_s: 14, to_s: 15 }, { what: 'nothing', from_s: 11, to_s: 11.5 }].map((d) => ({ ...d, by_hand: false })) as CutUp['decisions'];
    expect(inOrder(lines).map((d) => d.midi)).toEqual([62, 63, undefined, 64]);
    expect(byHand({ decisions: [{ ...d4, by_hand: true }, { ...d4, midi: 63, by_hand: false }] } as CutUp)).toEqual([d4]);
  });
  it('times are read as they are typed', () => {
    expect([' 12,5 ', '7', '1.234', 'x', '-1', '1e5', ''].map(secondsTyped)).toEqual([12.5, 7, 1.234, null, null, null, null]);
  });
});

describe('two runs compared', () => {
  const note = (midi: number, by: number, sure: boolean, more = {}): RunsCompared['notes'][number] => ({ midi, note: '', before: 'speaks', after: 'speaks', changed: sure, cents: { by, half_width_95: 0.6, sure }, level_db: null, speech_times: null, ...more });
  const c = { whole_cents: { by: -0.4, half_width_95: 1.9, sure: false }, notes: [note(60, 0.2, false), note(61, 6.1, true), note(62, 0, true, { after: 'dead', cents: null })] } as unknown as RunsCompared;
  it('says what changed, and no more', () => {
    expect(wholeWords(c)).toMatch(/stands where it stood, give or take 2 cents/);
    expect(wholeWords({ ...c, whole_cents: { by: 4.2, half_width_95: 1.9, sure: true } })).toMatch(/4.2 cents sharper than it did, give or take 2/);
    expect(changesSaid(c)).toEqual(['C♯4 is 6.1 cents sharper among its neighbours, give or take 1.', 'D4 spoke, and now gives no sound.']);
    expect(changePoints(c, 'cents')).toEqual([{ midi: 60, value: 0.2, half: 0.6 }, { midi: 61, value: 6.1, half: 0.6 }]);
  });
});

describe('a finding in the fault book', () => {
  const finding = (kind: string, keys: number[]): RunFinding => ({ kind, keys, shared: '', amount: 0, sentence: 'It beats.', causes: [], tests: [], who: 'builder' });
  const run = { stop: 'gt-principal', date: '2026-11-20' };
  it('is a fault a key, of the whole stop where there are many', () => {
    expect(faultsOf(finding('out of tune', [60, 62]), run, 'great')).toEqual([60, 62].map((midi) => ({ division: 'great', stop: 'gt-principal', midi, kind: 'out of tune', on: '2026-11-20' })));
    expect(faultsOf(finding('late', [1, 2, 3, 4, 5, 6, 7]), run, 'great')).toEqual([{ division: 'great', stop: 'gt-principal', kind: 'late', on: '2026-11-20' }]);
    expect(faultsOf(finding('beats', [60]), run, 'great')[0]).toMatchObject({ kind: 'other', words: 'It beats.' });
  });
});
