// A wish in words, as the page asks it, its address holds it and the desk takes it. Pure.
import { drawnOf, drawText, type Drawn } from './drawn';
import type { Choice, ChooseWish, OrganShown } from './types';

export const levels = ['very soft', 'soft', 'rather soft', 'moderate', 'rather loud', 'loud', 'full'] as const;
/** Levels that are said against another registration. */
export const comparisons = ['a shade less than', 'as loud as', 'a shade more than', 'softer', 'louder'] as const;
export type Level = (typeof levels)[number] | (typeof comparisons)[number] | 'enough for';

export interface Wish {
  /** id of the keyboard; empty: the first manual */
  on: string;
  level: Level;
  /** of a comparison: a saved name, or stops */
  than: string;
  singers: number;
  colour: 'any' | 'darker' | 'brighter';
  /** knobs as they are said */
  must: string[];
  not: string[];
  /** stops a tune is played on, above what is asked for */
  solo: string;
}

type Query = Record<string, string | undefined>;
const list = (text = ''): string[] => text.split(',').map((s) => s.trim()).filter((s) => s !== '');
const allLevels: readonly string[] = [...levels, ...comparisons, 'enough for'];

export function wishOf(query: Query): Wish {
  const said = query['level'] ?? '';
  const level = allLevels.includes(said) ? (said as Level) : 'moderate';
  const colour = query['colour'];
  const singers = Number(query['singers'] ?? 40);
  return {
    on: query['on'] ?? '',
    level,
    than: query['than'] ?? '',
    singers: Number.isInteger(singers) && singers >= 1 && singers <= 5000 ? singers : 40,
    colour: colour === 'darker' || colour === 'brighter' ? colour : 'any',
    must: list(query['must']),
    not: list(query['not']),
    solo: query['solo'] ?? '',
  };
}

/** What is as it would be anyway is left out of the address. */
export function queryOf(wish: Wish): Record<string, string | undefined> {
  return {
    on: wish.on,
    level: wish.solo === '' ? wish.level : undefined,
    than: wish.solo === '' && needsThan(wish.level) ? wish.than : undefined,
    singers: wish.level === 'enough for' ? String(wish.singers) : undefined,
    colour: wish.colour === 'any' ? undefined : wish.colour,
    must: wish.must.join(','),
    not: wish.not.join(','),
    solo: wish.solo,
  };
}

export const needsThan = (level: Level): boolean => (comparisons as readonly string[]).includes(level);
/** Nothing is asked before it is said what is compared with. */
export const askable = (wish: Wish): boolean => wish.solo !== '' || !needsThan(wish.level) || wish.than.trim() !== '';

export const answersAsked = 12;

export function bodyOf(wish: Wish): ChooseWish {
  const body: ChooseWish = { colour: wish.colour, limit: answersAsked };
  if (wish.must.length > 0) body.must = wish.must.join(', ');
  if (wish.not.length > 0) body.not = wish.not.join(', ');
  if (wish.solo !== '') {
    body.solo = wish.solo;
    if (wish.on !== '') body.under = wish.on;
    return body;
  }
  if (wish.on !== '') body.manual = wish.on;
  if (wish.level === 'softer' || wish.level === 'louder') {
    body.level = wish.level;
    body.from = wish.than.trim();
  } else if (needsThan(wish.level)) {
    body.level = `${wish.level} ${wish.than.trim()}`;
  } else {
    body.level = wish.level === 'enough for' ? `enough for ${wish.singers}` : wish.level;
  }
  return body;
}

export function wishWords(organ: OrganShown, wish: Wish): string {
  const on = organ.divisions.find((d) => d.keyboard === wish.on)?.name ?? manuals(organ)[0]?.name ?? '';
  const parts: string[] = [];
  if (wish.solo !== '') parts.push(`${wish.solo} above, what is under it on the ${on}`);
  else if (wish.level === 'enough for') parts.push(`on the ${on}, enough for ${wish.singers} singers`);
  else if (wish.level === 'softer' || wish.level === 'louder') parts.push(`on the ${on}, ${wish.level} than ${wish.than}`);
  else if (needsThan(wish.level)) parts.push(`on the ${on}, ${wish.level} ${wish.than}`);
  else parts.push(`on the ${on}, ${wish.level}`);
  if (wish.colour !== 'any') parts.push(wish.colour);
  if (wish.must.length > 0) parts.push(`with ${wish.must.join(', ')}`);
  if (wish.not.length > 0) parts.push(`without ${wish.not.join(', ')}`);
  const text = parts.join('; ');
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Keyboards for the hands. */
export function manuals(organ: OrganShown): { id: string; name: string }[] {
  return organ.divisions.flatMap((d) => (d.keyboard !== undefined && d.pedal !== true ? [{ id: d.keyboard, name: d.name }] : []));
}

/** An answer of the desk as what is drawn. */
export function drawnOfAnswer(organ: OrganShown, answer: Pick<Choice, 'draw' | 'box'>): Drawn {
  const drawn = drawnOf(organ, answer.draw.join(', '));
  const { box } = answer;
  for (const b of organ.boxes) {
    const opening = typeof box === 'number' ? box : (box?.[b.id] ?? 1);
    if (opening < 1) drawn.boxes[b.id] = opening;
  }
  return drawn;
}

export const textOfAnswer = (organ: OrganShown, answer: Pick<Choice, 'draw' | 'box'>): string => drawText(organ, drawnOfAnswer(organ, answer));

const colourTold = 0.06; // acum; the printed reasons call less the same colour
const figures = /\b(phon|acum|sone|dB)\b/;
const bare = (reason: string): string => reason.replace(/\s*\([^)]*\d[^)]*\)/g, '').trim();

/** Why this one, in words; the sentences with figures stand behind details. */
export function reasonsInWords(answer: Choice): string[] {
  const told = answer.reasons.filter((r) => !figures.test(r) && !/litres of wind/.test(r)).map(bare);
  const heard = (drawn: boolean): typeof answer.one_knob_away =>
    answer.one_knob_away
      .filter((n) => n.drawn === drawn && n.difference !== '' && !/^(no|not|in)/.test(n.difference))
      .sort((a, b) => Math.abs(b.phon) - Math.abs(a.phon))
      .slice(0, 3);
  const colour = (acum: number): string => (acum > colourTold ? ', brighter' : acum < -colourTold ? ', darker' : '');
  const said = (all: typeof answer.one_knob_away): string => all.map((n) => `${n.name}: ${n.difference}${colour(n.acum)}`).join('; ');
  const off = heard(true);
  const on = heard(false);
  if (off.length > 0 && answer.draw.length > 1) told.push(`with one put in, ${said(off)}`);
  if (on.length > 0) told.push(`one knob more, ${said(on)}`);
  return told;
}

export function closenessWords(evenness: number | null): string {
  if (evenness === null) return 'not every step is louder';
  if (evenness < 1.5) return 'very even';
  if (evenness < 2.5) return 'even';
  return evenness < 4 ? 'uneven' : 'very uneven';
}
