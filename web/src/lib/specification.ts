// The specification as organists print it: name to the left, pitch to the right. Pure.
import { noteName } from './notes';
import type { Division, OrganShown, Stop } from './types';

const fractions: Record<string, string> = { '1/2': '½', '1/3': '⅓', '2/3': '⅔', '3/5': '⅗', '1/7': '⅐', '4/5': '⅘', '1/5': '⅕' };
const roman = ['', 'I', 'II', 'III', 'IV', 'V', 'VI', 'VII', 'VIII'];

/** "2 2/3" as it is printed: "2⅔", alone or behind the names of stops. */
export const pitchText = (text: string): string => text.replace(/(?<=\d) (\d\/\d)(?!\d)|^(\d\/\d)$/g, (all, f?: string, g?: string) => fractions[f ?? g ?? ''] ?? all);

export interface PrintedStop {
  name: string;
  pitch: string;
  remark: string;
}
export function printed(stop: Stop): PrintedStop {
  const ranks = stop.mixture_ranks !== undefined ? (roman[stop.mixture_ranks] ?? String(stop.mixture_ranks)) : '';
  const pitch = stop.feet !== '' ? stop.feet : ranks;
  const name = pitch !== '' && stop.name.endsWith(` ${pitch}`) ? stop.name.slice(0, -pitch.length - 1) : stop.name;
  const remarks: string[] = [];
  if (stop.low_own_midi !== undefined) remarks.push(stop.low_own_midi === 48 ? 'bass from another stop' : `own pipes from ${noteName(stop.low_own_midi)}`);
  else if (stop.low_midi === 48) remarks.push('from tenor C');
  if (stop.out_of_use) remarks.push('out of use');
  return { name, pitch: pitchText(pitch), remark: remarks.join(', ') };
}

export function compassText(d: Division): string {
  if (d.keys === undefined) return '';
  return `${noteName(d.low_midi)} to ${noteName(d.high_midi)}, ${d.keys} notes`;
}

export function enclosed(organ: OrganShown, d: Division): string {
  const box = organ.boxes.find((b) => b.id === d.box);
  return box ? `enclosed; ${box.pedal === 'lever' ? 'lever pedal' : 'balanced pedal'}` : '';
}
