import { readFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, type Desk, forAll, openTab, picture, settled, Walk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

const day = '2026-11-22'; // a Sunday that is past, so that the lines after the service are there too
const hymns = [
  ['247', 'St Anne', 'C', '8.6.8.6', '6', 'quiet, –, –, –, –, full'],
  ['12', 'Winchester New', 'D', '8.8.8.8', '4', ''],
  ['301', 'Melita', 'C', '8.8.8.8.8.8', '4', ''],
  ['88', 'Old Hundredth', 'G', '8.8.8.8', '4', 'bold'],
] as const;

/** Types one row as a person does: from field to field by Tab, which selects what a known tune has filled in. */
async function type(page: Page, walk: Walk, row: number, values: readonly string[]): Promise<void> {
  await page.getByLabel(`Row ${row}: number`).focus();
  for (const [i, value] of values.entries()) {
    if (i > 0) await page.keyboard.press('Tab');
    if (value !== '') await walk.do(page.keyboard.type(value));
  }
}

describe('Sunday', () => {
  it('four hymns typed make a sheet', async () => {
    const { page, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/${day}`);
    await page.getByText('Four hymns typed here make one sheet').waitFor();
    const walk = new Walk();
    for (const [i, h] of hymns.entries()) {
      await type(page, walk, i + 1, h);
      await walk.do(page.keyboard.press('Enter'));
    }
    await page.getByText('Saved.').waitFor();
    const file = join(desk.folder, 'services', `${day}.toml`);
    await expect.poll(() => existsSync(file) && readFileSync(file, 'utf8').includes('Old Hundredth')).toBe(true);
    await walk.do(page.getByRole('button', { name: 'Make the sheet' }).click());
    await page.getByRole('heading', { name: 'The sheet' }).waitFor({ timeout: 240_000 });
    const sheet = page.getByRole('region', { name: 'The sheet as it prints' });
    await sheet.getByText('Melita').first().waitFor();
    walked('Four hymns typed and a sheet in hand', walk);
    await settled(page);
    await picture(page, 'sunday-made-1280');
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it('is changed by hand, made again round it, and taken back step by step, also after a reload', async () => {
    const { page, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/${day}`);
    const sheet = page.getByRole('region', { name: 'The sheet as it prints' });
    await sheet.getByText('Melita').first().waitFor();
    const walk = new Walk();
    await walk.do(page.getByText('Change it by hand').click());
    const verse = page.getByRole('button', { name: /^Verse 3/ }).nth(1); // of Winchester New
    await walk.do(verse.click());
    await walk.do(page.getByLabel('A word for it').fill('soft, no pedal'));
    await walk.do(page.keyboard.press('Enter'));
    await page.getByText('One change can be taken back.').waitFor();
    await expect.poll(() => verse.innerText(), { timeout: 240_000 }).toMatch(/soft.*yours/s);
    await sheet.getByText('no pedal').first().waitFor();
    // The stops of the second verse of Melita, by typing; a name is completed behind the comma.
    const second = page.getByRole('button', { name: /^Verse 2/ }).nth(2);
    await walk.do(second.click());
    const drawn = page.getByLabel(/^Drawn, and nothing else/);
    await walk.do(drawn.fill('Clarabella 8, Dulci'));
    expect(await page.locator('datalist option').evaluateAll((all) => all.map((o) => (o as HTMLOptionElement).value))).toContain('Clarabella 8, Dulciana 8');
    await walk.do(drawn.fill('Clarabella 8, Dulciana 8'));
    await walk.do(page.getByRole('button', { name: 'Fix this' }).click());
    await page.getByText('2 changes can be taken back').waitFor();
    await expect.poll(() => second.innerText(), { timeout: 240_000 }).toMatch(/Clarabella 8, Dulciana 8[^,]*yours/s);
    walked('A verse given another word and another its stops, the sheet made again', walk);
    await page.getByRole('button', { name: 'One knob from here' }).click();
    await page.getByRole('list', { name: 'One knob from here' }).getByRole('button', { name: 'Draw Open Diapason 8' }).waitFor();
    await page.getByRole('group', { name: 'Left out of the whole day' }).getByRole('button', { name: 'Dulciana 8' }).waitFor();
    await settled(page);
    await picture(page, 'sunday-by-hand-1280');
    await accessible(page);
    // A stop left out for the day is gone from every verse but the one that is fixed with it.
    await page.getByRole('group', { name: 'Left out of the whole day' }).getByRole('button', { name: 'Clarabella 8' }).click();
    await page.getByText('Left out today: Clarabella 8').waitFor();
    await page.getByRole('button', { name: 'Make it again' }).isEnabled();
    await page.reload();
    await page.getByText('Change it by hand: 3 things are yours').click();
    for (const left of ['2 changes can', 'One change can']) {
      await page.getByRole('button', { name: 'Take the last change back' }).click();
      await page.getByText(left).waitFor();
    }
    await page.getByRole('button', { name: 'Take the last change back' }).click();
    await page.getByText('Change it by hand', { exact: true }).waitFor();
    await expect.poll(() => verse.innerText(), { timeout: 240_000 }).not.toMatch(/soft|yours/);
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it('prints the sheet and nothing else', async () => {
    const { page } = await openTab(browser, desk, { width: 794, height: 1123 });
    await page.goto(`${desk.origin}/sunday/${day}`);
    await page.getByRole('region', { name: 'The sheet as it prints' }).getByText('Melita').first().waitFor();
    await page.emulateMedia({ media: 'print' });
    await settled(page);
    await picture(page, 'sunday-print');
    for (const name of ['Print', 'Make it again', 'Off']) expect(await page.getByRole('button', { name }).first().isVisible()).toBe(false);
    expect((await page.pdf({ format: 'A4', preferCSSPageSize: true })).byteLength).toBeGreaterThan(10_000);
    await page.context().close();
  });

  it('a row is taken off and had back', async () => {
    const { page } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/${day}`);
    await page.getByRole('button', { name: /Off.*Melita/ }).click();
    await expect.poll(() => page.getByLabel(/Row \d: tune or title/).count()).toBe(4);
    await page.getByRole('button', { name: 'Take it back' }).click();
    await expect.poll(() => page.getByLabel(/Row \d: tune or title/).count()).toBe(5);
    await page.context().close();
  });

  it('says of which row something is missing', async () => {
    const { page } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/2026-12-13`);
    await page.getByLabel('Row 1: number').fill('7');
    await expect.poll(() => page.locator('tr.problem').count()).toBeGreaterThan(0);
    await picture(page, 'sunday-missing-1280');
    await page.context().close();
  });

  it('after the service a line an item', async () => {
    const { page } = await openTab(browser, desk, { width: 390, height: 844 });
    await page.goto(`${desk.origin}/sunday/${day}`);
    const line = page.getByRole('group', { name: /St Anne/ });
    await line.getByRole('button', { name: 'too thin' }).click();
    await expect.poll(() => line.getByRole('button', { name: 'too thin' }).getAttribute('aria-pressed')).toBe('true');
    await page.reload();
    await expect.poll(() => page.getByRole('group', { name: /St Anne/ }).getByRole('button', { name: 'too thin' }).getAttribute('aria-pressed')).toBe('true');
    await page.getByRole('heading', { name: 'After the service' }).scrollIntoViewIfNeeded();
    await settled(page);
    await picture(page, 'sunday-after-390');
    await page.context().close();
  });

  it('in two tabs at once loses neither', async () => {
    const { page, context } = await openTab(browser, desk);
    const at = `${desk.origin}/sunday/2026-12-20`;
    await page.goto(at);
    await page.getByLabel('Row 1: tune or title').fill('Dundee');
    await page.getByText('Saved.').waitFor();
    const other = await context.newPage();
    await other.goto(at);
    await expect.poll(() => other.getByLabel('Row 1: tune or title').inputValue()).toBe('Dundee');
    // A change in one is seen in the other, which is not being typed into.
    await other.getByLabel('Row 2: tune or title').fill('Melita');
    await expect.poll(() => page.getByLabel('Row 2: tune or title').inputValue()).toBe('Melita');
    await context.close();
  });

  it('with the desk killed in the middle of typing loses nothing', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/2026-12-27`);
    await page.getByLabel('Row 1: tune or title').fill('Irby');
    await page.getByText('Saved.').waitFor();
    await desk.kill();
    await page.getByLabel('Row 1: key').fill('G');
    await page.getByText('Not saved yet').waitFor();
    await desk.again();
    const start = await context.newPage();
    await start.goto(desk.start);
    await start.getByRole('navigation', { name: 'Pages' }).waitFor();
    await page.getByText('Saved.').waitFor();
    const text = readFileSync(join(desk.folder, 'services', '2026-12-27.toml'), 'utf8');
    expect(text).toContain('Irby');
    expect(text).toContain('"G"');
    await context.close();
  });
});
