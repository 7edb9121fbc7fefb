// Registrations saved by name in the organ's book, and the one held to compare with; the same on every part of the page.
import { ask, get, words } from './api';
import { whenChanged } from './tasks.svelte';
import type { Saved, SavedChanged, SavedRegistration } from './types';
import { changed } from './undo.svelte';

const book = $state<{ saved: SavedRegistration[]; loaded: boolean; trouble: string; held: string }>({ saved: [], loaded: false, trouble: '', held: '' });

export const saved = (): SavedRegistration[] => book.saved;
export const savedLoaded = (): boolean => book.loaded;
export const savedTrouble = (): string => book.trouble;
/** What is held to compare with, in words. */
export const held = (): string => book.held;
export const hold = (draw: string): void => void (book.held = draw);

let listening = false;
export async function loadSaved(afresh = false): Promise<void> {
  if (!listening) whenChanged('saved', () => void loadSaved(true));
  listening = true;
  if (book.loaded && !afresh) return;
  try {
    book.saved = (await get<Saved>('/api/saved')).saved;
    Object.assign(book, { loaded: true, trouble: '' });
  } catch (e) {
    book.trouble = words(e);
  }
}

const path = (name: string): string => `/api/saved/${encodeURIComponent(name)}`;
const again = (): void => void loadSaved(true);

/** Errors are the caller's to show. */
export async function save(name: string, draw: string, remark: string, replace: boolean): Promise<void> {
  const done = await ask<SavedChanged>('PUT', path(name), { body: { draw, remark, replace } });
  book.saved = done.saved;
  changed(`Saved as “${name}”.`, done.undo, again);
}

export async function forget(name: string): Promise<void> {
  const done = await ask<SavedChanged>('DELETE', path(name));
  book.saved = done.saved;
  changed(`“${name}” is forgotten.`, done.undo, again);
}

export async function rename(old: SavedRegistration, name: string): Promise<void> {
  const done = await ask<SavedChanged>('POST', `${path(old.name)}/rename`, { body: { to: name } });
  book.saved = done.saved;
  changed(`“${old.name}” is called “${name}” now.`, done.undo, again);
}
