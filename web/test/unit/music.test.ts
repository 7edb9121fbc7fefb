import { describe, expect, it } from 'vitest';
import { drawnOf, drawText, keysFor, knobGroups, louderWords, playedOn } from '../../src/lib/drawn';
import { boxWords, groupsOf, linesOf, momentWords } from '../../src/lib/plan';
import { barAt, heardFrom, playingOrder, type BarLines } from '../../src/lib/playing-order';
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
    expect(pitchText('1 3/5')).toBe('1⅗');
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

describe('the order of bars', () => {
  const bar = (more: Partial<BarLines> = {}): BarLines => ({ label: '', repeatBegins: false, repeatEnds: 0, endings: [], ...more });
  it('takes repeats, and first and second endings', () => {
    expect(playingOrder([bar(), bar(), bar()])).toEqual([0, 1, 2]);
    expect(playingOrder([bar(), bar({ repeatEnds: 2 }), bar()])).toEqual([0, 1, 0, 1, 2]);
    expect(playingOrder([bar(), bar({ repeatBegins: true }), bar({ repeatEnds: 3 }), bar()])).toEqual([0, 1, 2, 1, 2, 1, 2, 3]);
    expect(playingOrder([bar(), bar({ endings: [1], repeatEnds: 2 }), bar({ endings: [2] }), bar()])).toEqual([0, 1, 0, 2, 3]);
    // two repeats one after the other, neither with a sign at its beginning
    expect(playingOrder([bar({ repeatEnds: 2 }), bar({ repeatEnds: 2 })])).toEqual([0, 0, 1, 1]);
  });
  it('tells the bar that sounds, from any bar on', () => {
    const order = [0, 1, 0, 1, 2];
    const heard = heardFrom(order, [0, 3, 7], 11, 1); // bars of 3, 4 and 4 quarters, from the second
    expect(heard.map((h) => h.at)).toEqual([0, 4, 7, 11]);
    expect([0, 3.9, 4, 6.9, 7.5, 99].map((q) => barAt(heard, q))).toEqual([1, 1, 0, 0, 1, 2]);
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
    expect(lines.map((l) => [l.heading, l.label, l.change, l.when])).toEqual([
      ['58  Dundee', 'v1', [], ''],
      ['58  Dundee', 'v2', ['+ Swell to Great (R)', 'box open'], 'at v1’s last chord'],
    ]);
    expect(lines[1]?.state).toEqual([
      { name: 'Great', knobs: [{ name: 'GT-OPEN', fresh: false }] },
      { name: 'Couplers', knobs: [{ name: 'SW-GT', fresh: true }] },
    ]);
    expect(lines[0]?.manner).toEqual(['box shut', 'hands on Great, no pedal']);
  });
  it('says moments and boxes in words', () => {
    expect(momentWords({ ...from, bar: '32', at: '13/4', pass: 2 })).toBe('bar 32, beat 4.25, second time');
    expect([0, 0.4, 0.6, 1].map(boxWords)).toEqual(['shut', 'a little open', 'half open', 'open']);
    expect(groupsOf(organ, [], [], [])).toEqual([]);
  });
});
