// Every page in each of its main states: where it is, and what is done there until there is something to look at.
import type { Page } from 'playwright-core';
import type { Desk } from './desk';
import { recordedRun } from './recording';

export interface State {
  name: string;
  path: string;
  /** until what it shows is there */
  ready: (page: Page) => Promise<unknown>;
  /** it has something to print */
  prints?: true;
  /** of an empty folder */
  empty?: true;
}

export const sunday = '2026-11-22'; // is past, so that the lines after the service are there too
const half = '2026-12-13';
const piece = 'voluntary-in-d.musicxml';
const pasted = 'GREAT\nOpen Diapason 8\nClarabella 8\nPrincipal 4\n\nSWELL (enclosed)\nLieblich Gedackt 8\nOboe 8\n\nPEDAL\nBourdon 16\n\nSwell to Great\nGreat to Pedal\nthe ladder is behind the case\n';

interface Board {
  name: string;
  singers: number | null;
  items: object[];
}
/** What the states stand on: faults, runs, a Sunday made and one half typed, a piece worked out, something saved. */
export async function furnished(desk: Desk): Promise<void> {
  await desk.ask('POST', '/api/faults', { line: 'Pedal: Bourdon 16, F#2: dead', when: 'when cold', on: '2026-11-20' });
  await desk.ask('POST', '/api/faults', { line: 'Swell: Oboe 8: out of tune', on: '2026-11-21' });
  const { name, singers, items } = await desk.ask<Board>('GET', '/api/services/sunday');
  await desk.ask('PUT', `/api/services/${sunday}`, { name, singers, items });
  const paper = {
    kind: 'voluntary', title: 'A pastorale', minutes: 4, cuts: ['end at bar 24'],
    places: [{ page: 1, bar: '1', word: 'soft, flutes' }, { page: 2, system: 1, bar: '17', word: 'mf', rest: 1.5 }, { word: 'full' }],
  };
  await desk.ask('PUT', `/api/services/${half}`, { items: [{ kind: 'fill', minutes: 2.5 }, paper, { kind: 'hymn', number: '7' }, { kind: 'note', title: 'The responses', note: 'G' }] });
  const asked = new URLSearchParams({ name: 'principal.wav', stop: 'Great: Principal 4', temperature: '15', keep: 'true', on: '2026-05-04' });
  await desk.work(`/api/runs?${asked.toString()}`, recordedRun({ outOf: { 60: 18, 67: -15 }, dead: [72] }));
  asked.set('on', '2026-11-20');
  await desk.work(`/api/runs?${asked.toString()}`, recordedRun({ outOf: { 67: -15, 80: 9 } }));
  await desk.work(`/api/services/${sunday}/prepare`, {});
  await desk.work(`/api/pieces/${piece}/prepare`, { preview: false });
  await desk.ask('PUT', '/api/saved/quiet%20verse', { draw: 'Great: Clarabella 8, Great: Dulciana 8' });
}

const press = (p: Page, name: string | RegExp): Promise<void> => p.getByRole('button', { name }).first().click();
const open = (p: Page, summary: string | RegExp): Promise<void> => p.getByText(summary).first().click();
const heading = (p: Page, name: string | RegExp): Promise<void> => p.getByRole('heading', { name }).first().waitFor();
const engraved = (p: Page): Promise<void> => p.locator('g.measure').nth(30).waitFor();
const answers = (p: Page): Promise<void> => heading(p, 'On the Great, soft');
const tapped = async (p: Page, ...names: (string | RegExp)[]): Promise<void> => {
  for (const name of names) await p.getByRole('button', typeof name === 'string' ? { name, exact: true } : { name }).first().click();
};

export const states: State[] = [
  { name: 'sunday-empty', path: '/sunday/2026-12-06', ready: (p) => p.getByText('Four hymns typed here make one sheet').waitFor() },
  { name: 'sunday', path: `/sunday/${sunday}`, prints: true, ready: (p) => p.getByLabel('The sheet as it prints').getByText('Winchester New').first().waitFor() },
  { name: 'sunday-half', path: `/sunday/${half}`, ready: async (p) => {
    await press(p, /^Row 2: 3 places in the copy/);
    await p.getByText('on which page, or at which bar?').waitFor();
  } },
  { name: 'sunday-by-hand', path: `/sunday/${sunday}`, ready: async (p) => {
    await open(p, 'Change it by hand');
    await press(p, /^Verse 2/);
    await press(p, 'One knob from here');
    await p.getByRole('list', { name: 'One knob from here' }).waitFor();
  } },
  { name: 'bench', path: `/bench/${sunday}?line=12`, ready: (p) => p.getByText(/^12 of/).waitFor() },
  { name: 'bench-first', path: `/bench/${sunday}`, ready: (p) => p.getByText(/^1 of/).waitFor() },
  { name: 'bench-none', path: '/bench/2031-01-05', ready: (p) => p.getByRole('alert').waitFor() },
  { name: 'fault', path: '/fault', ready: (p) => heading(p, '2 open faults') },
  { name: 'fault-note', path: '/fault', ready: async (p) => {
    await tapped(p, 'Swell', 'Oboe 8');
    await heading(p, 'Which note?');
  } },
  { name: 'fault-what', path: '/fault', ready: async (p) => {
    await tapped(p, 'Great', 'Principal 4', /^The whole stop/);
    await heading(p, 'What do you hear?');
  } },
  { name: 'fault-closing', path: '/fault', ready: async (p) => {
    await press(p, /^Close Pedal/);
    await p.getByLabel(/What was found/).waitFor();
  } },
  { name: 'tuner', path: '/fault/tuner', prints: true, ready: (p) => p.getByText('Bourdon 16').first().waitFor() },
  { name: 'organ', path: '/organ', prints: true, ready: async (p) => {
    await p.getByText(/assumed$/).first().waitFor();
    await p.getByRole('group', { name: /^Heard with/ }).first().waitFor();
  } },
  { name: 'organ-figures', path: '/organ', ready: async (p) => {
    await press(p, /given$/);
    await open(p, 'The given figures, one by one');
    await p.getByRole('table').first().waitFor();
  } },
  { name: 'organ-text', path: '/organ/text', ready: (p) => p.getByLabel('organ.toml').waitFor() },
  { name: 'organ-text-fault', path: '/organ/text', ready: async (p) => {
    const text = p.getByLabel('organ.toml');
    await text.waitFor();
    await text.fill((await text.inputValue()).replace('a_hz = 440', 'a_hz = "high"'));
    await p.getByRole('button', { name: /^Line \d+/ }).first().waitFor();
    await p.evaluate(() => { addEventListener('beforeunload', (e) => e.stopImmediatePropagation(), { capture: true }); });
  } },
  { name: 'organ-new', path: '/organ', empty: true, ready: (p) => heading(p, 'Your organ') },
  { name: 'organ-new-read', path: '/organ', empty: true, ready: async (p) => {
    await p.getByLabel('The specification').fill(pasted);
    await press(p, 'Read it');
    await heading(p, 'As it was read');
  } },
  { name: 'choosing', path: '/choosing?on=great&level=soft', ready: answers },
  { name: 'choosing-details', path: '/choosing?on=great&level=soft&must=Swell+to+Great&not=Great:+Dulciana+8', ready: async (p) => {
    await heading(p, /with Swell to Great/);
    await open(p, /^Drawn: Swell to Great/);
    await open(p, 'Details: the figures behind the words');
    await p.getByRole('columnheader', { name: 'acum' }).waitFor();
  } },
  { name: 'choosing-none', path: '/choosing?on=great&level=enough+for&singers=5&must=Great:+Open+Diapason+8,Great:+Fifteenth+2', ready: (p) => p.getByRole('alert').waitFor() },
  { name: 'choosing-map', path: '/choosing?on=great&level=soft', ready: async (p) => {
    await answers(p);
    await open(p, 'Show every registration');
    await p.getByRole('group', { name: /^The map/ }).press('ArrowRight');
    await p.getByText(/^Here:/).waitFor();
  } },
  { name: 'choosing-stops', path: '/choosing/stops?draw=Open+Diapason+8%2C+Twelfth+2+2%2F3', ready: async (p) => {
    await heading(p, 'What the ear makes of it');
    await press(p, 'rule R3');
    await p.getByText('A twelfth is never drawn').waitFor();
  } },
  { name: 'choosing-by-hand', path: '/choosing/stops', ready: (p) => p.getByLabel('Open Diapason 8').waitFor() },
  { name: 'choosing-buildup', path: '/choosing/buildup', ready: (p) => p.getByRole('button', { name: 'Make it' }).waitFor() },
  { name: 'choosing-buildup-made', path: '/choosing/buildup?on=great&from=soft&to=full&steps=6', prints: true, ready: async (p) => {
    await press(p, 'Make it');
    await heading(p, 'Great, soft to full');
  } },
  { name: 'choosing-saved', path: '/choosing/saved', ready: async (p) => {
    await press(p, 'Rename quiet verse');
    await p.getByLabel('Its new name').waitFor();
  } },
  { name: 'choosing-trial', path: '/choosing/trial', ready: async (p) => {
    const make = p.getByRole('button', { name: 'Make a sheet' });
    const pair = p.getByRole('group', { name: /^1 Which was/ });
    await make.or(pair).first().waitFor();
    if (await make.isVisible()) await make.click();
    await pair.waitFor();
    await pair.getByLabel('A', { exact: true }).check();
    await p.getByRole('button', { name: /^Clear pair 1,/ }).waitFor();
  } },
  { name: 'pieces', path: '/piece', ready: (p) => p.getByText('Dundee').waitFor() },
  { name: 'pieces-refused', path: '/piece', ready: async (p) => {
    await p.locator('input[type=file]').setInputFiles({ name: 'shopping.musicxml', mimeType: 'application/xml', buffer: Buffer.from('eggs, butter') });
    await p.getByRole('alert').waitFor();
  } },
  { name: 'piece', path: `/piece/${piece}/score?view=marked&bar=12`, prints: true, ready: engraved },
  { name: 'piece-by-hand', path: `/piece/${piece}/score?view=marked`, ready: async (p) => {
    await engraved(p);
    await open(p, 'Why so');
    await open(p, 'Something else at another bar');
    await press(p, /^Change bar 1$/);
    await p.getByLabel('A word for it', { exact: true }).waitFor();
  } },
  { name: 'piece-feet', path: `/piece/${piece}/score?view=feet&bar=9`, ready: async (p) => {
    await engraved(p);
    await heading(p, 'Foot marks in bar 9');
  } },
  { name: 'pipes', path: '/pipes', ready: (p) => p.getByRole('link', { name: 'Principal 4' }).first().waitFor() },
  { name: 'pipes-run', path: '/pipes/2', prints: true, ready: (p) => p.getByRole('img', { name: /^Change in tuning/ }).waitFor() },
  { name: 'pipes-notes', path: '/pipes/2', ready: async (p) => {
    await open(p, /look through, and put right what is wrong/);
    await press(p, /^Correct D 4$/);
    await p.getByLabel('It is').selectOption('two keys taken for one');
  } },
  { name: 'pipes-builder', path: '/pipes/builder', prints: true, ready: (p) => p.getByText('What stands out').first().waitFor() },
  { name: 'nowhere', path: '/nothing', ready: (p) => heading(p, /./) },
];
