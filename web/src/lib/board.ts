// The hymn board as it is typed: rows of plain text, and what they mean to the desk. Pure.
import type { BoardItem, Tune } from './types';

export type Kind = BoardItem['kind'];
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
  /** what this page does not show and must not lose */
  rest: Partial<BoardItem>;
}

export const kinds: readonly { value: Kind; word: string }[] = [
  { value: 'hymn', word: 'Hymn' },
  { value: 'psalm', word: 'Psalm' },
  { value: 'voluntary', word: 'Piece' },
];

let last = 0;
export function emptyRow(kind: Kind = 'hymn'): Row {
  return { id: ++last, kind, number: '', title: '', key: '', metre: '', verses: '', words: '', rest: {} };
}
export const isEmpty = (r: Row): boolean =>
  [r.number, r.title, r.key, r.metre, r.verses, r.words].every((s) => s.trim() === '') && r.rest.score === undefined;

export function rowOf(item: BoardItem): Row {
  const { kind, number = '', title = '', key = '', metre = '', verses = 0, words = [], ...rest } = item;
  return { id: ++last, kind, number, title, key, metre, verses: verses > 0 ? String(verses) : '', words: wordsText(words), rest };
}

export function itemOf(r: Row): BoardItem {
  const item: BoardItem = { kind: r.kind, ...r.rest };
  const texts = { number: r.number.trim(), title: r.title.trim(), key: r.key.trim(), metre: r.metre.trim() };
  for (const [name, text] of Object.entries(texts)) if (text !== '') Object.assign(item, { [name]: text });
  const verses = Number.parseInt(r.verses, 10);
  if (verses > 0 && verses <= 60) item.verses = verses;
  const words = wordsOf(r.words);
  if (words.length > 0) item.words = words;
  return item;
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
