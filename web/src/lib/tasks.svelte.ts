// Long work: handed to the desk, which answers with a task; one stream of events a tab tells how far it is. After a lost
// connexion the state of every task still waited for is asked again, so that none is waited for in vain.
import { ask, get, sentence, Trouble } from './api';
import type { Task } from './types';

/** What a page shows of work under way. With a name it is found again by the tab that began it, after a reload or a step back. */
export class Work<T> {
  busy = $state(false);
  fraction = $state<number | null>(null);
  what = $state('');
  trouble = $state('');
  result = $state<T | null>(null);
  #task = '';
  #given = 0;

  constructor(readonly name = '') {}
  #keep(task: string): void {
    if (this.name === '') return;
    if (task === '') sessionStorage.removeItem(`task ${this.name}`);
    else sessionStorage.setItem(`task ${this.name}`, task);
  }
  /** Waits for what this tab had begun and not seen the end of; nothing where there is none. */
  async resume(): Promise<T | null> {
    const task = this.name === '' ? null : sessionStorage.getItem(`task ${this.name}`);
    return task === null || this.busy ? null : this.run(() => Promise.resolve({ task }));
  }

  /** `begin` asks for the work and gives the task's name, or the answer itself where it was ready at once. */
  async run(begin: () => Promise<{ task: string } | { ready: T }>): Promise<T | null> {
    const mine = ++this.#given;
    this.busy = true;
    this.fraction = null;
    this.what = '';
    this.trouble = '';
    try {
      const begun = await begin();
      const result = 'ready' in begun ? begun.ready : await this.#wait(begun.task, mine);
      if (mine !== this.#given) return null;
      this.result = result;
      return result;
    } catch (e) {
      if (mine === this.#given && !(e instanceof Cancelled)) this.trouble = e instanceof Error ? e.message : String(e);
      return null;
    } finally {
      if (mine === this.#given) this.busy = false;
    }
  }

  async cancel(): Promise<void> {
    this.#given++;
    this.busy = false;
    const task = this.#task;
    this.#task = '';
    this.#keep('');
    if (task !== '') await ask('DELETE', `/api/tasks/${encodeURIComponent(task)}`).catch(() => undefined);
  }

  async #wait(task: string, mine: number): Promise<T> {
    this.#task = task;
    this.#keep(task);
    const last = await follow(task, (s) => {
      if (mine !== this.#given) return;
      this.fraction = s.state === 'working' ? s.share : null;
      this.what = s.what;
    });
    if (mine === this.#given) {
      this.#task = '';
      this.#keep('');
    }
    if (last.state === 'cancelled') throw new Cancelled();
    if (last.state === 'failed') throw new Trouble(sentence(last.error?.message ?? 'It could not be done'), 500);
    return last.result as T;
  }
}

class Cancelled extends Error {}

type Listener = (state: Task) => void;
const waitedFor = new Map<string, Set<Listener>>();
let stream: EventSource | null = null;

const ended = (s: Task): boolean => s.state === 'done' || s.state === 'failed' || s.state === 'cancelled';

function tell(state: Task): void {
  for (const listener of waitedFor.get(state.task) ?? []) listener(state);
}

type Changed = 'organ' | 'faults' | 'services' | 'pieces' | 'runs' | 'saved' | 'trial';
const changes = new Map<Changed, Set<() => void>>();

/** Calls `again` when another tab, or the command line's book, has changed that; gives how to stop listening. */
export function whenChanged(what: Changed, again: () => void): () => void {
  const all = changes.get(what) ?? new Set<() => void>();
  all.add(again);
  changes.set(what, all);
  listen();
  return () => all.delete(again);
}

function listen(): void {
  if (stream && stream.readyState !== EventSource.CLOSED) return;
  stream = new EventSource('/api/events');
  for (const kind of ['progress', 'failed', 'cancelled']) {
    stream.addEventListener(kind, (e) => tell(JSON.parse((e as MessageEvent<string>).data) as Task));
  }
  // Events are small: what came of the work is asked for.
  stream.addEventListener('done', (e) => void askFor((JSON.parse((e as MessageEvent<string>).data) as Task).task));
  stream.addEventListener('changed', (e) => {
    const { changed } = JSON.parse((e as MessageEvent<string>).data) as { changed: Changed[] };
    for (const what of changed) for (const again of changes.get(what) ?? []) again();
  });
  stream.addEventListener('again', () => {
    for (const all of changes.values()) for (const again of all) again();
  });
  stream.onopen = () => void askAgain();
  // A desk that refuses the stream (started again, with a new token) ends it for good; try later.
  stream.onerror = () => {
    if (stream?.readyState === EventSource.CLOSED) setTimeout(listen, 3000);
  };
}

async function askFor(task: string): Promise<void> {
  if (!waitedFor.has(task)) return;
  try {
    tell(await get<Task>(`/api/tasks/${encodeURIComponent(task)}`));
  } catch (e) {
    if (!(e instanceof Trouble) || e.status !== 404) return;
    const message = 'Calcant was started again while this was being worked out; ask for it again';
    tell({ task, kind: 'prepare', title: '', share: 0, what: '', state: 'failed', error: { message, where: '' } });
  }
}

// An event can be lost on the way (a browser that slept, an answer that failed): what is waited for is asked after too.
const patience = 15_000;
let asking: ReturnType<typeof setInterval> | undefined;
function beSure(): void {
  asking ??= setInterval(() => {
    if (waitedFor.size > 0) return void askAgain();
    clearInterval(asking);
    asking = undefined;
  }, patience);
}

async function askAgain(): Promise<void> {
  for (const task of waitedFor.keys()) await askFor(task);
}

/** Waits for work begun elsewhere; what went wrong is thrown as a sentence. */
export async function whenEnded(task: string): Promise<void> {
  const last = await follow(task, () => undefined);
  if (last.state !== 'done') throw new Trouble(sentence(last.error?.message ?? 'It was not done'), 500);
}

function follow(task: string, progress: Listener): Promise<Task> {
  return new Promise((resolve) => {
    const listeners = waitedFor.get(task) ?? new Set<Listener>();
    const mine: Listener = (s) => {
      progress(s);
      if (!ended(s)) return;
      listeners.delete(mine);
      if (listeners.size === 0) waitedFor.delete(task);
      resolve(s);
    };
    listeners.add(mine);
    waitedFor.set(task, listeners);
    listen();
    beSure();
    // It may have ended before anyone listened.
    void askFor(task);
  });
}
