import { describe, expect, it } from 'vitest';
import { sentence } from '../../src/lib/api';
import { backing, passes } from '../../src/lib/bench';
import { dayWords, isDay, nextSunday } from '../../src/lib/days';
import { cutAtNotes, noteAloud, noteName, octaves, spelt, spoken } from '../../src/lib/notes';
import { address, parseAddress } from '../../src/lib/router';
import { hosted } from '../../src/lib/sheet';
import { levelWords, samples24, wavHead } from '../../src/lib/wav';

describe('addresses', () => {
  it('go there and back', () => {
    for (const [page, key, query] of [
      ['sunday', '2026-11-29', {}],
      ['piece', 'voluntary in d.musicxml', { bar: '12a' }],
      ['choosing', '', { draw: 'Open Diapason 8, Swell: Oboe 8' }],
      ['pipes', '3', { with: '1' }],
    ] as const) {
      const url = new URL(address(page, key, query), 'http://desk');
      expect(parseAddress(url.pathname, url.search)).toEqual({ page, key, query });
    }
  });
  it('never end in a file name, which would be asked for as a file', () => {
    expect(address('piece', 'dundee.musicxml')).toBe('/piece/dundee.musicxml/score');
  });
  it('leave out what was not said, and know what is nowhere', () => {
    expect(address('bench', 'sunday', { line: undefined, x: '' })).toBe('/bench/sunday');
    expect(parseAddress('/').page).toBe('sunday');
    expect(parseAddress('/nothing/here').page).toBe('nowhere');
    expect(parseAddress('/piece/%E0%A4%A').page).toBe('piece'); // broken percent signs are no crash
  });
});

describe('notes', () => {
  it('are named with C4 as middle C (MIDI 60, ISO 16 A4 = 69)', () => {
    expect(noteName(60)).toBe('C4');
    expect(noteName(69)).toBe('A4');
    expect(noteName(36)).toBe('C2');
    expect(noteName(42)).toBe('F♯2');
    expect(noteAloud(63)).toBe('D sharp 4');
    expect(noteAloud(60)).toBe('C 4');
  });
  it('are set with the trade’s signs and read out in words, wherever a program wrote them; words and keys of other kinds stay', () => {
    const said = 'Pedal: Bourdon 16, F#2: dead; bb 3, Bb3 and E♭4, A440, F# minor, stop Ab';
    expect(spelt(said)).toBe('Pedal: Bourdon 16, F♯2: dead; bb 3, B♭3 and E♭4, A440, F# minor, stop Ab');
    expect(spoken(said)).toBe('Pedal: Bourdon 16, F sharp 2: dead; bb 3, B flat 3 and E flat 4, A440, F# minor, stop Ab');
    expect(cutAtNotes('C#4')).toEqual([{ text: 'C♯4', aloud: 'C sharp 4' }]);
    expect(cutAtNotes('')).toEqual([]);
  });
  it('stand octave by octave from the lowest key to the highest', () => {
    const all = octaves(36, 91);
    expect(all.map((o) => o.number)).toEqual([2, 3, 4, 5, 6]);
    expect(all.flatMap((o) => o.notes)).toHaveLength(56);
    expect(octaves(43, 47)[0]?.notes).toEqual([43, 44, 45, 46, 47]);
  });
});

describe('days', () => {
  it('begin with this Sunday, today where it is one', () => {
    expect(nextSunday(new Date(2026, 10, 25))).toBe('2026-11-29'); // a Wednesday
    expect(nextSunday(new Date(2026, 10, 29, 23, 59))).toBe('2026-11-29');
    expect(nextSunday(new Date(2026, 10, 30))).toBe('2026-12-06');
  });
  it('are days of the calendar', () => {
    expect(isDay('2028-02-29')).toBe(true);
    expect(isDay('2026-02-29')).toBe(false);
    expect(isDay('29-11-2026')).toBe(false);
    expect(dayWords('2026-11-29')).toBe('Sunday 29 November 2026');
  });
});

describe('sentences', () => {
  it('begin large and end with a stop, and leave what is one alone', () => {
    expect(sentence('the port is taken')).toBe('The port is taken.');
    expect(sentence('How many verses?')).toBe('How many verses?');
    expect(sentence('sunday.toml:3:1: unknown key')).toBe('sunday.toml:3:1: unknown key.');
    expect(sentence('')).toBe('');
  });
});

describe('keys at the bench', () => {
  const key = (k: string, more: Partial<KeyboardEvent> = {}): KeyboardEvent =>
    ({ key: k, shiftKey: false, ctrlKey: false, altKey: false, metaKey: false, repeat: false, ...more }) as KeyboardEvent;
  it('any key moves on, shift and what points back go back, the browser keeps its own', () => {
    expect(['a', ' ', 'Enter', 'ArrowRight', 'PageDown'].map((k) => [passes(key(k)), backing(key(k))])).toEqual(Array(5).fill([false, false]));
    expect([key('a', { shiftKey: true }), key('ArrowLeft'), key('Backspace'), key('PageUp')].map(backing)).toEqual([true, true, true, true]);
    expect([key('Tab'), key('Escape'), key('Shift'), key('F5'), key('r', { ctrlKey: true }), key('a', { repeat: true })].map(passes)).toEqual(Array(6).fill(true));
  });
});

describe('a printed page inside another', () => {
  it('says of its holder what it said of itself', () => {
    const css = '@page { size: A4; }\nhtml { color: #000; }\nbody { margin: 0; }\n@media screen { body { padding: 1mm; } }\n.item { color: red; }';
    const out = hosted(css);
    expect(out).not.toMatch(/@page|html|body/);
    expect(out.match(/:host/g)).toHaveLength(2);
    expect(out).toContain('.item { color: red; }');
  });
});

describe('a recording', () => {
  it('has the head of a 24 bit WAV (RIFF, as Microsoft and IBM published it in 1991)', () => {
    const head = new DataView(wavHead(3, 48000));
    const text = (at: number): string => String.fromCharCode(...[0, 1, 2, 3].map((i) => head.getUint8(at + i)));
    expect([text(0), text(8), text(12), text(36)]).toEqual(['RIFF', 'WAVE', 'fmt ', 'data']);
    expect(head.getUint32(24, true)).toBe(48000);
    expect(head.getUint16(34, true)).toBe(24);
    expect(head.getUint32(40, true)).toBe(9);
    expect(head.getUint32(4, true)).toBe(36 + 9 + 1); // chunks are padded to even length
  });
  it('keeps samples as they are, and says how strong they are in words', () => {
    expect([...samples24(new Float32Array([0, 1, -1, 0.5]))]).toEqual([0, 0, 0, 255, 255, 127, 1, 0, 128, 0, 0, 64]);
    expect(levelWords(1)).toMatch(/clips/);
    expect(levelWords(0.2)).toBe('Good.');
    expect(levelWords(0)).toMatch(/Hardly/);
  });
});
