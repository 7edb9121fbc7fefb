import { describe, expect, it } from 'vitest';
import { completions, drawAt, handsOf, isYours, itemName, movedAt, movesOf, placeOf, standingOf, wordAt } from '../../src/lib/changes';
import type { Changes, Plan } from '../../src/lib/types';
import { organ } from './organ';

type Item = Plan['items'][number];
const from = { bar: '', bar_index: 0, at: '0', pass: 1, verse: 1, line: 1 };
const section = (label: string, more: Partial<Item['sections'][number]['from']> = {}): Item['sections'][number] => ({
  label, kind: 'harmony', wish: '', from: { ...from, ...more }, draw: [], draw_names: [], box: null, boxes: [],
  keyboards: { right: 'great', left: 'swell', feet: null }, phon: null, pedal_phon: null, why: [], advice: [], fixed: false,
});
const item = (kind: string, title: string, number = ''): Item => ({
  kind, number, title, subtitle: '', play_over: [], notes: [], search: { choices: 0, cost: 0 }, sections: [], remarks: [],
});

describe('what is changed by hand', () => {
  it('is named as wishes name it', () => {
    expect(itemName(item('hymn', 'Dundee', '58'))).toBe('58 Dundee');
    expect(itemName(item('piece', 'Voluntary in D (after the service)'))).toBe('Voluntary in D');
  });

  it('has a place: a verse, the play-over, the Gloria, a bar', () => {
    const hymn = item('hymn', 'Dundee', '58');
    expect(placeOf(hymn, section('Play-over', { verse: 0 }))).toEqual({ item: '58 Dundee', verse: 'play-over' });
    expect(placeOf(hymn, section('Verse 3', { verse: 3 }))).toEqual({ item: '58 Dundee', verse: '3' });
    expect(placeOf(item('psalm', 'Psalm 23'), section('Gloria', { verse: 7 }))).toEqual({ item: 'Psalm 23', verse: 'Gloria' });
    // The second half of a psalm's verse, and what is moved within a verse, belong to the verse.
    expect(placeOf(hymn, section('Verse 3, second half', { verse: 3 }))).toBeNull();
    expect(placeOf(hymn, section('Verse 3, line 2', { verse: 3 }))).toBeNull();
  });

  it('in a piece counts the beats of its bars: six quavers are six beats', () => {
    const piece = item('piece', 'Voluntary in D');
    const at = section('Bar 17', { bar: '17', at: '3/2', verse: 0 });
    expect(placeOf(piece, at)).toBeNull(); // on a Sunday that is changed on the page of the piece
    expect(placeOf(piece, at, () => 4)).toEqual({ item: 'Voluntary in D', bar: '17', beat: 2.5 });
    expect(placeOf(piece, at, () => 8)).toEqual({ item: 'Voluntary in D', bar: '17', beat: 4 });
    expect(placeOf(piece, at, () => 0)).toBeNull(); // what its bars are counted in is not known
    expect(placeOf(piece, section('Bar 17', { bar: '17', verse: 0 }), () => 0)).toEqual({ item: 'Voluntary in D', bar: '17' });
    // Of a bar that is repeated, each time through is a place of its own.
    expect(placeOf(piece, section('Bar 17', { bar: '17', verse: 0, pass: 2 }), () => 4)).toEqual({ item: 'Voluntary in D', bar: '17', time: 2 });
  });

  it('is found again at its place, and nowhere else', () => {
    const changes: Changes = {
      steps: 2, words: [{ item: '58 Dundee', verse: '2', word: 'soft' }],
      fixed: [{ item: 'Voluntary in D', bar: '17', beat: 1, draw: 'Oboe 8' }, { item: 'Voluntary in D', bar: '17', beat: 1, time: 2, draw: 'Dulciana 8' }],
      moved: [{ item: 'Voluntary in D', bar: '20', beat: 3, as_before: true, draw: '', put_in: '' }], forbidden: [], feet: [],
    };
    expect(wordAt(changes, { item: '58 Dundee', verse: '2' })).toBe('soft');
    expect(drawAt(changes, { item: 'Voluntary in D', bar: '17' })).toBe('Oboe 8');
    expect(drawAt(changes, { item: 'Voluntary in D', bar: '17', time: 2 })).toBe('Dulciana 8');
    expect(drawAt(changes, { item: 'Voluntary in D', bar: '17', time: 3 })).toBeUndefined();
    expect(movedAt(changes, { item: 'Voluntary in D', bar: '20', beat: 3 })?.as_before).toBe(true);
    expect(isYours(changes, { item: 'Voluntary in D', bar: '20' })).toBe(false);
    expect(isYours(changes, { item: '58 Dundee', verse: '3' })).toBe(false);
    expect(isYours(changes, { item: 'Voluntary in D', bar: '17', beat: 2 })).toBe(false);
  });

  it('belongs to one of two alike on a board, or to both where it was said of both', () => {
    const board = { items: [item('hymn', 'Dundee', '58'), item('hymn', 'St Anne', '247'), item('hymn', 'Dundee', '58')] } as unknown as Plan;
    expect(board.items.map((i) => standingOf(board, i).standing)).toEqual([1, undefined, 2]);
    const changes: Changes = {
      steps: 2, words: [{ item: '58 Dundee', standing: 2, verse: '1', word: 'soft' }, { item: '58 Dundee', verse: '3', word: 'full' }],
      fixed: [], moved: [], forbidden: [], feet: [],
    };
    const verse = (standing: number, v: string): string | undefined => wordAt(changes, { item: '58 Dundee', standing, verse: v });
    expect([verse(1, '1'), verse(2, '1'), verse(1, '3'), verse(2, '3')]).toEqual([undefined, 'soft', 'full', 'full']);
  });

  it('is moved as it is carried out: what is drawn, what is put in, the box; not where the hands go with it', () => {
    const great = organ.divisions[0]!;
    const id = great.stops[0]!.id;
    const cue: Plan['cues'][number] = {
      item: 0, section: 1, moment: { ...from, line: 0 }, draw: [id, 'tremulant'], draw_names: [great.stops[0]!.name, 'Tremulant'], put_in: [], put_in_names: [],
      boxes: [{ id: organ.boxes[0]!.id, opening: 0.5 }], keyboards: null, window: null, hand: 'nobody', sides: [], why: '', fixed: false,
    } as unknown as Plan['cues'][number];
    expect(movesOf(organ, cue)).toEqual({ draw: expect.stringMatching(/, Tremulant$/) as string, box: 0.5 });
    expect(movesOf(organ, { ...cue, boxes: [{ id: 'another', opening: 0 }] })).toBeNull();
    expect(movesOf(organ, { ...cue, keyboards: { right: 'swell', left: 'swell', feet: null } })).toBeNull();
  });

  it('keeps the hands where they are, and completes the last name of a list', () => {
    expect(handsOf(section('Verse 1'))).toEqual({ right: 'great', left: 'swell', pedal: false });
    const known = ['Great: Open Diapason 8', 'Twelfth 2 2/3', 'Bourdon 16'];
    expect(completions(organ, known, 'Bourdon 16, tw')).toEqual(['Bourdon 16, Twelfth 2 2/3']);
    expect(completions(organ, known, 'Bourdon 16,')).not.toContain('Bourdon 16, Bourdon 16');
    expect(completions(organ, known, 'box')).toEqual(['Swell box=0', 'Swell box=0.4', 'Swell box=1']);
  });
});
