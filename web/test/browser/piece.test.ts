import type { Browser } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { type Desk, forAll, openTab, picture, settled, Walk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

const tiny = `<?xml version="1.0"?><score-partwise version="4.0"><work><work-title>A test</work-title></work><part-list><score-part id="P1"><part-name>Organ</part-name></score-part></part-list><part id="P1">${[1, 2]
  .map((n) => `<measure number="${n}">${n === 1 ? '<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>' : ''}<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure>`)
  .join('')}</part></score-partwise>`;

describe('a piece', () => {
  it('of the demo is worked out, engraved with what to draw and with its feet, and heard from a bar', { timeout: 300_000 }, async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    const walk = new Walk();
    await walk.do(page.getByRole('link', { name: 'A piece' }).click());
    await walk.do(page.getByRole('link', { name: 'Voluntary in D' }).click());
    await page.locator('g.measure').nth(30).waitFor({ timeout: 60_000 });
    await walk.do(page.getByRole('button', { name: 'Work it out', exact: true }).click());
    await page.getByRole('button', { name: 'Work it out again' }).waitFor({ timeout: 200_000 });
    await page.getByText('Why so').waitFor();
    await page.locator('g.measure').nth(30).waitFor({ timeout: 60_000 });
    walked('A voluntary worked out and engraved', walk);
    await settled(page);
    await picture(page, 'piece-marked-1280');
    await page.getByRole('button', { name: 'with the feet' }).click();
    await page.getByText(/^\^ toe/).waitFor();
    await page.getByLabel('From bar').fill('30');
    await page.getByLabel('From bar').press('Tab');
    await expect.poll(() => page.locator('g.measure.now').count(), { timeout: 30_000 }).toBe(1);
    await page.getByRole('button', { name: 'Hear it' }).click();
    await page.locator('audio').waitFor({ timeout: 200_000 });
    await expect.poll(() => page.locator('p.bar').textContent(), { timeout: 30_000 }).toMatch(/Bar \d+/);
    await page.goBack();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('put in is kept and can be taken back; what is no score is refused in a sentence', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/piece`);
    const file = page.locator('input[type=file]');
    for (const [name, bytes] of [['shopping.musicxml', 'eggs, butter'], ['empty.mid', ''], ['cut.mxl', 'PK\u0003\u0004']] as const) {
      await file.setInputFiles({ name, mimeType: 'application/octet-stream', buffer: Buffer.from(bytes) });
      await page.getByRole('alert').waitFor();
      expect(await page.getByRole('alert').innerText()).toMatch(/[.:]$/m);
      await page.reload();
    }
    await picture(page, 'pieces-1280');
    await page.locator('input[type=file]').setInputFiles({ name: 'a test.musicxml', mimeType: 'application/xml', buffer: Buffer.from(tiny) });
    await page.getByRole('heading', { name: 'A test' }).waitFor();
    await page.locator('g.measure').first().waitFor({ timeout: 60_000 });
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('heading', { name: 'There is no such piece' }).waitFor();
    await context.close();
  });
});
