// The tasks of a Sunday by the keyboard alone; where reading begins after each step; what is waited for after a reload.
import type { Browser, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, type Desk, forAll, openTab } from './desk';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

const focused = (page: Page): Promise<string> =>
  page.evaluate(() => {
    const e = document.activeElement;
    return e === null || e === document.body ? '' : `${e.localName} ${e.getAttribute('aria-label') ?? (e as HTMLElement).innerText.trim().replace(/\s+/g, ' ')}`;
  });
/** Tab by Tab until something of that name has the focus. */
async function tabTo(page: Page, name: RegExp, most = 40): Promise<void> {
  const met: string[] = [];
  for (let n = 0; n < most; n++) {
    await page.keyboard.press('Tab');
    met.push(await focused(page));
    if (name.test(met.at(-1)!)) return;
  }
  throw new Error(`${name} is not reached by Tab: ${met.join(' | ')}`);
}

describe('by the keyboard alone', () => {
  it('a board is typed, its sheet made, read at the bench line by line, and said of afterwards', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/2026-11-15`);
    await page.getByText('Four hymns typed here make one sheet').waitFor();
    await tabTo(page, /Row 1: number/);
    for (const [number, tune, key, metre, verses, words] of [['58', 'Dundee', 'E flat', '8.6.8.6', '3', 'soft'], ['12', 'Winchester New', 'D', '8.8.8.8', '2', '']]) {
      for (const text of [number, tune, key, metre, verses]) {
        await page.keyboard.type(text!);
        await page.keyboard.press('Tab');
      }
      await page.keyboard.type(words!);
      await page.keyboard.press('Enter');
    }
    await tabTo(page, /Make the sheet/);
    await page.keyboard.press('Enter');
    await page.getByText('The sheet is made; it stands below.').waitFor({ timeout: 240_000 });
    await tabTo(page, /^a At the bench/, 12);
    await page.keyboard.press('Enter');
    await page.getByText(/^1 of/).waitFor();
    expect(await focused(page)).toBe('h1 Sunday 15 November 2026');
    await page.keyboard.press('ArrowRight');
    await page.getByText(/^2 of/).waitFor();
    await tabTo(page, /^a Leave/);
    await page.keyboard.press('Enter');
    await expect.poll(() => focused(page)).toBe('h1 Sunday 15 November 2026');
    await page.getByRole('button', { name: 'Down to the sheet' }).press('Enter');
    expect(await focused(page)).toBe('h2 The sheet');
    await tabTo(page, /^button too thin/, 60);
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'too thin', pressed: true }).waitFor();
    await accessible(page);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('what opens in the place of what was pressed begins with its heading, and so does the way back', async () => {
    const { page, context } = await openTab(browser, desk);
    for (const [from, link, heading] of [['/piece', 'Winchester New', 'Winchester New'], ['/organ', 'Edit as text', 'The organ as text'], ['/sunday/2026-11-15', 'The week before', 'Sunday 8 November 2026']] as const) {
      await page.goto(desk.origin + from);
      await page.getByRole('link', { name: link }).press('Enter');
      await expect.poll(() => focused(page)).toBe(`h1 ${heading}`);
      await page.goBack();
      await expect.poll(() => focused(page)).toMatch(/^h1 /);
      expect(await focused(page)).not.toBe(`h1 ${heading}`);
    }
    // Among the places of one page the focus stays where it is: the next one is a Tab away.
    await page.goto(`${desk.origin}/choosing`);
    await page.getByRole('link', { name: 'Saved', exact: true }).press('Enter');
    await page.getByRole('heading', { name: 'Saved registrations' }).waitFor();
    expect(await focused(page)).toBe('a Saved');
    await context.close();
  });

  it('a sheet that is being made is waited for after a reload, and after a step away and back', async () => {
    const { page, context } = await openTab(browser, desk);
    const at = `${desk.origin}/sunday/2026-11-01`;
    await desk.ask('PUT', '/api/services/2026-11-01', { items: [{ kind: 'hymn', title: 'Dundee', key: 'E flat', metre: '8.6.8.6', verses: 6 }] });
    await page.goto(at);
    await page.getByRole('button', { name: 'Make the sheet' }).press('Enter');
    const begun = await page.waitForFunction(() => sessionStorage.getItem('task sheet 2026-11-01'));
    const asked: string[] = [];
    page.on('request', (r) => asked.push(`${r.method()} ${new URL(r.url()).pathname}`));
    const task = `GET /api/tasks/${String(await begun.jsonValue())}`;
    await page.reload();
    await expect.poll(() => asked.includes(task)).toBe(true);
    await page.getByText('The sheet is made; it stands below.').waitFor({ timeout: 240_000 });
    expect(await page.evaluate(() => sessionStorage.getItem('task sheet 2026-11-01'))).toBe(null);
    expect(asked.filter((a) => a.startsWith('POST') && a.endsWith('/prepare'))).toEqual([]);
    await context.close();
  });
});
