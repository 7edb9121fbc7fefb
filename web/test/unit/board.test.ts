import { describe, expect, it } from 'vitest';
import { emptyPlace, emptyRow, filledBy, isEmpty, itemOf, itemsOf, misread, onPaper, rowOf, saidOf, tuneNamed, wordsOf, wordsText } from '../../src/lib/board';
import type { BoardItem, Tune } from '../../src/lib/types';

describe('rows of the board', () => {
  it('go to the desk and back with nothing lost, also what the page does not show', () => {
    const items: BoardItem[] = [
      { kind: 'hymn', number: '112', title: 'Winchester New', key: 'B flat', metre: '8.8.8.8', verses: 5, words: ['bold', '', 'quiet', '', 'full'], bass: 'feet', score: 'winchester-new.musicxml', play_over: 'both', tempo: 96 },
      { kind: 'psalm', number: '23', key: 'F', verses: 6, double_chant: false, gloria: true },
      { kind: 'voluntary', title: 'Voluntary in D', when: 'after', score: 'voluntary-in-d.musicxml' },
      { kind: 'fill', key: 'D', minutes: 2.5, words: ['quiet'] },
      { kind: 'note', title: 'The Lord’s Prayer', note: 'G' },
      { kind: 'voluntary', title: 'A pastorale', when: 'before', minutes: 4, cuts: ['end at bar 24', 'from bar 16 to bar 33'], places: [{ page: 1, bar: '1', word: 'soft, flutes' }, { page: 2, system: 1, bar: '17b', rest: 1.5 }, { bar: '40', word: 'mf', rest: 0 }] },
    ];
    expect(items.map(rowOf).map(itemOf)).toEqual(items);
  });
  it('that are empty are not sent, half typed ones are', () => {
    const half = { ...emptyRow(), number: '7' };
    expect(isEmpty(emptyRow())).toBe(true);
    expect(itemsOf([emptyRow(), half, emptyRow('psalm')])).toEqual([{ kind: 'hymn', number: '7' }]);
  });
  it('have what the desk says of them, which counts those that hold something', () => {
    const rows = [emptyRow(), { ...emptyRow(), number: '7' }, emptyRow(), { ...emptyRow(), number: '8' }];
    const said = saidOf(rows, [{ row: 1, message: 'verse 1: “gentel” is not known' }, { row: 1, message: 'verse 3: “no reed” is not followed' }, { row: 5, message: 'gone' }]);
    expect([...said]).toEqual([[rows[3]!.id, 'Verse 1: “gentel” is not known. Verse 3: “no reed” is not followed.']]);
  });
  it('take only verses that can be sung', () => {
    for (const [typed, verses] of [['5', 5], ['', undefined], ['many', undefined], ['0', undefined], ['61', undefined], ['-2', undefined]] as const)
      expect(itemOf({ ...emptyRow(), verses: typed }).verses).toBe(verses);
  });
});

describe('music from paper', () => {
  const piece = rowOf({ kind: 'voluntary', title: 'A pastorale', minutes: 4, places: [{ page: 2, word: 'mf' }] });
  it('is a piece without a score, and fill-in music', () => {
    expect([piece, rowOf({ kind: 'fill', minutes: 2 }), rowOf({ kind: 'voluntary', score: 'x.musicxml' }), emptyRow()].map(onPaper)).toEqual([true, true, false, false]);
  });
  it('a line of places that is still empty is not sent, nor do places stay with what has become a hymn', () => {
    const typing = { ...piece, places: [...piece.places, emptyPlace()] };
    expect(itemOf(typing).places).toEqual([{ page: 2, word: 'mf' }]);
    expect(itemOf({ ...typing, kind: 'hymn' }).places).toBeUndefined();
    expect(isEmpty({ ...emptyRow('fill'), places: [emptyPlace()] })).toBe(true);
  });
  it('says which figures it cannot take', () => {
    expect(misread({ ...piece, minutes: 'four', places: [{ ...emptyPlace(), page: 'two', system: '1', rest: '1,5' }] })).toEqual([
      '“four” is no length in minutes: a figure from 0.1 to 120.',
      '“two” is no page: a figure from 1 to 999.',
    ]);
    expect(misread({ ...emptyRow(), verses: '61' })).toHaveLength(1);
    expect(misread(piece)).toEqual([]);
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
