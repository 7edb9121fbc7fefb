import { renewSession, token } from './session';
import type { FileFault, Refusal } from './types';

// Asking the desk. Whatever goes wrong comes back as a Trouble: one sentence for the reader, and whether the desk was
// reached at all (what waits in the browser is only kept for the second).

export class Trouble extends Error {
  constructor(
    message: string,
    /** 0: the desk was not reached */
    readonly status: number,
    readonly where = '',
    readonly faults: FileFault[] = [],
  ) {
    super(message);
  }
  get outOfReach(): boolean {
    return this.status === 0;
  }
  /** It may go another time as it is: the desk is gone, busy, or was started again and this browser has not been told. */
  get passes(): boolean {
    return [0, 401, 403, 500, 503].includes(this.status);
  }
}

export const outOfReachWords =
  'The desk is out of reach. Is Calcant still running? Start it again and this page goes on where it was.';

type Method = 'GET' | 'POST' | 'PUT' | 'DELETE';
export interface Asking {
  body?: unknown;
  /** Bytes sent as they are, in place of a body of JSON. */
  bytes?: Blob;
  headers?: Record<string, string>;
  signal?: AbortSignal;
}

async function sent(method: Method, path: string, how: Asking): Promise<Response> {
  const headers: Record<string, string> = { Accept: 'application/json', ...how.headers };
  if (method !== 'GET') headers['Calcant-Token'] = token();
  const init: RequestInit = { method, headers, credentials: 'same-origin' };
  if (how.bytes) {
    headers['Content-Type'] = 'application/octet-stream';
    init.body = how.bytes;
  } else if (how.body !== undefined) {
    headers['Content-Type'] = 'application/json';
    init.body = JSON.stringify(how.body);
  }
  if (how.signal) init.signal = how.signal;
  try {
    const answer = await fetch(path, init);
    // The cookie may have been lost or be of an earlier run, while another tab has been told this run's token.
    return answer.status === 401 && method === 'GET' && (await renewSession()) ? await fetch(path, init) : answer;
  } catch (e) {
    if (e instanceof DOMException && e.name === 'AbortError') throw e;
    throw new Trouble(outOfReachWords, 0);
  }
}

async function answered(method: Method, path: string, how: Asking): Promise<Response> {
  const answer = await sent(method, path, how);
  if (answer.ok) return answer;
  throw await troubleOf(answer);
}

/** The desk's own sentence where it gave one. */
export async function troubleOf(answer: Response): Promise<Trouble> {
  const text = await answer.text().catch(() => '');
  try {
    const { error } = JSON.parse(text) as { error?: Refusal };
    if (error?.message) return new Trouble(sentence(error.message), answer.status, error.where, error.faults ?? []);
  } catch {
    // It was no JSON; the general sentence below has to do.
  }
  return new Trouble(`The desk answered something unexpected (${answer.status}). Nothing was changed.`, answer.status);
}

/** Programs' messages begin small and end without a stop; sentences on a page do not. */
export function sentence(text: string): string {
  const t = text.trim();
  if (t === '') return t;
  const begun = /^[a-z]+( |,|:)/.test(t) ? t.charAt(0).toUpperCase() + t.slice(1) : t;
  return /[.!?:…)]$/.test(begun) || begun.includes('\n') ? begun : `${begun}.`;
}

export async function ask<T>(method: Method, path: string, how: Asking = {}): Promise<T> {
  const answer = await answered(method, path, how);
  if (answer.status === 204) return undefined as T;
  return (await answer.json()) as T;
}

export const get = <T>(path: string, signal?: AbortSignal): Promise<T> => ask<T>('GET', path, signal ? { signal } : {});

export async function getText(path: string): Promise<string> {
  return (await answered('GET', path, { headers: { Accept: '*/*' } })).text();
}

export const words = (e: unknown): string => (e instanceof Error ? e.message : String(e));
