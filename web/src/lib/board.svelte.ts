// One Sunday's board: got from the desk, saved as it is typed, and told when another tab has changed it.
import { ask, get, Trouble, words } from './api';
import { emptyRow, isEmpty, itemsOf, rowOf, type Row } from './board';
import type { Board, BoardSaved } from './types';
import { changed } from './undo.svelte';

const pause = 500; // ms without a keystroke before it is saved

export class BoardDesk {
  rows = $state<Row[]>([]);
  name = $state('');
  singers = $state('');
  prepared = $state<Board['prepared']>('no');
  problems = $state<Board['problems']>([]);
  /** What will not be followed of the words: they may stay. */
  hints = $state<Board['hints']>([]);
  readOnly = $state(false);
  invented = $state(false);
  trouble = $state('');
  /** Somebody else changed the board: what is typed here is not saved until one of the two is chosen. */
  clash = $state(false);
  saving = $state<'saved' | 'typing' | 'out of reach'>('saved');
  loaded = $state(false);
  #hash = '';
  #timer: ReturnType<typeof setTimeout> | undefined;
  #busy: Promise<void> = Promise.resolve();
  /** How often something was typed: what was asked before it is no answer to what stands there now. */
  #strokes = 0;

  constructor(readonly service: string) {}
  get #path(): string {
    return `/api/services/${this.service}`;
  }

  async load(): Promise<void> {
    try {
      this.#show(await get<Board>(this.#path));
    } catch (e) {
      if (e instanceof Trouble && e.status === 404) this.#hash = '';
      else this.trouble = words(e);
    }
    this.clash = false;
    if (!this.readOnly) this.#keepOneEmpty();
    this.loaded = true;
  }

  #show(board: Board): void {
    this.rows = board.items.map(rowOf);
    this.name = board.name;
    this.singers = board.singers === null ? '' : String(board.singers);
    this.prepared = board.prepared;
    this.problems = board.problems;
    this.hints = board.hints;
    this.readOnly = board.read_only;
    this.invented = board.invented;
    this.#hash = board.hash;
    this.trouble = '';
    if (!this.readOnly) this.#keepOneEmpty();
  }

  /** Asked for when another tab has changed services: nothing that is being typed here is overwritten. */
  async lookAgain(): Promise<void> {
    if (this.saving !== 'saved' || this.clash) return;
    await this.#busy;
    const strokes = this.#strokes;
    const hash = this.#hash;
    try {
      const board = await get<Board>(this.#path);
      if (strokes !== this.#strokes || hash !== this.#hash) return;
      if (board.hash !== this.#hash) this.#show(board);
      else this.prepared = board.prepared;
    } catch {
      // It is asked again when something is typed.
    }
  }

  #keepOneEmpty(): void {
    const end = this.rows.at(-1);
    if (!end || !isEmpty(end)) this.rows.push(emptyRow());
  }

  typed(): void {
    this.saving = 'typing';
    this.#strokes++;
    this.#keepOneEmpty();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.save(), pause);
  }

  remove(id: number): void {
    const row = this.rows.find((r) => r.id === id);
    this.rows = this.rows.filter((r) => r.id !== id);
    this.#keepOneEmpty();
    if (row && !isEmpty(row)) void this.save(`${row.title || row.number || 'The row'} was taken off the board.`);
  }

  move(id: number, by: -1 | 1): void {
    const from = this.rows.findIndex((r) => r.id === id);
    const row = this.rows[from];
    if (!row || from + by < 0 || from + by >= this.rows.length) return;
    this.rows.splice(from, 1);
    this.rows.splice(from + by, 0, row);
    this.typed();
  }

  take(rows: Row[], name: string): void {
    this.rows = rows;
    if (this.name === '') this.name = name;
    this.#keepOneEmpty();
    void this.save('The board was copied.');
  }

  /** Saves now; `said` is put on the undo bar with the way back. */
  save(said = '', over = false): Promise<void> {
    clearTimeout(this.#timer);
    if (this.readOnly) return Promise.resolve();
    this.#busy = this.#busy.then(() => this.#put(said, over));
    return this.#busy;
  }

  async #put(said: string, over: boolean): Promise<void> {
    const singers = Number.parseInt(this.singers, 10);
    const strokes = this.#strokes;
    const wish = {
      name: this.name,
      singers: singers > 0 ? singers : null,
      items: itemsOf(this.rows),
      ...(over || this.#hash === '' ? {} : { hash: this.#hash }),
    };
    try {
      const saved = await ask<BoardSaved>('PUT', this.#path, { body: wish });
      this.#hash = saved.hash;
      this.problems = saved.problems;
      this.hints = saved.hints;
      if (this.prepared === 'yes') this.prepared = 'old';
      // What was typed meanwhile is saved next.
      if (strokes === this.#strokes) this.saving = 'saved';
      this.trouble = '';
      this.clash = false;
      if (said !== '') changed(said, saved.undo, () => void this.load());
    } catch (e) {
      this.clash = e instanceof Trouble && e.status === 409;
      this.saving = e instanceof Trouble && e.passes ? 'out of reach' : 'typing';
      this.trouble = words(e);
      if (this.saving === 'out of reach') this.#timer = setTimeout(() => void this.save(said), 5000);
    }
  }
}
