import type { Browser } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { type Desk, forAll, openTab, picture, Walk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

describe('a fault', () => {
  it('is in the book after five taps, taken back, noted again and closed', async () => {
    const { page, complaints } = await openTab(browser, desk, { width: 820, height: 1180 });
    await page.goto(`${desk.origin}/fault`);
    await page.getByRole('heading', { name: /No open faults/ }).waitFor();
    const walk = new Walk();
    await walk.do(page.getByRole('button', { name: 'Pedal' }).click());
    await walk.do(page.getByRole('button', { name: 'Bourdon 16' }).click());
    await picture(page, 'fault-note-820');
    await walk.do(page.getByRole('button', { name: 'F sharp 2' }).click());
    await picture(page, 'fault-what-820');
    await walk.do(page.getByRole('button', { name: /^Dead/ }).click());
    await walk.do(page.getByRole('button', { name: /^When cold/ }).click());
    await page.getByRole('heading', { name: 'One open fault' }).waitFor();
    walked('A fault at the bench (five taps)', walk);
    expect(walk.actions).toBe(5);
    expect(walk.seconds).toBeLessThan(20);
    expect(await page.getByText(/^Pedal: Bourdon 16, F♯2/).count()).toBeGreaterThan(0);

    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('heading', { name: 'No open faults' }).waitFor();

    for (const name of ['Swell', 'Oboe 8', 'The whole stop', /^Out of tune/, /^Always/]) await page.getByRole('button', { name }).click();
    await page.getByRole('button', { name: /^Close Swell/ }).click();
    await page.getByLabel(/What was found/).fill('tuned');
    await page.getByRole('button', { name: 'Close it' }).click();
    await page.getByRole('heading', { name: 'No open faults' }).waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('heading', { name: 'One open fault' }).waitFor();
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it('goes back a question, by the keyboard alone', async () => {
    const { page } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/fault`);
    await page.getByRole('button', { name: 'Great', exact: true }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Which stop?' }).waitFor();
    expect(await page.evaluate(() => document.activeElement?.tagName)).toBe('H2');
    await page.getByRole('button', { name: 'Back' }).press('Enter');
    await page.getByRole('heading', { name: 'Which division?' }).waitFor();
    await page.context().close();
  });

  it('waits in the browser while the desk is gone, and is handed in once when it is back', async () => {
    const { page, context } = await openTab(browser, desk, { width: 390, height: 844, workers: 'allow' });
    await page.goto(`${desk.origin}/fault`);
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await page.getByRole('heading', { name: 'One open fault' }).waitFor();
    await expect.poll(() => page.evaluate(async () => (await caches.match('/api/organ')) !== undefined)).toBe(true);
    await desk.kill();
    await expect(fetch(desk.origin)).rejects.toThrow();
    const walk = new Walk();
    for (const name of ['Great', 'Principal 4', 'C sharp 4', /^Ciphers/, /^Now and then/]) await walk.do(page.getByRole('button', { name }).first().click());
    await page.getByRole('heading', { name: 'Waiting in this browser' }).waitFor();
    walked('A fault at the bench with the desk gone (five taps)', walk);
    expect(walk.actions).toBe(5);
    await picture(page, 'fault-waiting-390');
    // The tab is closed and opened with the desk still gone: the page comes from what was kept, and so does the note.
    await page.close();
    const second = await context.newPage();
    await second.goto(`${desk.origin}/fault`);
    await second.getByRole('heading', { name: 'Waiting in this browser' }).waitFor();
    await desk.again();
    // The desk has a new token: its start address is opened, as it opens by itself at home.
    const third = await context.newPage();
    await third.goto(desk.start);
    await third.getByRole('navigation', { name: 'Pages' }).waitFor();
    await third.goto(`${desk.origin}/fault`);
    await third.getByRole('heading', { name: '2 open faults' }).waitFor();
    await expect.poll(async () => third.getByText('Waiting in this browser').count()).toBe(0);
    expect(await third.getByRole('listitem').filter({ hasText: /^Great: Principal 4, C♯4C sharp 4: cipher/ }).count()).toBe(1);
    await context.close();
  });

  it('makes the tuner’s list', async () => {
    const { page } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/fault`);
    await page.getByRole('link', { name: 'The tuner’s list' }).click();
    const list = page.getByRole('region', { name: "The tuner's list" });
    await list.getByText('Principal 4').first().waitFor();
    await picture(page, 'tuner-list-1280');
    await page.emulateMedia({ media: 'print' });
    await page.setViewportSize({ width: 794, height: 1123 });
    await picture(page, 'tuner-list-print');
    expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(false);
    await page.context().close();
  });
});
