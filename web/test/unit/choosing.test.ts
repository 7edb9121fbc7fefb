import { describe, expect, it } from 'vitest';
import { groupsOfDrawn, louderBy, stepsShown } from '../../src/lib/buildup';
import { keysFor } from '../../src/lib/drawn';
import { cellBeside, nearestCell, rowsOfMap, sizeOf } from '../../src/lib/map';
import { cutAtRules } from '../../src/lib/rules';
import { answerText, rowsOfTrial, standing } from '../../src/lib/trial';
import type { Choice, MapCell, RegistrationMap, Trial } from '../../src/lib/types';
import { askable, bodyOf, closenessWords, drawnOfAnswer, manuals, queryOf, reasonsInWords, textOfAnswer, wishOf, wishWords } from '../../src/lib/wish';
import { organ } from './organ';

describe('a wish', () => {
  it('is the same after its address', () => {
    for (const query of [
      {},
      { on: 'great', level: 'soft', colour: 'darker' },
      { level: 'a shade more than', than: 'quiet verse' },
      { level: 'enough for', singers: '25', must: 'Swell to Great,Great: Open Diapason 8', not: 'Twelfth 2 2/3' },
      { on: 'great', solo: 'Swell: Open Diapason 8' },
    ]) {
      const wish = wishOf(query);
      const again = Object.fromEntries(Object.entries(queryOf(wish)).filter(([, v]) => v !== undefined && v !== ''));
      expect(wishOf(again)).toEqual(wish);
    }
  });
  it('takes what no address should say as the usual', () => {
    expect(wishOf({ level: 'deafening', colour: 'blue', singers: '-4' })).toEqual(wishOf({}));
    expect(wishOf({}).level).toBe('moderate');
  });
  it('is asked as the desk takes it', () => {
    expect(bodyOf(wishOf({ on: 'great', level: 'soft', colour: 'darker', must: 'Swell to Great', not: 'a,b' }))).toEqual({ manual: 'great', level: 'soft', colour: 'darker', must: 'Swell to Great', not: 'a, b', limit: 12 });
    expect(bodyOf(wishOf({ level: 'enough for', singers: '40' })).level).toBe('enough for 40');
    expect(bodyOf(wishOf({ level: 'a shade less than', than: ' quiet verse ' })).level).toBe('a shade less than quiet verse');
    expect(bodyOf(wishOf({ level: 'softer', than: 'Open Diapason 8' }))).toMatchObject({ level: 'softer', from: 'Open Diapason 8' });
    const solo = bodyOf(wishOf({ on: 'great', level: 'soft', solo: 'Swell: Open Diapason 8' }));
    expect(solo).toEqual({ solo: 'Swell: Open Diapason 8', under: 'great', colour: 'any', limit: 12 });
  });
  it('is not asked before it says what it is compared with', () => {
    expect(askable(wishOf({ level: 'softer' }))).toBe(false);
    expect(askable(wishOf({ level: 'softer', than: 'x' }))).toBe(true);
    expect(askable(wishOf({ level: 'softer', solo: 'x' }))).toBe(true);
  });
  it('is said in a sentence', () => {
    expect(wishWords(organ, wishOf({ on: 'swell', level: 'soft', colour: 'darker' }))).toBe('On the Swell, soft; darker');
    expect(wishWords(organ, wishOf({ level: 'enough for', singers: '25', not: 'a' }))).toBe('On the Great, enough for 25 singers; without a');
    expect(manuals(organ).map((m) => m.name)).toEqual(['Great', 'Swell']);
  });
});

const answer: Choice = {
  draw: ['Great: Open Diapason 8', 'Swell: Mixture II', 'Swell to Great'],
  box: 0.4,
  played_semitones: 0,
  phon: 80,
  brightness_acum: 1.4,
  points: 3,
  reasons: ['80 phon in the nave, the mean of its chords (81, 80, 78)', 'brighter than 94 in 100 of what is allowed at this level (brightness 1.44)', 'the hands play an octave higher: what is drawn sounds at the written pitch', 'takes 1 litres of wind a second and 8 pipes'],
  one_knob_away: [
    { name: 'Open Diapason 8', drawn: true, phon: -4, acum: 0.1, difference: 'clearly softer' },
    { name: 'Twelfth 2 2/3', drawn: false, phon: 0.1, acum: 0.1, difference: 'no audible difference' },
    { name: 'Bourdon 16', drawn: false, phon: 2, acum: -0.2, difference: 'audible' },
  ],
  advice: [],
};

describe('an answer', () => {
  it('is what would be drawn, box and all', () => {
    expect(drawnOfAnswer(organ, answer)).toEqual({ knobs: ['gt-open', 'sw-mixture', 'sw-gt'], boxes: { box: 0.4 } });
    expect(textOfAnswer(organ, { ...answer, box: { box: 0 } })).toBe('Great: Open Diapason 8, Mixture II, Swell to Great, Swell box=0');
    expect(textOfAnswer(organ, { ...answer, box: null })).toBe('Great: Open Diapason 8, Mixture II, Swell to Great');
  });
  it('gives its reasons without figures', () => {
    expect(reasonsInWords(answer)).toEqual([
      'brighter than 94 in 100 of what is allowed at this level',
      'the hands play an octave higher: what is drawn sounds at the written pitch',
      'with one put in, Open Diapason 8: clearly softer, brighter',
      'one knob more, Bourdon 16: audible, darker',
    ]);
  });
  it('is held on a chord that moves with the hands', () => {
    expect(keysFor(organ, 'great', 12)).toBe('Great:C5,E5,G5,C6');
    expect(keysFor(organ, 'pedal', 12)).toBe('Pedal:C2');
  });
});

describe('a build-up', () => {
  const step = (draw: string[], box: number, louder_phon: number) => ({ draw, box, phon: 80, louder_phon, knobs_moved: 1, made_ready: 0 });
  it('says what moves, step by step', () => {
    const steps = stepsShown(organ, [step(['Great: Open Diapason 8'], 1, 0), step(['Great: Twelfth 2 2/3', 'Swell: Mixture II'], 0, 2), step(['Great: Twelfth 2 2/3', 'Swell: Mixture II'], 1, 4)]);
    expect(steps.map((s) => s.change)).toEqual([[], ['+ Twelfth 2 2/3', '+ Mixture II', 'off: Great: Open Diapason 8', 'box shut'], ['box open']]);
    expect(steps.map((s) => s.how)).toEqual(['to begin', 'a shade louder', 'clearly louder']);
    // A box is told only where it holds something that is drawn.
    expect(steps.map((s) => s.manner)).toEqual([[], ['Swell box shut'], ['Swell box open']]);
    expect(groupsOfDrawn(organ, steps[1]!.draw).state.map((g) => g.name)).toEqual(['Great', 'Swell']);
  });
  it('is even or not in words', () => {
    expect([1.2, 2, 3, 9, null].map(closenessWords)).toEqual(['very even', 'even', 'uneven', 'very uneven', 'not every step is louder']);
    expect([0.5, 10].map(louderBy)).toEqual(['hardly louder', 'much louder']);
  });
});

describe('the map', () => {
  const cell = (phon: number, acum: number, states = 1, allowed = 0): MapCell => ({ phon, acum, states, allowed, draw: [], box: null, draw_phon: phon, draw_acum: acum });
  const map: RegistrationMap = { manual: 'great', heard: '', states: 8, phon_step: 1, acum_step: 0.05, cells: [cell(70.5, 1.025, 4, 2), cell(70.5, 1.075, 2), cell(72.5, 1.025), cell(72.5, 1.125)] };
  const [a, b, c, d] = map.cells as [MapCell, MapCell, MapCell, MapCell];
  it('finds the nearest place, a step of either kind weighing the same', () => {
    expect(nearestCell(map, 70, 1.03)).toBe(a);
    expect(nearestCell(map, 71.4, 1.08)).toBe(b);
    expect(nearestCell({ ...map, cells: [] }, 1, 1)).toBeNull();
  });
  it('goes from place to place and stays at the edge', () => {
    expect(cellBeside(map, a, 'louder')).toBe(c);
    expect(cellBeside(map, a, 'brighter')).toBe(b);
    expect(cellBeside(map, d, 'darker')).toBe(c);
    expect(cellBeside(map, d, 'louder')).toBe(d);
    expect(cellBeside(map, c, 'softer')).toBe(a);
  });
  it('is told as a table', () => {
    expect(rowsOfMap(map)).toEqual([
      ['70 to 71', '6', '2', '1.02 to 1.07'],
      ['72 to 73', '2', '0', '1.02 to 1.13'],
    ]);
    expect(sizeOf(a, 4)).toBe(1);
    expect(sizeOf(c, 1000)).toBe(0.25);
  });
});

describe('the ear trial', () => {
  const pair = (number: number, answered: 'first' | 'second' | 'same' | null): Trial['pairs'][number] => ({ number, question: 'louder', keys: '', first: 'x', second: 'y', answered, ...(answered === null ? {} : { predicted: 'first' as const }) });
  const trial: Trial = { date: '2026-11-20', heard: 'agreed with your ear in 1 of 2 (2026-11-20)', levels: [], pairs: [pair(1, 'first'), pair(2, 'same'), pair(3, null)] };
  it('says how it stands', () => {
    expect(standing(trial)).toBe('The model agreed with your ear in 1 of 2; 1 still to answer.');
    expect(standing({ ...trial, pairs: trial.pairs.slice(0, 2) })).toBe('The model agreed with your ear in 1 of 2.');
    expect(standing({ ...trial, pairs: [pair(1, null)] })).toBe('The sheet of 20 November waits for its 1 answers.');
    expect(standing({ ...trial, pairs: [] })).toBe('');
  });
  it('tells what was drawn only of what was answered', () => {
    expect(rowsOfTrial(trial)).toEqual([
      [1, 'Which was louder?', 'x', 'y', 'A', 'as computed'],
      [2, 'Which was louder?', 'x', 'y', 'the same', 'A was computed'],
    ]);
  });
  it('answers as the desk takes it', () => {
    expect([answerText(3, 'A'), answerText(4, 'the same'), answerText(5, '')]).toEqual(['3 A', '4 same', '5 -']);
  });
});

describe('the rules a reason names', () => {
  it('are cut out of it, and nothing else is', () => {
    expect(cutAtRules('the usual order (R4), not R44b or R100')).toEqual([
      { text: 'the usual order (', rule: false },
      { text: 'R4', rule: true },
      { text: '), not R44b or R100', rule: false },
    ]);
    expect(cutAtRules('R15 to R17').map((p) => p.rule)).toEqual([true, false, true]);
    expect(cutAtRules('no rule')).toEqual([{ text: 'no rule', rule: false }]);
  });
});
