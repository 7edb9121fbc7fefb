// A finding handed to the fault book: one fault a key. Pure.
import type { Division, FaultKind, FaultWish, OrganShown, RunFinding } from './types';

const kinds: Record<string, FaultKind> = {
  dead: 'dead',
  cipher: 'cipher',
  'out of tune': 'out of tune',
  'off speech': 'off speech',
  'slow to speak': 'slow to speak',
  late: 'late',
  unsteady: 'unsteady',
  'too soft': 'weak',
  noisy: 'noise',
};
/** More keys than these are one fault of the whole stop. */
export const mostKeys = 6;

export function divisionOfStop(organ: OrganShown, stop: string): Division | undefined {
  return organ.divisions.find((d) => d.stops.some((s) => s.id === stop));
}

export function faultsOf(finding: RunFinding, run: { stop: string; date: string }, division: string): FaultWish[] {
  const kind = kinds[finding.kind] ?? 'other';
  const wish = (midi?: number): FaultWish => ({
    division,
    stop: run.stop,
    ...(midi === undefined ? {} : { midi }),
    kind,
    ...(kind === 'other' ? { words: clipped(finding.sentence) } : {}),
    on: run.date,
  });
  return finding.keys.length === 0 || finding.keys.length > mostKeys ? [wish()] : finding.keys.map(wish);
}
const clipped = (text: string): string => (text.length <= 300 ? text : `${text.slice(0, 299)}…`);
