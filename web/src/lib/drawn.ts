// A registration as it is drawn in words, in the way the program reads and writes it: "Open Diapason 8, Swell: Oboe 8,
// Swell to Great, Swell box=0.4". Pure.
import type { OrganShown } from './types';

export interface Drawn {
  /** ids of stops, couplers and accessories */
  knobs: string[];
  /** opening of each box that is not fully open, by id */
  boxes: Record<string, number>;
}

export interface KnobShown {
  id: string;
  name: string;
  /** as --draw takes it: with its division where the name stands in two */
  said: string;
}
export interface KnobGroup {
  name: string;
  knobs: KnobShown[];
}

/** Every knob of the console by division, then couplers; what only moves other knobs (composition pedals) is left out. */
export function knobGroups(organ: OrganShown): KnobGroup[] {
  const times = new Map<string, number>();
  for (const d of organ.divisions) for (const s of d.stops) times.set(s.name, (times.get(s.name) ?? 0) + 1);
  const groups = organ.divisions.map((d) => ({
    name: d.name,
    knobs: d.stops.map((s) => ({ id: s.id, name: s.name, said: (times.get(s.name) ?? 0) > 1 ? `${d.name}: ${s.name}` : s.name })),
  }));
  const couplers = organ.couplers.map((c) => ({ id: c.id, name: c.name, said: c.name }));
  return couplers.length > 0 ? [...groups, { name: 'Couplers', knobs: couplers }] : groups;
}

export function drawText(organ: OrganShown, drawn: Drawn): string {
  const all = knobGroups(organ).flatMap((g) => g.knobs);
  const names = all.filter((k) => drawn.knobs.includes(k.id)).map((k) => k.said);
  return [...names, ...boxTexts(organ, drawn)].join(', ');
}
export const boxTexts = (organ: OrganShown, drawn: Drawn): string[] => organ.boxes.filter((b) => (drawn.boxes[b.id] ?? 1) < 1).map((b) => `${b.name}=${drawn.boxes[b.id]}`);

/** Reads such a text; what this organ does not have is left out. */
export function drawnOf(organ: OrganShown, text: string): Drawn {
  const all = knobGroups(organ).flatMap((g) => g.knobs.map((k) => ({ ...k, group: g.name })));
  const drawn: Drawn = { knobs: [], boxes: {} };
  for (const part of text.split(',').map((p) => p.trim()).filter((p) => p !== '')) {
    const box = /^(.*?)\s*=\s*([\d.]+)$/.exec(part);
    if (box) {
      const known = organ.boxes.find((b) => b.name === box[1] || b.id === box[1]);
      if (known) drawn.boxes[known.id] = Number(box[2]);
      continue;
    }
    const knob = all.find((k) => k.said === part || k.name === part || k.id === part || `${k.group}: ${k.name}` === part);
    if (knob && !drawn.knobs.includes(knob.id)) drawn.knobs.push(knob.id);
  }
  return drawn;
}

/** What is held to weigh by: a chord in the middle of a manual, moved with the hands by so many semitones; a low note of the pedals. */
export function keysFor(organ: OrganShown, divisionId: string, played = 0): string {
  const d = organ.divisions.find((x) => x.id === divisionId);
  if (!d) return '';
  const up = Math.round(played / 12);
  return d.pedal ? `${d.name}:C2` : `${d.name}:${['C4', 'E4', 'G4', 'C5'].map((n) => `${n[0] ?? ''}${Number(n[1]) + up}`).join(',')}`;
}

/** Which division's keys a registration is best weighed on: the first manual of which something is drawn. */
export function playedOn(organ: OrganShown, drawn: Drawn): string {
  const has = (id: string): boolean => organ.divisions.find((d) => d.id === id)?.stops.some((s) => drawn.knobs.includes(s.id)) ?? false;
  const manual = organ.divisions.find((d) => d.keyboard !== undefined && !d.pedal && has(d.id));
  return (manual ?? organ.divisions.find((d) => has(d.id)) ?? organ.divisions[0])?.id ?? '';
}

/** "a shade more than before": how a difference of loudness levels is said. 10 phon is about twice as loud. */
export function louderWords(phonNow: number, phonBefore: number): string {
  const d = phonNow - phonBefore;
  const size = Math.abs(d);
  if (size < 1) return 'about as loud as';
  const by = size < 3 ? 'a shade' : size < 7 ? 'clearly' : 'much';
  return d > 0 ? `${by} ${by === 'a shade' ? 'more' : 'louder'} than` : `${by} ${by === 'a shade' ? 'less' : 'softer'} than`;
}
