// Every page in its main states: looked at by axe by day and in the loft, measured at three sizes and with letters twice as
// large, on paper, and kept as pictures.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath } from './chromium';
import { broken, forAll, misfits, onPaper, openDesk, openTab, picture, settled, type Desk } from './desk';
import { furnished, states, sunday } from './states';

let desk: Desk;
let bare: Desk | undefined; // a folder without an organ
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));
const tabs = new Map<Desk, Awaited<ReturnType<typeof openTab>>>();
beforeAll(async () => {
  if (chromiumPath === undefined) return;
  await furnished(desk);
  bare = await openDesk(null);
  for (const d of [desk, bare]) tabs.set(d, await openTab(browser, d));
});
afterAll(async () => {
  for (const { context } of tabs.values()) await context.close();
  await bare?.end();
});

const sizes = [
  [1280, 800],
  [820, 1180],
  [390, 844],
] as const;
// 200 % zoom of a window of 1280 × 800 is a window of 640 × 400 with the same letters.
const twice = { width: 640, height: 400 };

/** Days are said in words, wherever a person reads them; what is typed or is the file itself stays as it is. */
const numbered = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const all = [document.body.innerText, ...[...document.querySelectorAll('section')].flatMap((s) => [...(s.shadowRoot?.children ?? [])].map((c) => (c as HTMLElement).innerText))].join('\n');
    return [...all.matchAll(/.{0,30}\b\d{4}-\d\d-\d\d\b.{0,10}/g)].map((m) => `a day in figures: ${m[0]}`);
  });

/** Drawn, and a score engraved for the width there is. */
async function laidOut(page: Page): Promise<void> {
  await settled(page);
  await page.waitForFunction(() => ![...document.querySelectorAll('[role=status]')].some((s) => s.textContent === 'Engraving …'));
}

/** What is wrong with what stands there, at every size and in both lights; pictures on the way. */
async function wrongWith(page: Page, name: string, prints: boolean): Promise<string[]> {
  const wrong: string[] = [];
  const found = (where: string, what: string[]): unknown => wrong.push(...what.map((w) => `${where}: ${w}`));
  found('', await numbered(page));
  for (const [width, height] of sizes) {
    await page.setViewportSize({ width, height });
    await laidOut(page);
    await picture(page, `${name}-${width}-day`);
    found(`${width}`, await misfits(page));
    found(`${width} by day`, await broken(page));
    await page.emulateMedia({ colorScheme: 'dark' });
    await laidOut(page);
    await picture(page, `${name}-${width}-loft`);
    if (width === 1280) found('in the loft', await broken(page, 'colour'));
    await page.emulateMedia({ colorScheme: 'light' });
  }
  await page.setViewportSize(twice);
  found('letters twice as large', await misfits(page));
  if (prints) {
    await onPaper(page);
    await laidOut(page);
    await picture(page, `${name}-print`);
    const left = await page.locator('button:visible, select:visible, input:visible, nav:visible').count();
    if (left > 0) wrong.push(`on paper: ${left} things to press`);
    await page.emulateMedia({ media: 'screen' });
  }
  const [width, height] = sizes[0];
  await page.setViewportSize({ width, height });
  return wrong;
}

describe('looks well, is read out and fits:', () => {
  it.each(states.map((s) => [s.name, s] as const))('%s', async (name, state) => {
    const on = state.empty ? bare! : desk;
    const { page, complaints } = tabs.get(on)!;
    await page.goto(on.origin + state.path);
    await state.ready(page);
    expect(await wrongWith(page, name, state.prints === true)).toEqual([]);
    expect(complaints.splice(0)).toEqual([]);
  });

  it('with the desk gone: a fault waits, a board says so', async () => {
    const { page, context } = await openTab(browser, desk, { workers: 'allow' });
    await page.goto(`${desk.origin}/fault`);
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await expect.poll(() => page.evaluate(async () => (await caches.match('/api/organ')) !== undefined)).toBe(true);
    const board = await context.newPage();
    await board.goto(`${desk.origin}/sunday/${sunday}`);
    await board.getByLabel('Row 1: tune or title').waitFor();
    await desk.kill();
    await board.getByLabel('What it is called').fill('Typed with the desk gone');
    await board.getByText('Not saved yet').waitFor();
    expect(await wrongWith(board, 'sunday-gone', false)).toEqual([]);
    for (const name of ['Great', 'Principal 4', 'C sharp 4', /^Ciphers/, /^Now and then/]) await page.getByRole('button', { name }).first().click();
    await page.getByRole('heading', { name: 'Waiting in this browser' }).waitFor();
    expect(await wrongWith(page, 'fault-gone', false)).toEqual([]);
    await desk.again();
    await page.goto(desk.start);
    await page.getByRole('navigation', { name: 'Pages' }).waitFor();
    await context.close();
  });
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
