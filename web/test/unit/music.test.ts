import { describe, expect, it } from 'vitest';
import { drawnOf, drawText, keysFor, knobGroups, louderWords, playedOn } from '../../src/lib/drawn';
import { boxWords, changesOf, changeWords, graduallyWords, groupsOf, linesOf, momentWords, timeWords } from '../../src/lib/plan';
import { barAt } from '../../src/lib/bars';
import { pitchText, printed } from '../../src/lib/specification';
import type { Plan } from '../../src/lib/types';
import { organ } from './organ';

describe('the specification as printed', () => {
  it('sets the pitch to the right, fractions as organists print them', () => {
    expect(organ.divisions.flatMap((d) => d.stops.map(printed)).map((s) => [s.name, s.pitch, s.remark])).toEqual([
      ['Open Diapason', '8', ''],
      ['Twelfth', '2⅔', ''],
      ['Open Diapason', '8', ''],
      ['Voix Celeste', '8', 'from tenor C'],
      ['Mixture', 'II', ''],
      ['Bourdon', '16', ''],
    ]);
    expect(['1 3/5', '2/3', 'Twelfth 2 2/3', 'Twelfth 2 2/3, Gt: Tierce 1 3/5 (R)', 'bar 13/4', 'in 3/4'].map(pitchText)).toEqual(['1⅗', '⅔', 'Twelfth 2⅔', 'Twelfth 2⅔, Gt: Tierce 1⅗ (R)', 'bar 13/4', 'in 3/4']);
  });
});

describe('what is drawn', () => {
  it('is written as the program reads it, with the division where a name stands twice', () => {
    const said = knobGroups(organ).flatMap((g) => g.knobs.map((k) => k.said));
    expect(said).toContain('Great: Open Diapason 8');
    expect(said).toContain('Bourdon 16');
    const drawn = { knobs: ['sw-open', 'sw-gt', 'pd-bourdon'], boxes: { box: 0.4 } };
    const text = drawText(organ, drawn);
    expect(text).toBe('Swell: Open Diapason 8, Bourdon 16, Swell to Great, Swell box=0.4');
    const read = drawnOf(organ, text);
    expect([...read.knobs].sort()).toEqual([...drawn.knobs].sort());
    expect(read.boxes).toEqual(drawn.boxes);
  });
  it('leaves out what this organ does not have', () => {
    expect(drawnOf(organ, 'Tuba 8, Bourdon 16, =, Swell box=x')).toEqual({ knobs: ['pd-bourdon'], boxes: {} });
  });
  it('is weighed on the first manual that sounds', () => {
    expect(playedOn(organ, { knobs: ['pd-bourdon', 'sw-open'], boxes: {} })).toBe('swell');
    expect(playedOn(organ, { knobs: ['pd-bourdon'], boxes: {} })).toBe('pedal');
    expect(keysFor(organ, 'pedal')).toBe('Pedal:C2');
  });
  it('is said to be louder or softer in words', () => {
    expect([0.4, 2, -2, 5, -9].map((d) => louderWords(80 + d, 80))).toEqual(['about as loud as', 'a shade more than', 'a shade less than', 'clearly louder than', 'much softer than']);
  });
});

describe('the bar that sounds', () => {
  it('is told from when each began, also the second time', () => {
    const heard = [[1, 0], [0, 4], [1, 7], [2, 11]].map(([bar_index = 0, at_s = 0]) => ({ bar_index, at_s }));
    expect([0, 3.9, 4, 6.9, 7.5, 99].map((s) => barAt(heard, s))).toEqual([1, 1, 0, 0, 1, 2]);
    expect(barAt([], 3)).toBe(null);
  });
});

describe('a plan at the bench', () => {
  const from = { bar: '1', bar_index: 0, at: '0', pass: 1, verse: 0, line: 0 };
  const section = (label: string, draw: string[]): Plan['items'][number]['sections'][number] => ({
    label, kind: 'harmony', wish: '', from, draw, draw_names: draw.map((d) => d.toUpperCase()), box: 0, boxes: [{ id: 'box', opening: 0 }],
    keyboards: { right: 'great', left: 'great', feet: null }, phon: null, pedal_phon: null, why: [], advice: [], fixed: false,
  });
  const plan: Plan = {
    version: 1, organ: { id: 'tiny', name: 'Tiny', invented: true, hash: '' }, overlay: { day: '', origin: '', hash: '', faults: [] }, score: null,
    initial: { draw: [], draw_names: [], box: null, boxes: [], keyboards: { right: null, left: null, feet: null } }, staves: [],
    items: [{ kind: 'hymn', number: '58', title: 'Dundee', subtitle: '', play_over: [], notes: [], search: { choices: 0, cost: 0 }, sections: [section('Verse 1', ['gt-open']), section('Verse 2', ['gt-open', 'sw-gt'])], remarks: [] }],
    cues: [{
      item: 0, section: 1, moment: { ...from, verse: 1 }, draw: ['sw-gt'], put_in: [], draw_names: ['Swell to Great'], put_in_names: [], box: 1, boxes: [{ id: 'box', opening: 1 }],
      keyboards: null, hand: 'right', sides: ['right'], window: { from, to: from, needed_s: 1, available_s: 2 }, why: '', fixed: false,
    }],
    remarks: [],
  };
  it('gives the complete state and the change of every verse', () => {
    const lines = linesOf(organ, plan);
    expect(lines.map((l) => [l.heading, l.label, l.changes])).toEqual([
      ['58  Dundee', 'v1', []],
      ['58  Dundee', 'v2', [{ words: ['+ Swell to Great (R)', 'box open'], when: 'at v1’s last chord', helper: false }]],
    ]);
    expect(lines[1]?.state).toEqual([
      { name: 'Great', knobs: [{ name: 'GT-OPEN', fresh: false }] },
      { name: 'Couplers', knobs: [{ name: 'SW-GT', fresh: true }] },
    ]);
    expect(lines[0]?.manner).toEqual(['box shut', 'hands on Great, no pedal']);
  });
  it('leaves out none of the changes of one place, and says whose hand is wanted', () => {
    const piece = structuredClone(plan);
    const [item, cue] = [piece.items[0], piece.cues[0]];
    if (!item || !cue) throw new Error('the plan has an item and a cue');
    item.kind = 'piece';
    item.sections = [section('Bar 1', []), { ...section('Bar 26', ['gt-open', 'gt-prin']), from: { ...from, bar: '26' } }];
    const bare = { ...cue, draw: [], draw_names: [], boxes: [], sides: [], keyboards: null };
    const at = (bar: string): typeof cue.window => ({ from: { ...from, bar }, to: { ...from, bar }, needed_s: 1, available_s: 2 });
    piece.cues = [
      { ...bare, hand: 'foot', boxes: [{ id: 'box', opening: 0 }], moment: { ...from, bar: '25' }, window: at('25') },
      { ...bare, hand: 'helper', draw: ['gt-prin'], draw_names: ['Principal 4'], sides: ['right'], window: at('26') },
      { ...bare, hand: 'nobody', keyboards: { right: 'great', left: 'great', feet: 'pedal' }, moment: { ...from, bar: '26' }, window: at('26') },
    ];
    const pressed = { ...bare, draw: ['gt-prin'], draw_names: ['Principal 4'], sides: ['foot'], pressed: 'gt-1', pressed_name: 'Great composition pedal 1' };
    expect(changeWords(organ, pressed)).toEqual(['+ Principal 4', 'by the Great composition pedal 1']);
    const line = linesOf(organ, piece)[1];
    expect(line?.changes.map((c) => c.words)).toEqual([['box shut'], ['+ Principal 4 (R)'], ['→ hands on Great']]);
    expect(line && changesOf(line)).toBe('box shut  (bar 25); helper:  + Principal 4 (R)  (from bar 26); → hands on Great');
    expect(line?.state.flatMap((g) => g.knobs.map((k) => k.fresh))).toEqual([false, true]);
    piece.cues = [{ ...piece.cues[0]!, gradual: true }];
    expect(changesOf(linesOf(organ, piece)[1]!)).toBe('shut box gradually  (from bar 25)');
    // Where nothing moves there is no line, unless it is asked for.
    piece.cues = [];
    expect(linesOf(organ, piece)).toHaveLength(1);
    expect(linesOf(organ, piece, (_, s) => s.from.bar === '26')).toHaveLength(2);
  });
  it('tells what was said of a verse and is not followed', () => {
    const said = structuredClone(plan);
    const second = said.items[0]?.sections[1];
    if (!second) throw new Error('the plan has a second verse');
    Object.assign(second, { kind: 'unison', wish: 'soft', note: '“no reed” is not followed' });
    expect(linesOf(organ, said).map((l) => [l.wish, l.note])).toEqual([['', ''], ['unison, soft', '“no reed” is not followed']]);
    // In a piece too, where nothing moves for it.
    const piece = structuredClone(said);
    if (piece.items[0]) piece.items[0].kind = 'piece';
    piece.cues = [];
    expect(linesOf(organ, piece).map((l) => l.note)).toEqual(['', '“no reed” is not followed']);
  });
  it('says moments and boxes in words', () => {
    expect(momentWords({ ...from, bar: '32', at: '13/4', pass: 2 })).toBe('bar 32, beat 4.25, second time');
    expect([0, 0.4, 0.6, 1].map(boxWords)).toEqual(['shut', 'a little open', 'half open', 'open']);
    expect([0, 0.4, 0.6, 1].map((o) => graduallyWords('box', o))).toEqual(['shut box gradually', 'box gradually to a little open', 'box gradually to half open', 'open box gradually']);
    expect([1, 2, 3, 12].map(timeWords)).toEqual(['', ', second time', ', third time', ', 12th time']);
    expect(groupsOf(organ, [], [], [])).toEqual([]);
  });
});
