// What was just changed, and how to take it back. One thing at a time: the next change takes the bar's place.
import { ask, words } from './api';
import type { Undo } from './types';


interface Bar {
  said: string;
  undo: Undo | null;
  after: (() => void) | null;
}

const bar = $state<{ now: Bar | null }>({ now: null });
export const undoBar = (): Bar | null => bar.now;

/** "Hymn taken off the board": with `undo`, a button beside it; `after` is called when it was taken back. */
export function changed(said: string, undo?: Undo | null, after?: () => void): void {
  bar.now = { said, undo: undo ?? null, after: after ?? null };
}
export function putAway(): void {
  bar.now = null;
}

export async function takeBack(): Promise<void> {
  const was = bar.now;
  if (!was?.undo) return;
  try {
    await ask(was.undo.method, was.undo.path, was.undo.body === undefined ? {} : { body: was.undo.body });
    bar.now = { said: 'Taken back.', undo: null, after: null };
    was.after?.();
  } catch (e) {
    bar.now = { said: words(e), undo: was.undo, after: was.after };
  }
}
