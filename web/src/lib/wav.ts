// A recording as a WAV file: one channel, 24 bit, as it came from the microphone. Pure.

export function wavHead(frames: number, rate: number): ArrayBuffer {
  const bytes = frames * 3;
  const head = new DataView(new ArrayBuffer(44));
  const text = (at: number, s: string): void => [...s].forEach((c, i) => head.setUint8(at + i, c.charCodeAt(0)));
  text(0, 'RIFF');
  head.setUint32(4, 36 + bytes + (bytes % 2), true);
  text(8, 'WAVE');
  text(12, 'fmt ');
  head.setUint32(16, 16, true);
  head.setUint16(20, 1, true); // PCM
  head.setUint16(22, 1, true); // channels
  head.setUint32(24, rate, true);
  head.setUint32(28, rate * 3, true);
  head.setUint16(32, 3, true);
  head.setUint16(34, 24, true);
  text(36, 'data');
  head.setUint32(40, bytes, true);
  return head.buffer as ArrayBuffer;
}

export function samples24(samples: Float32Array): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(samples.length * 3);
  for (let i = 0; i < samples.length; i++) {
    const v = Math.round(Math.max(-1, Math.min(1, samples[i] ?? 0)) * 8388607);
    out[3 * i] = v & 0xff;
    out[3 * i + 1] = (v >> 8) & 0xff;
    out[3 * i + 2] = (v >> 16) & 0xff;
  }
  return out;
}

/** How a peak is said: no needle, a word. */
export function levelWords(peak: number): string {
  if (peak >= 0.985) return 'Too strong: it clips. Turn the recorder down, or stand it further off, and begin again.';
  if (peak >= 0.5) return 'Strong enough; do not stand it nearer.';
  if (peak >= 0.05) return 'Good.';
  if (peak > 0.003) return 'Faint; nearer would be better.';
  return 'Hardly anything is heard.';
}
