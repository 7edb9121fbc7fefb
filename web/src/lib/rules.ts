// The rules of practice that reasons name by their numbers. Pure but for the asking.
import { get } from './api';
import type { PracticeRule } from './types';

/** A text cut at the rules it names: "louder (R4)" is "louder (", R4, ")". */
export const cutAtRules = (text: string): { text: string; rule: boolean }[] =>
  text.split(/\b(R[1-9]\d?)\b/).flatMap((part, i) => (part === '' ? [] : [{ text: part, rule: i % 2 === 1 }]));

let all: Promise<PracticeRule[]> | null = null;
/** Asked for once, when the first one is wanted; what failed is asked again. */
export async function ruleOf(code: string): Promise<PracticeRule | undefined> {
  all ??= get<{ rules: PracticeRule[] }>('/api/rules').then((a) => a.rules);
  try {
    return (await all).find((r) => r.rule === code);
  } catch (e) {
    all = null;
    throw e;
  }
}
