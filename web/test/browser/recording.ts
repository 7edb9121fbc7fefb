// An invented run of a 4 ft stop, a key a few cents out here and there: steady tones with soft beginnings.
import { samples24, wavHead } from '../../src/lib/wav';

export interface Run {
  keys?: number;
  rate?: number;
  /** cents, by the key's MIDI number */
  outOf?: Record<number, number>;
  /** keys that do not speak */
  dead?: number[];
}
export function recordedRun({ keys = 56, rate = 24000, outOf = {}, dead = [] }: Run = {}): Buffer {
  const on = 1.6;
  const off = 0.9;
  const frames = Math.round((4 + keys * (on + off)) * rate);
  const all = new Float32Array(frames);
  let seed = 1;
  for (let i = 0; i < frames; i++) {
    seed = (seed * 1103515245 + 12345) & 0x7fffffff;
    all[i] = (seed / 0x7fffffff - 0.5) * 2e-4;
  }
  for (let k = 0; k < keys; k++) {
    const midi = 36 + k;
    if (dead.includes(midi)) continue;
    const f = 440 * 2 ** ((midi + 12 - 69) / 12 + (outOf[midi] ?? 0) / 1200);
    const begin = Math.round((2 + k * (on + off)) * rate);
    for (let i = 0; i < on * rate; i++) {
      const t = i / rate;
      const swell = Math.min(1, t / 0.05) * Math.min(1, (on - t) / 0.05);
      let v = 0;
      for (let h = 1; h <= 6 && h * f < rate / 2; h++) v += Math.sin(2 * Math.PI * h * f * t) / h ** 1.5;
      all[begin + i] = (all[begin + i] ?? 0) + 0.12 * swell * v;
    }
  }
  return Buffer.concat([Buffer.from(wavHead(frames, rate)), Buffer.from(samples24(all))]);
}
