// What was noted while the desk was out of reach. Each note has its own key, made once at the fifth tap, so that handing
// it in twice writes it once. Kept in IndexedDB: closing the browser loses nothing.

export interface Waiting<T> {
  key: string;
  noted: string;
  value: T;
}

const store = 'waiting';

function opened(name: string): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const asking = indexedDB.open(name, 1);
    asking.onupgradeneeded = () => asking.result.createObjectStore(store, { keyPath: 'key' });
    asking.onsuccess = () => resolve(asking.result);
    asking.onerror = () => reject(new Error('This browser keeps nothing for Calcant; note the fault on paper.'));
  });
}

function done<R>(asking: IDBRequest<R>): Promise<R> {
  return new Promise((resolve, reject) => {
    asking.onsuccess = () => resolve(asking.result);
    asking.onerror = () => reject(asking.error ?? new Error('The browser could not keep the note.'));
  });
}

export class Queue<T> {
  constructor(private readonly name: string) {}

  async #with<R>(mode: IDBTransactionMode, work: (s: IDBObjectStore) => IDBRequest<R>): Promise<R> {
    const db = await opened(this.name);
    try {
      const transaction = db.transaction(store, mode, mode === 'readwrite' ? { durability: 'strict' } : {});
      const finished = new Promise<void>((resolve, reject) => {
        transaction.oncomplete = () => resolve();
        transaction.onabort = () => reject(new Error('The browser could not keep the note.'));
      });
      const result = await done(work(transaction.objectStore(store)));
      await finished;
      return result;
    } finally {
      db.close();
    }
  }

  async put(waiting: Waiting<T>): Promise<void> {
    await this.#with('readwrite', (s) => s.put(waiting));
  }
  async drop(key: string): Promise<void> {
    await this.#with('readwrite', (s) => s.delete(key));
  }
  async all(): Promise<Waiting<T>[]> {
    const list = (await this.#with('readonly', (s) => s.getAll())) as Waiting<T>[];
    return list.sort((a, b) => (a.noted < b.noted ? -1 : 1));
  }

  /**
   * Hands in what waits, oldest first, and drops what was taken. What the desk refuses stays, to be read and mended;
   * when the desk is out of reach all the rest stays.
   */
  async handIn(take: (w: Waiting<T>) => Promise<'taken' | 'out of reach' | 'refused'>): Promise<number> {
    let taken = 0;
    for (const w of await this.all()) {
      const how = await take(w);
      if (how === 'out of reach') break;
      if (how === 'refused') continue;
      await this.drop(w.key);
      taken++;
    }
    return taken;
  }
}

export const newKey = (): string => crypto.randomUUID();
