// The hymn board as it is typed: rows of plain text, and what they mean to the desk. Pure.
import { sentence } from './api';
import type { BoardItem, Tune } from './types';

export type Kind = BoardItem['kind'];
type PaperPlace = NonNullable<BoardItem['places']>[number];
/** A place in a copy on paper, as it is typed. */
export interface Place {
  id: number;
  page: string;
  system: string;
  bar: string;
  word: string;
  rest: string;
}
export interface Row {
  /** of the row on the screen, so that typing stays where it is when rows move */
  id: number;
  kind: Kind;
  number: string;
  title: string;
  key: string;
  metre: string;
  verses: string;
  words: string;
  /** how long fill-in music or a piece from paper lasts */
  minutes: string;
  /** to be given */
  note: string;
  places: Place[];
  /** where it may end or be cut, one after another behind semicolons */
  cuts: string;
  /** what this page does not show and must not lose */
  rest: Partial<BoardItem>;
}

export const kinds: readonly { value: Kind; word: string }[] = [
  { value: 'hymn', word: 'Hymn' },
  { value: 'psalm', word: 'Psalm' },
  { value: 'voluntary', word: 'Piece' },
  { value: 'fill', word: 'Fill-in' },
  { value: 'note', word: 'A note' },
];
/** Music that has no notes here: improvised, or played from a copy on paper. */
export const onPaper = (r: Row): boolean => r.kind === 'fill' || (r.kind === 'voluntary' && r.rest.score === undefined);

let last = 0;
const nothing = { number: '', title: '', key: '', metre: '', verses: '', words: '', minutes: '', note: '', cuts: '' };
const typedNothing = (texts: object): boolean => Object.values(texts).every((t) => typeof t !== 'string' || t.trim() === '');
export const emptyRow = (kind: Kind = 'hymn'): Row => ({ id: ++last, kind, ...nothing, places: [], rest: {} });
export const emptyPlace = (): Place => ({ id: ++last, page: '', system: '', bar: '', word: '', rest: '' });
export const isEmptyPlace = (p: Place): boolean => typedNothing(p);
export const isEmpty = (r: Row): boolean => typedNothing({ ...r, kind: '' }) && r.places.every(isEmptyPlace) && r.rest.score === undefined;

const figure = (n: number | undefined): string => (n === undefined ? '' : String(n));
const placeTyped = (p: PaperPlace): Place => ({ id: ++last, page: figure(p.page), system: figure(p.system), bar: p.bar ?? '', word: p.word ?? '', rest: figure(p.rest) });
export function rowOf(item: BoardItem): Row {
  const { kind, number = '', title = '', key = '', metre = '', verses = 0, words = [], minutes, note = '', places = [], cuts = [], ...rest } = item;
  const typed = { number, title, key, metre, verses: verses > 0 ? String(verses) : '', words: wordsText(words), minutes: figure(minutes), note, cuts: cuts.join('; ') };
  return { id: ++last, kind, ...typed, places: places.map(placeTyped), rest };
}

const within = (typed: string, low: number, high: number, read: (t: string) => number): number | undefined => {
  const n = read(typed.trim().replace(',', '.'));
  return n >= low && n <= high ? n : undefined;
};
const whole = (typed: string, low: number, high: number): number | undefined => within(typed, low, high, (t) => Number.parseInt(t, 10));
const measure = (typed: string, low: number, high: number): number | undefined => within(typed, low, high, Number.parseFloat);
/** What was typed and means something. */
function said<T extends object>(all: { [K in keyof T]?: T[K] | undefined }): T {
  return Object.fromEntries(Object.entries(all).filter(([, v]) => v !== undefined && v !== '' && (!Array.isArray(v) || v.length > 0))) as T;
}
const placeOf = (p: Place): PaperPlace =>
  said<PaperPlace>({ page: whole(p.page, 1, 999), system: whole(p.system, 1, 30), bar: p.bar.trim(), word: p.word.trim(), rest: measure(p.rest, 0, 600) });

export function itemOf(r: Row): BoardItem {
  const sung = r.kind === 'hymn' || r.kind === 'psalm';
  return said<BoardItem>({
    kind: r.kind,
    ...r.rest,
    number: r.number.trim(),
    title: r.title.trim(),
    key: r.key.trim(),
    metre: r.metre.trim(),
    verses: whole(r.verses, 1, 60),
    words: wordsOf(r.words),
    minutes: measure(r.minutes, 0.1, 120),
    note: r.note.trim(),
    cuts: r.cuts.split(';').map((c) => c.trim()).filter((c) => c !== '').slice(0, 12),
    // A row that was a piece and is a hymn now keeps them only as long as it is not saved so.
    places: sung ? [] : r.places.filter((p) => !isEmptyPlace(p)).map(placeOf),
  });
}

/** Figures that were typed and cannot be taken, in words. */
export function misread(r: Row): string[] {
  const out: string[] = [];
  const is = (typed: string, read: number | undefined, what: string, range: string): void => {
    if (typed.trim() !== '' && read === undefined) out.push(`“${typed.trim()}” is no ${what}: ${range}.`);
  };
  const sung = r.kind === 'hymn' || r.kind === 'psalm';
  if (sung) is(r.verses, whole(r.verses, 1, 60), 'number of verses', 'a figure from 1 to 60');
  if (onPaper(r)) is(r.minutes, measure(r.minutes, 0.1, 120), 'length in minutes', 'a figure from 0.1 to 120');
  for (const p of onPaper(r) ? r.places : []) {
    is(p.page, whole(p.page, 1, 999), 'page', 'a figure from 1 to 999');
    is(p.system, whole(p.system, 1, 30), 'system of a page', 'a figure from 1 to 30, counted from the top');
    is(p.rest, measure(p.rest, 0, 600), 'time in seconds', 'a figure from 0 to 600');
  }
  return out;
}

/** What the desk says of rows, which counts those that hold something, by the row's id. */
export function saidOf(rows: readonly Row[], said: readonly { row: number; message: string }[]): Map<number, string> {
  const out = new Map<number, string>();
  const filled = rows.filter((r) => !isEmpty(r));
  for (const { row, message } of said) {
    const id = filled[row]?.id;
    if (id !== undefined) out.set(id, [out.get(id) ?? '', sentence(message)].join(' ').trim());
  }
  return out;
}

export const itemsOf = (rows: readonly Row[]): BoardItem[] => rows.filter((r) => !isEmpty(r)).map(itemOf);

/** "bold, –, quiet": a word a verse between commas; a dash, or nothing, leaves a verse as it comes. One alone is for all. */
export function wordsOf(text: string): string[] {
  if (text.trim() === '') return [];
  const words = text.split(',').map((w) => w.trim()).map((w) => (/^[-–—]$/.test(w) ? '' : w));
  return words.every((w) => w === '') ? [] : words.slice(0, 60);
}
export const wordsText = (words: readonly string[]): string =>
  words.every((w) => w === '') ? '' : words.map((w) => (w === '' ? '–' : w)).join(', ');

/** What is known of a tune fills what was left empty; what was typed stays. */
export function filledBy(row: Row, tune: Tune): Row {
  const or = (typed: string, known: string | undefined): string => (typed.trim() === '' ? (known ?? '') : typed);
  const verses = or(row.verses, tune.verses === undefined ? '' : String(tune.verses));
  const filled: Row = { ...row, key: or(row.key, tune.key), metre: or(row.metre, tune.metre), number: or(row.number, tune.number), verses };
  if (tune.score !== undefined && row.rest.score === undefined) filled.rest = { ...row.rest, score: tune.score };
  return filled;
}

export function tuneNamed(tunes: readonly Tune[], title: string): Tune | undefined {
  const wanted = title.trim().toLowerCase();
  return wanted === '' ? undefined : tunes.find((t) => t.title.toLowerCase() === wanted);
}
