// A recording nobody made: a 4 ft stop of 56 notes played through from C2, each 2 s on and 1 s off, in equal temperament at
// A = 440 Hz. Invented for the test, and far too clean for any organ; it only has to be read.
export function stopPlayedThrough() {
  const rate = 16000;
  const notes = 56;
  const samples = new Int16Array(Math.round(rate * (3 * notes + 4)));
  let seed = 1;
  for (let i = 0; i < samples.length; ++i) {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    samples[i] = Math.round((seed / 2147483648 - 0.5) * 12);
  }
  for (let n = 0; n < notes; ++n) {
    const hertz = 440 * 2 ** ((36 + n + 12 - 69) / 12);
    const begin = Math.round(rate * (2 + 3 * n));
    const length = rate * 2;
    for (let i = 0; i < length; ++i) {
      const edge = Math.min(1, i / (0.05 * rate), (length - i) / (0.05 * rate));
      let v = 0;
      for (let h = 1; h <= 8 && h * hertz < 0.45 * rate; ++h) v += Math.sin((2 * Math.PI * h * hertz * i) / rate + h * h) / h;
      samples[begin + i] += Math.round(4000 * edge * v);
    }
  }
  return wav(samples, rate);
}

/** A recording of nothing, `frames` long. */
export const silence = (frames) => wav(new Int16Array(frames), 16000);

function wav(samples, rate) {
  const head = Buffer.alloc(44);
  head.write('RIFF', 0);
  head.writeUInt32LE(36 + samples.byteLength, 4);
  head.write('WAVEfmt ', 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(1, 20);
  head.writeUInt16LE(1, 22);
  head.writeUInt32LE(rate, 24);
  head.writeUInt32LE(2 * rate, 28);
  head.writeUInt16LE(2, 32);
  head.writeUInt16LE(16, 34);
  head.write('data', 36);
  head.writeUInt32LE(samples.byteLength, 40);
  return Buffer.concat([head, Buffer.from(samples.buffer)]);
}
