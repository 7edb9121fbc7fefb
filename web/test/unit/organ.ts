// A small invented organ for tests of the pages' logic.
import type { OrganShown } from '../../src/lib/types';

const stop = (id: string, name: string, feet: string, more: object = {}) => ({ id, name, feet, family: 'principal', low_midi: 36, ranks: [], ...more });
export const organ: OrganShown = {
  id: 'tiny',
  name: 'Tiny',
  about: 'invented for tests',
  invented: true,
  divisions: [
    { id: 'great', name: 'Great', keyboard: 'great', low_midi: 36, high_midi: 91, keys: 56, action_low_midi: 36, action_high_midi: 91, stops: [stop('gt-open', 'Open Diapason 8', '8'), stop('gt-twelfth', 'Twelfth 2 2/3', '2 2/3')] },
    { id: 'swell', name: 'Swell', keyboard: 'swell', low_midi: 36, high_midi: 91, keys: 56, action_low_midi: 36, action_high_midi: 103, box: 'box', stops: [stop('sw-open', 'Open Diapason 8', '8'), stop('sw-celeste', 'Voix Celeste 8', '8', { low_midi: 48 }), stop('sw-mixture', 'Mixture II', '', { mixture_ranks: 2 })] },
    { id: 'pedal', name: 'Pedal', keyboard: 'pedal', pedal: true, low_midi: 36, high_midi: 65, keys: 30, action_low_midi: 36, action_high_midi: 65, stops: [stop('pd-bourdon', 'Bourdon 16', '16')] },
  ],
  couplers: [{ id: 'sw-gt', name: 'Swell to Great', from: 'great', to: 'swell', semitones: 0, carries: [], tried: false }],
  boxes: [{ id: 'box', name: 'Swell box', pedal: 'lever', hitches: [0, 0.4, 1] }],
  accessories: [],
  pitch: { a_hz: 440, celsius: 15, source: 'given' },
  temperament: 'equal',
  temperament_name: 'Equal temperament',
  room: { cubic_metres: { value: 1600, source: 'given' }, celsius: { value: 15, source: 'given' } },
  assumed: [],
};
