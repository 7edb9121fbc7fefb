// What the player has changed by hand: where it stands in a plan, and how it is said. Pure.
import { knobGroups } from './drawn';
import type { Changes, ChangeWish, OrganShown, Plan } from './types';

type Item = Plan['items'][number];
type Section = Item['sections'][number];
type Cue = Plan['cues'][number];

export type Place = Pick<ChangeWish, 'item' | 'standing' | 'verse' | 'bar' | 'beat' | 'time'>;
/** What was typed for a place and not yet asked for. */
export interface Typed {
  word?: string;
  draw?: string;
}

/** As wishes name an item: number and title, without what the sheet says of when it is played. */
export const itemName = (item: Item): string => `${item.number} ${item.title.replace(/ \((before|after) the service\)$/, '')}`.trim();

/** Where an item stands on the board more than once: that it is the first, the second ... of them. */
export function standingOf(plan: Plan, item: Item): Pick<Place, 'standing'> {
  const name = itemName(item).toLowerCase();
  const alike = plan.items.filter((i) => itemName(i).toLowerCase() === name);
  return alike.length > 1 ? { standing: alike.indexOf(item) + 1 } : {};
}

/**
 * The place of a section that can be given a word or a registration of its own; null where its verse has it. Of a piece with
 * a score only where it is known what its bars are counted in (4, 8, 2; 0 where it is not: then at bar lines alone).
 */
export function placeOf(item: Item, section: Section, beatTypeOf?: (bar: string) => number): Place | null {
  const name = itemName(item);
  if (item.kind === 'piece' && section.from.bar !== '') {
    const { bar, at, pass } = section.from;
    const [over = 0, under = 1] = at.split('/').map(Number);
    const type = beatTypeOf?.(bar) ?? -1;
    if (type < 0 || (type === 0 && over !== 0)) return null;
    const beat = 1 + ((over / under) * type) / 4;
    return { item: name, bar, ...(beat === 1 ? {} : { beat }), ...(pass > 1 ? { time: pass } : {}) };
  }
  if (/, (second half|line )/.test(section.label)) return null;
  if (section.label === 'Gloria') return { item: name, verse: 'Gloria' };
  return { item: name, verse: section.from.verse === 0 && item.kind !== 'piece' ? 'play-over' : String(Math.max(1, section.from.verse)) };
}

const same = (a: Place, b: Place): boolean => a.item === b.item && (a.standing ?? b.standing) === (b.standing ?? a.standing) && a.verse === b.verse && a.bar === b.bar && (a.beat ?? 1) === (b.beat ?? 1) && (a.time ?? 1) === (b.time ?? 1);

export const wordAt = (changes: Changes, place: Place): string | undefined => changes.words.find((w) => same(w, place))?.word;
export const drawAt = (changes: Changes, place: Place): string | undefined => changes.fixed.find((f) => same(f, place))?.draw;
export const movedAt = (changes: Changes, place: Place): Changes['moved'][number] | undefined => changes.moved.find((m) => same(m, place));
export const isYours = (changes: Changes, place: Place): boolean =>
  wordAt(changes, place) !== undefined || drawAt(changes, place) !== undefined || movedAt(changes, place) !== undefined;

/** Where the hands are, for a registration that is to be led from the same manuals. */
export function handsOf(section: Section): Pick<ChangeWish, 'right' | 'left' | 'pedal'> {
  const { right, left, feet } = section.keyboards;
  return { ...(right && left ? { right, left } : {}), pedal: feet !== null };
}

/** Knobs as they are typed; those the specification does not list (a tremulant) keep the name they have in the plan. */
export function typedNames(organ: OrganShown, ids: readonly string[], names: readonly string[]): string[] {
  const known = knobGroups(organ).flatMap((g) => g.knobs);
  const drawn = known.filter((k) => ids.includes(k.id)).map((k) => k.said);
  return [...drawn, ...names.filter((_, i) => !known.some((k) => k.id === ids[i]))];
}

/** What a cue moves, to be moved elsewhere; null where that cannot be said at another place: hands that go with it, a second box. */
export function movesOf(organ: OrganShown, cue: Cue): Pick<ChangeWish, 'draw' | 'put_in' | 'box'> | null {
  if (cue.keyboards || cue.boxes.some((b) => b.id !== organ.boxes[0]?.id)) return null;
  const [draw, put_in] = [typedNames(organ, cue.draw, cue.draw_names), typedNames(organ, cue.put_in, cue.put_in_names)].map((n) => n.join(', '));
  return { ...(draw ? { draw } : {}), ...(put_in ? { put_in } : {}), ...(cue.boxes[0] ? { box: cue.boxes[0].opening } : {}) };
}

/** What a list of names may go on with: the names that are not there yet, behind what stands before the last comma. */
export function completions(organ: OrganShown, known: readonly string[], typed: string): string[] {
  const parts = typed.split(',');
  const before = parts.slice(0, -1).map((p) => p.trim());
  const last = (parts.at(-1) ?? '').trim().toLowerCase();
  const boxes = organ.boxes.flatMap((b) => (b.hitches.length > 0 ? b.hitches : [0, 0.5]).map((h) => `${b.name}=${h}`));
  return [...known, ...boxes].filter((k) => !before.includes(k) && k.toLowerCase().includes(last)).map((k) => [...before, k].join(', '));
}
