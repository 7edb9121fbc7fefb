import { describe, expect, it } from 'vitest';
import { emptyRow, filledBy, isEmpty, itemOf, itemsOf, rowOf, tuneNamed, wordsOf, wordsText } from '../../src/lib/board';
import type { BoardItem, Tune } from '../../src/lib/types';

describe('rows of the board', () => {
  it('go to the desk and back with nothing lost, also what the page does not show', () => {
    const items: BoardItem[] = [
      { kind: 'hymn', number: '112', title: 'Winchester New', key: 'B flat', metre: '8.8.8.8', verses: 5, words: ['bold', '', 'quiet', '', 'full'], bass: 'feet', score: 'winchester-new.musicxml', play_over: 'both', tempo: 96 },
      { kind: 'psalm', number: '23', key: 'F', verses: 6, double_chant: false, gloria: true },
      { kind: 'voluntary', title: 'Voluntary in D', when: 'after', score: 'voluntary-in-d.musicxml' },
      { kind: 'fill', minutes: 2 },
    ];
    expect(items.map(rowOf).map(itemOf)).toEqual(items);
  });
  it('that are empty are not sent, half typed ones are', () => {
    const half = { ...emptyRow(), number: '7' };
    expect(isEmpty(emptyRow())).toBe(true);
    expect(itemsOf([emptyRow(), half, emptyRow('psalm')])).toEqual([{ kind: 'hymn', number: '7' }]);
  });
  it('take only verses that can be sung', () => {
    for (const [typed, verses] of [['5', 5], ['', undefined], ['many', undefined], ['0', undefined], ['61', undefined], ['-2', undefined]] as const)
      expect(itemOf({ ...emptyRow(), verses: typed }).verses).toBe(verses);
  });
});

describe('words for the verses', () => {
  it('stand between commas; a dash leaves a verse as it comes', () => {
    expect(wordsOf('bold, –, quiet,,full')).toEqual(['bold', '', 'quiet', '', 'full']);
    expect(wordsOf('quiet')).toEqual(['quiet']);
    expect(wordsOf(' – , ')).toEqual([]);
    expect(wordsOf(wordsText(['bold', '', 'full']))).toEqual(['bold', '', 'full']);
  });
});

describe('tunes known from before', () => {
  const tune: Tune = { title: 'Dundee', number: '58', key: 'E flat', metre: '8.6.8.6', verses: 4, score: 'dundee.musicxml' };
  it('fill what was left empty and nothing else', () => {
    const row = filledBy({ ...emptyRow(), title: 'dundee', verses: '3' }, tune);
    expect(itemOf(row)).toEqual({ kind: 'hymn', number: '58', title: 'dundee', key: 'E flat', metre: '8.6.8.6', verses: 3, score: 'dundee.musicxml' });
  });
  it('are found however they are typed', () => {
    expect(tuneNamed([tune], ' DUNDEE ')).toBe(tune);
    expect(tuneNamed([tune], '')).toBeUndefined();
  });
});
