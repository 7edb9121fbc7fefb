import 'fake-indexeddb/auto';
import { beforeEach, describe, expect, it } from 'vitest';
import { back, keysOf, open, sentenceOf, toHandIn, whenWords, type FaultSaid } from '../../src/lib/fault';
import { newKey, Queue } from '../../src/lib/queue';
import { organ } from './organ';

const five: FaultSaid = { division: 'pedal', stop: 'pd-bourdon', midi: 42, what: 'dead', when: 'cold' };

describe('five answers', () => {
  it('are asked in order and make one sentence as they come', () => {
    const said: FaultSaid[] = [
      {},
      { division: 'pedal' },
      { division: 'pedal', stop: 'pd-bourdon' },
      { division: 'pedal', stop: 'pd-bourdon', midi: 42 },
      { division: 'pedal', stop: 'pd-bourdon', midi: 42, what: 'dead' },
      five,
    ];
    expect(said.map(open)).toEqual(['division', 'stop', 'note', 'what', 'when', null]);
    expect(said.map((s) => sentenceOf(organ, s))).toEqual([
      '',
      'Pedal',
      'Pedal Bourdon 16',
      'Pedal Bourdon 16, F♯2',
      'Pedal Bourdon 16, F♯2, dead',
      'Pedal Bourdon 16, F♯2, dead, when cold',
    ]);
  });
  it('are taken back one by one', () => {
    let said: FaultSaid = five;
    const seen: (string | null)[] = [];
    for (let i = 0; i < 6; i++) {
      seen.push(open(said));
      said = back(said);
    }
    expect(seen).toEqual([null, 'when', 'what', 'note', 'stop', 'division']);
  });
  it('of a whole division ask for no note, and going back asks for the stop again', () => {
    const whole: FaultSaid = { division: 'swell', stop: '', midi: null };
    expect(open(whole)).toBe('what');
    expect(sentenceOf(organ, { ...whole, what: 'running' })).toBe('Swell, the whole division, running');
    expect(back(whole)).toEqual({ division: 'swell' });
  });
  it('offer only keys the stop has', () => {
    expect(keysOf(organ, { division: 'swell', stop: 'sw-celeste' })).toEqual({ low: 48, high: 91 });
    expect(keysOf(organ, { division: 'pedal', stop: 'pd-bourdon' })).toEqual({ low: 36, high: 65 });
  });
  it('are handed in as the desk wants them', () => {
    expect(toHandIn(five, '2026-11-29')).toEqual({ division: 'pedal', stop: 'pd-bourdon', midi: 42, kind: 'dead', when: 'cold', on: '2026-11-29' });
    expect(toHandIn({ division: 'swell', stop: '', midi: null, what: 'cipher', when: 'always' }, '2026-11-29')).toEqual({ division: 'swell', kind: 'cipher', on: '2026-11-29' });
    expect(() => toHandIn({ division: 'swell' }, '2026-11-29')).toThrow();
    expect([whenWords('cold'), whenWords(''), whenWords('in March')]).toEqual(['when cold', '', 'in march']);
  });
});

describe('what waits in the browser', () => {
  let queue: Queue<string>;
  beforeEach(() => (queue = new Queue<string>(`test-${newKey()}`)));
  const noted = (n: number): string => `2026-11-29T10:00:0${n}Z`;

  it('is handed in oldest first and then gone', async () => {
    await queue.put({ key: 'b', noted: noted(2), value: 'second' });
    await queue.put({ key: 'a', noted: noted(1), value: 'first' });
    const seen: string[] = [];
    expect(await queue.handIn(async (w) => (seen.push(w.value), 'taken'))).toBe(2);
    expect(seen).toEqual(['first', 'second']);
    expect(await queue.all()).toEqual([]);
  });
  it('stays when the desk is out of reach, with the same key the next time', async () => {
    await queue.put({ key: 'a', noted: noted(1), value: 'first' });
    await queue.put({ key: 'b', noted: noted(2), value: 'second' });
    const keys: string[] = [];
    expect(await queue.handIn(async (w) => (keys.push(w.key), 'out of reach'))).toBe(0);
    expect(await queue.handIn(async (w) => (keys.push(w.key), 'taken'))).toBe(2);
    expect(keys).toEqual(['a', 'a', 'b']);
  });
  it('what is refused stays to be read and keeps nothing else from going', async () => {
    await queue.put({ key: 'a', noted: noted(1), value: 'bad' });
    await queue.put({ key: 'b', noted: noted(2), value: 'good' });
    expect(await queue.handIn(async (w) => (w.value === 'bad' ? 'refused' : 'taken'))).toBe(1);
    expect((await queue.all()).map((w) => w.value)).toEqual(['bad']);
    await queue.drop('a');
    expect(await queue.all()).toEqual([]);
  });
});
