// Every page at three sizes, by day and in the loft, at twice the size of letters and on paper: looked at by axe, measured,
// and kept as pictures.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath } from './chromium';
import { broken, forAll, misfits, openTab, picture, settled, type Desk } from './desk';
import { recordedRun } from './recording';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));
const sunday = '2026-11-22'; // is past, so that the lines after the service are there too

interface Board {
  name: string;
  singers: number | null;
  items: object[];
}
beforeAll(async () => {
  if (chromiumPath === undefined) return;
  await desk.ask('POST', '/api/faults', { line: 'Pedal: Bourdon 16, F#2: dead', when: 'when cold', on: '2026-11-20' });
  const { name, singers, items } = await desk.ask<Board>('GET', '/api/services/sunday');
  await desk.ask('PUT', `/api/services/${sunday}`, { name, singers, items });
  const asked = new URLSearchParams({ name: 'principal.wav', stop: 'Great: Principal 4', temperature: '15', keep: 'true', on: '2026-05-04' });
  await desk.work(`/api/runs?${asked.toString()}`, recordedRun({ outOf: { 60: 18, 67: -15 }, dead: [72] }));
  asked.set('on', '2026-11-20');
  await desk.work(`/api/runs?${asked.toString()}`, recordedRun({ outOf: { 67: -15, 80: 9 } }));
  await desk.work(`/api/services/${sunday}/prepare`, {});
  await desk.work('/api/pieces/voluntary-in-d.musicxml/prepare', { preview: false });
});

const engraved = (page: Page): Promise<void> => page.locator('g.measure').nth(30).waitFor();
const states: [string, string, (page: Page) => Promise<unknown>][] = [
  ['sunday-empty', '/sunday/2026-12-06', (p) => p.getByText('Four hymns typed here make one sheet').waitFor()],
  ['sunday', `/sunday/${sunday}`, (p) => p.getByLabel('The sheet as it prints').getByText('Winchester New').first().waitFor()],
  ['bench', `/bench/${sunday}?line=12`, (p) => p.getByText(/^12 of/).waitFor()],
  ['fault', '/fault', (p) => p.getByRole('heading', { name: 'One open fault' }).waitFor()],
  ['fault-note', '/fault', async (p) => {
    for (const name of ['Swell', 'Oboe 8']) await p.getByRole('button', { name, exact: true }).click();
    await p.getByRole('heading', { name: 'Which note?' }).waitFor();
  }],
  ['tuner', '/fault/tuner', (p) => p.getByText('Bourdon 16').first().waitFor()],
  ['organ', '/organ', (p) => p.getByText(/assumed$/).first().waitFor()],
  ['organ-text', '/organ/text', (p) => p.getByLabel('organ.toml').waitFor()],
  ['choosing', '/choosing?on=great&level=soft', (p) => p.getByRole('heading', { name: 'On the Great, soft' }).waitFor()],
  ['choosing-stops', '/choosing/stops?draw=Open+Diapason+8%2C+Principal+4', (p) => p.getByRole('heading', { name: 'What the ear makes of it' }).waitFor()],
  ['choosing-buildup', '/choosing/buildup', (p) => p.getByRole('button', { name: 'Make it' }).waitFor()],
  ['choosing-saved', '/choosing/saved', (p) => p.getByText('None yet').waitFor()],
  ['choosing-trial', '/choosing/trial', (p) => p.getByRole('heading', { level: 1 }).waitFor()],
  ['pieces', '/piece', (p) => p.getByText('Dundee').waitFor()],
  ['piece', '/piece/voluntary-in-d.musicxml/score?view=marked&bar=12', engraved],
  ['pipes', '/pipes', (p) => p.getByRole('link', { name: 'Principal 4' }).first().waitFor()],
  ['pipes-run', '/pipes/2', (p) => p.getByRole('img', { name: /^Change in tuning/ }).waitFor()],
  ['pipes-notes', '/pipes/2', async (p) => {
    await p.getByText(/look through, and put right what is wrong/).click();
    await p.getByRole('button', { name: 'Correct D 4', exact: true }).click();
    await p.getByLabel('It is').selectOption('two keys taken for one');
  }],
  ['pipes-builder', '/pipes/builder', (p) => p.getByText('What stands out').first().waitFor()],
  ['nowhere', '/nothing', (p) => p.getByRole('heading', { level: 1 }).waitFor()],
];
const sizes = [
  [1280, 800],
  [820, 1180],
  [390, 844],
] as const;

describe.each(sizes)('%i × %i', (width, height) => {
  it(`by day and in the loft, ${width}`, async () => {
    const { page, context, complaints } = await openTab(browser, desk, { width, height });
    const wrong: string[] = [];
    for (const [name, path, ready] of states) {
      const found = (light: string, what: string[]): unknown => wrong.push(...what.map((w) => `${name}, ${light}: ${w}`));
      await page.goto(desk.origin + path);
      await ready(page);
      await settled(page);
      await picture(page, `${name}-${width}-day`);
      found('day', await misfits(page));
      found('day', await broken(page));
      await page.emulateMedia({ colorScheme: 'dark' });
      await settled(page);
      await picture(page, `${name}-${width}-loft`);
      found('loft', await broken(page, 'colour'));
      await page.emulateMedia({ colorScheme: 'light' });
    }
    expect(wrong).toEqual([]);
    expect(complaints).toEqual([]);
    await context.close();
  });
});

it('letters twice as large still fit', async () => {
  // 200 % zoom of a window of 1280 × 800 is a window of 640 × 400 with the same letters.
  const { page, context } = await openTab(browser, desk, { width: 640, height: 400 });
  for (const [, path, ready] of states) {
    await page.goto(desk.origin + path);
    await ready(page);
    expect(await misfits(page), path).toEqual([]);
  }
  await context.close();
});

it('on paper there is what was asked for and nothing to press', async () => {
  const { page, context } = await openTab(browser, desk, { width: 794, height: 1123 });
  for (const [name, path, ready] of states) {
    if (!['sunday', 'tuner', 'organ', 'piece', 'pipes-run', 'pipes-builder'].includes(name)) continue;
    await page.goto(desk.origin + path);
    await ready(page);
    await page.emulateMedia({ media: 'print' });
    await settled(page);
    await picture(page, `${name}-print`);
    expect(await page.locator('button:visible, select:visible, input:visible, nav:visible').count(), name).toBe(0);
    await page.emulateMedia({ media: 'screen' });
  }
  await context.close();
});

it('the first page is there within a second, and notation is loaded only where it is shown', async () => {
  const { page, context } = await openTab(browser, desk);
  const asked: string[] = [];
  page.on('request', (r) => asked.push(r.url()));
  await page.goto(`${desk.origin}/sunday`);
  await page.getByRole('heading', { level: 1 }).waitFor();
  const ready = await page.evaluate(() => performance.getEntriesByType('navigation').map((n) => (n as PerformanceNavigationTiming).domContentLoadedEventEnd)[0]);
  console.log(`first page: ${Math.round(ready ?? 0)} ms to its content`);
  expect(asked.some((u) => u.includes('engraver'))).toBe(false);
  await page.goto(`${desk.origin}/piece/dundee.musicxml/score`);
  await page.locator('g.measure').first().waitFor();
  expect(asked.some((u) => u.includes('engraver'))).toBe(true);
  await context.close();
});

it('no motion where none is wanted, and the light chosen stays', async () => {
  const { page, context } = await openTab(browser, desk);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  const paper = (): Promise<number> =>
    page.evaluate(() => (getComputedStyle(document.documentElement).backgroundColor.match(/\d+/g) ?? []).slice(0, 3).reduce((n, v) => n + Number(v), 0));
  await page.getByRole('button', { name: 'Loft', exact: true }).click();
  await page.reload();
  await page.getByRole('button', { name: 'Loft', exact: true, pressed: true }).waitFor();
  expect(await paper()).toBeLessThan(100);
  await page.getByRole('button', { name: 'Day', exact: true }).click();
  await expect.poll(paper).toBeGreaterThan(700);
  const moving = await page.evaluate(() => document.getAnimations().length);
  expect(moving).toBe(0);
  await context.close();
});

it('what is built in is what was built', () => {
  const index = readFileSync(join(import.meta.dirname, '../../dist/index.html'), 'utf8');
  expect(index).not.toMatch(/<script[^>]*>[^<]/); // nothing written into the page: the policy would not let it in
});
