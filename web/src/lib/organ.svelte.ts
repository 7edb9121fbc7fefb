// The organ of this desk, asked for once and kept; asked for again when its file or its book has changed.
import { get, Trouble, words } from './api';
import { whenChanged } from './tasks.svelte';
import type { Desk, OrganAnswer, OrganShown, Refusal } from './types';

const known = $state<{ answer: OrganAnswer | null; trouble: string; none: boolean; problem: Refusal | null; asked: boolean }>({
  answer: null,
  trouble: '',
  none: false,
  problem: null,
  asked: false,
});

export const organ = (): OrganShown | null => known.answer?.specification ?? null;
export const organAnswer = (): OrganAnswer | null => known.answer;
export const organTrouble = (): string => known.trouble;
/** The folder holds no organ yet. */
export const noOrgan = (): boolean => known.none;

/** Why the organ's file cannot be read, where it cannot. */
export const fileProblem = (): Refusal | null => known.problem;

export async function loadOrgan(afresh = false): Promise<void> {
  if (known.asked && !afresh && known.trouble === '') return;
  if (!known.asked) whenChanged('organ', () => void loadOrgan(true));
  known.asked = true;
  try {
    known.answer = await get<OrganAnswer>('/api/organ');
    Object.assign(known, { none: false, problem: null, trouble: '' });
  } catch (e) {
    known.answer = null;
    await askWhy(e);
  }
}

// No organ yet and a file that cannot be read are told apart by the desk.
async function askWhy(e: unknown): Promise<void> {
  const refused = e instanceof Trouble && (e.status === 409 || e.status === 422 || e.status === 404);
  try {
    const desk = refused ? await get<Desk>('/api/desk') : null;
    known.none = desk !== null && desk.organ === null && desk.problem === null;
    known.problem = desk?.problem ?? null;
    known.trouble = known.none || known.problem ? '' : words(e);
  } catch (again) {
    known.trouble = words(again);
  }
}
