// The organ of this desk, asked for once and kept; asked for again when its file or its book has changed.
import { get, Trouble, words } from './api';
import { whenChanged } from './tasks.svelte';
import type { OrganAnswer, OrganFile, OrganShown, Refusal } from './types';

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

// No organ yet and a file that cannot be read are told apart by asking for the file itself.
async function askWhy(e: unknown): Promise<void> {
  Object.assign(known, { none: false, problem: null, trouble: words(e) });
  if (e instanceof Trouble && e.passes) setTimeout(() => known.trouble !== '' && void loadOrgan(true), 5000);
  if (!(e instanceof Trouble) || ![404, 409, 422].includes(e.status)) return;
  try {
    const file = await get<OrganFile>('/api/organ/file');
    if (file.faults.length > 0) Object.assign(known, { problem: { message: e.message, where: e.where, faults: file.faults }, trouble: '' });
  } catch (no) {
    if (no instanceof Trouble && no.status === 404) Object.assign(known, { none: true, trouble: '' });
    else known.trouble = words(no);
  }
}
