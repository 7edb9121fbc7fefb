// A build-up as a list of what the hands do, step by step. Pure.
import { drawnOfAnswer } from './wish';
import { groupsOf, boxWords, type Group } from './plan';
import { knobGroups, type Drawn } from './drawn';
import type { BuildUpSteps, OrganShown } from './types';

export interface StepShown {
  state: Group[];
  manner: string[];
  /** "+ Principal 4", "off: Dulciana 8", "box open"; empty at the first step */
  change: string[];
  draw: Drawn;
  how: string;
}

export function groupsOfDrawn(organ: OrganShown, drawn: Drawn, before?: Drawn): { state: Group[]; manner: string[] } {
  const names = new Map(knobGroups(organ).flatMap((g) => g.knobs.map((k) => [k.id, k.name] as const)));
  const fresh = before ? drawn.knobs.filter((k) => !before.knobs.includes(k)) : [];
  const state = groupsOf(organ, drawn.knobs, drawn.knobs.map((k) => names.get(k) ?? k), fresh);
  const enclosed = (b: OrganShown['boxes'][number]): boolean =>
    organ.divisions.some((d) => d.box === b.id && d.stops.some((s) => drawn.knobs.includes(s.id)));
  const manner = organ.boxes.filter(enclosed).map((b) => `${b.name} ${boxWords(drawn.boxes[b.id] ?? 1)}`);
  return { state, manner };
}

function moved(organ: OrganShown, before: Drawn, now: Drawn): string[] {
  const names = new Map(knobGroups(organ).flatMap((g) => g.knobs.map((k) => [k.id, k.said] as const)));
  const name = (k: string): string => names.get(k) ?? k;
  const words = now.knobs.filter((k) => !before.knobs.includes(k)).map((k) => `+ ${name(k)}`);
  const off = before.knobs.filter((k) => !now.knobs.includes(k)).map(name);
  if (off.length > 0) words.push(`off: ${off.join(', ')}`);
  for (const b of organ.boxes) {
    const opening = now.boxes[b.id] ?? 1;
    if (opening !== (before.boxes[b.id] ?? 1)) words.push(`${organ.boxes.length > 1 ? b.name : 'box'} ${boxWords(opening)}`);
  }
  return words;
}

export function louderBy(phon: number): string {
  if (phon < 1) return 'hardly louder';
  if (phon < 3) return 'a shade louder';
  return phon < 7 ? 'clearly louder' : 'much louder';
}

export function stepsShown(organ: OrganShown, steps: BuildUpSteps): StepShown[] {
  return steps.map((step, i) => {
    const draw = drawnOfAnswer(organ, step);
    const previous = steps[i - 1];
    const before = previous ? drawnOfAnswer(organ, previous) : undefined;
    const change = before ? moved(organ, before, draw) : [];
    return { ...groupsOfDrawn(organ, draw, before), change, draw, how: i === 0 ? 'to begin' : louderBy(step.louder_phon) };
  });
}
