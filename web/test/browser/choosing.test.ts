import type { Browser } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { type Desk, forAll, openTab, picture, settled, Walk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

describe('choosing', () => {
  it('gives the ear’s two answers, says what one knob would do, and draws it', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing`);
    const walk = new Walk();
    await walk.do(page.getByLabel('Open Diapason 8').check());
    await page.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: 30_000 });
    const would = page.getByRole('table', { name: 'What each knob that is not drawn would do' });
    await walk.do(would.getByRole('button', { name: 'Draw Principal 4' }).click());
    const drawn = page.getByRole('table', { name: 'The stops and couplers drawn' });
    await drawn.getByText('Principal 4').waitFor({ timeout: 30_000 });
    walked('What the 4 ft adds to the Open Diapason', walk);
    expect(page.url()).toContain('Principal');
    await page.getByText('Details: the figures behind the words').click();
    await page.getByText(/phon, give or take/).waitFor();
    await settled(page);
    await picture(page, 'choosing-1280');
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is heard, and two are heard one after the other', { timeout: 200_000 }, async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?draw=Open+Diapason+8`);
    await page.getByRole('button', { name: 'Listen' }).click({ timeout: 30_000 });
    const audio = page.locator('audio');
    await audio.first().waitFor({ timeout: 400_000 });
    await expect.poll(() => audio.first().evaluate((a: HTMLAudioElement) => a.duration), { timeout: 20_000 }).toBeGreaterThan(3);
    await page.getByRole('button', { name: 'Hold this to compare' }).click();
    await page.getByLabel('Clarabella 8').check();
    await page.getByRole('button', { name: 'Compare with what is held' }).click({ timeout: 30_000 });
    await expect.poll(() => page.locator('audio[aria-label^="What is held"]').count(), { timeout: 400_000 }).toBe(1);
    await context.close();
  });

  it('says in a sentence what an address cannot mean', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?draw=Tuba+8`);
    await page.getByText('Nothing is drawn yet').waitFor();
    await context.close();
  });
});
