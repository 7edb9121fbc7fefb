// Faults noted here and not yet in the book, and those in the book.
import { ask, get, Trouble, words } from './api';
import { newKey, Queue } from './queue';
import type { Fault, FaultsChanged, FaultWish } from './types';

interface Noted {
  wish: FaultWish;
  said: string;
}
const queue = new Queue<Noted>('calcant-faults');

const state = $state<{ waiting: { key: string; said: string; refused: string }[]; open: Fault[]; trouble: string; loaded: boolean }>({
  waiting: [],
  open: [],
  trouble: '',
  loaded: false,
});
export const faultsState = (): typeof state => state;

/** Kept in the browser first, then handed in: whatever happens between, the note is there. */
export async function noteFault(wish: FaultWish, said: string): Promise<FaultsChanged | null> {
  const key = newKey();
  await queue.put({ key, noted: new Date().toISOString(), value: { wish, said } });
  let mine: FaultsChanged | null = null;
  await handIn((k, answer) => {
    if (k === key) mine = answer;
  });
  return mine;
}

export async function dropWaiting(key: string): Promise<void> {
  await queue.drop(key);
  await showWaiting({});
}

let running: Promise<void> | null = null;
export async function handIn(told: (key: string, answer: FaultsChanged) => void = () => undefined): Promise<void> {
  await running;
  running = handInNow(told).finally(() => (running = null));
  await running;
}

async function handInNow(told: (key: string, answer: FaultsChanged) => void): Promise<void> {
  const refused: Record<string, string> = {};
  const taken = await queue.handIn(async ({ key, value }) => {
    try {
      told(key, await ask<FaultsChanged>('POST', '/api/faults', { body: { key, ...value.wish } satisfies FaultWish }));
      return 'taken';
    } catch (e) {
      if (!(e instanceof Trouble) || e.passes) return 'out of reach';
      refused[key] = e.message;
      return 'refused';
    }
  });
  await showWaiting(refused);
  if (taken > 0) await loadFaults();
}

async function showWaiting(refused: Record<string, string>): Promise<void> {
  const all = await queue.all();
  state.waiting = all.map((w) => ({ key: w.key, said: w.value.said, refused: refused[w.key] ?? '' }));
}

export async function loadFaults(): Promise<void> {
  try {
    state.open = (await get<{ faults: Fault[] }>('/api/faults')).faults.filter((f) => f.closed === '');
    state.trouble = '';
    state.loaded = true;
  } catch (e) {
    state.trouble = words(e);
  }
}
