// What was just changed, and how to take it back. One thing at a time: the next change takes the bar's place.
import { ask, words } from './api';
import { whenEnded } from './tasks.svelte';
import type { Undo } from './types';

interface Bar {
  said: string;
  /** all of them, the last first; none: it cannot be taken back */
  undo: Undo[];
  after: (() => void) | null;
}

const bar = $state<{ now: Bar | null }>({ now: null });
export const undoBar = (): Bar | null => bar.now;

/** "Hymn taken off the board": with `undo`, a button beside it; `after` is called when it was taken back. */
export function changed(said: string, undo?: Undo | null, after?: () => void): void {
  changedTo(said, undo ? [undo] : [], after);
}
/** The same for what was changed in several steps. */
export function changedTo(said: string, undo: Undo[], after?: () => void): void {
  bar.now = { said, undo, after: after ?? null };
}
export function putAway(): void {
  bar.now = null;
}

export async function takeBack(): Promise<void> {
  const was = bar.now;
  if (!was || was.undo.length === 0) return;
  const left = [...was.undo];
  try {
    for (let one = left.at(-1); one; one = left.at(-1)) {
      const answer = await ask<{ task?: string } | undefined>(one.method, one.path, one.body === undefined ? {} : { body: one.body });
      if (answer?.task !== undefined) {
        bar.now = { said: 'It is being taken back …', undo: [], after: null };
        await whenEnded(answer.task);
      }
      left.pop();
    }
    bar.now = { said: 'Taken back.', undo: [], after: null };
    was.after?.();
  } catch (e) {
    bar.now = { said: words(e), undo: left, after: was.after };
  }
}
