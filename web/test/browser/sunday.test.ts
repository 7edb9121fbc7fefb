import { readFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, type Desk, forAll, misfits, openTab, picture, settled, Walk } from './desk';
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
    // It prints as its own file does: within the margins it was set for, on as many sides.
    const own = join(desk.folder, 'prepared', day, 'cues.html');
    const margins = (): Promise<string[]> => page.evaluate(() => document.adoptedStyleSheets.flatMap((s) => [...s.cssRules].map((r) => r.cssText.replace(/\s+/g, ' '))));
    expect((await margins()).at(-1)).toBe('@page { margin: 10mm 13mm; }');
    expect(readFileSync(own, 'utf8')).toContain('@page { margin: 10mm 13mm; }');
    const sides = async (): Promise<number> => [...(await page.pdf({ preferCSSPageSize: true })).toString('latin1').matchAll(/\/Type\s*\/Page\b/g)].length;
    const here = await sides();
    await page.getByRole('link', { name: 'A fault' }).click();
    await page.getByRole('heading', { name: 'A fault', level: 1 }).waitFor();
    expect(await margins()).toEqual([]);
    await page.goto(pathToFileURL(own).href);
    expect(here).toBe(await sides());
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it('tells of a word that will not be followed while the board is typed, as the sheet would', async () => {
    const { page, complaints } = await openTab(browser, desk, { width: 390, height: 844 });
    await page.goto(`${desk.origin}/sunday/2026-12-27`);
    await type(page, new Walk(), 1, ['12', 'Dundee', 'E flat', '8.6.8.6', '3', 'gentel, –, full']);
    const hint = page.getByText('Verse 1: “gentel” is not known, perhaps “gentle”.');
    await hint.waitFor();
    const words = page.getByLabel('Row 1: a word, or a word a verse');
    expect(await words.getAttribute('aria-describedby')).toBe(await hint.getAttribute('id'));
    expect(await misfits(page)).toEqual([]);
    await accessible(page);
    await picture(page, 'sunday-hint-390');
    await words.fill('gentle, –, full');
    await hint.waitFor({ state: 'detached' });
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

  it('takes fill-in music, a note to give and a piece from paper with its places', async () => {
    const { page, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/2026-11-15`);
    await page.getByLabel('Row 1: kind').selectOption('Fill-in');
    await page.getByLabel('Row 1: minutes it lasts').fill('2.5');
    await page.getByLabel('Row 2: kind').selectOption('A note');
    await page.getByLabel('Row 2: what for').fill('The responses');
    await page.getByLabel('Row 2: the note to give').fill('G');
    const walk = new Walk();
    await walk.do(page.getByLabel('Row 3: kind').selectOption('Piece'));
    await walk.do(page.getByLabel('Row 3: tune or title').fill('A pastorale'));
    await walk.do(page.getByLabel('Row 3: minutes it lasts').fill('4'));
    await walk.do(page.getByRole('button', { name: 'Row 3: From paper' }).click());
    const place = (n: number): ReturnType<Page['getByRole']> => page.getByRole('group', { name: `Row 3, place ${n}` });
    await walk.do(place(1).getByLabel('Page').focus());
    for (const text of ['1', '', '1', 'soft, flutes', '']) {
      if (text !== '') await walk.do(page.keyboard.type(text));
      await walk.do(page.keyboard.press('Tab'));
    }
    await place(1).getByLabel('Seconds free').press('Enter'); // goes on to the next place
    await walk.do(page.keyboard.type('2'));
    await walk.do(place(2).getByLabel('System').fill('1'));
    await walk.do(place(2).getByLabel('Bar').fill('17'));
    await walk.do(place(2).getByLabel('What is wanted').fill('mf'));
    await walk.do(place(2).getByLabel('Seconds free').fill('1.5'));
    await walk.do(place(3).getByLabel('What is wanted').fill('full'));
    await page.getByText('Place 3 in the copy: on which page, or at which bar?').waitFor();
    await accessible(page);
    await settled(page);
    await picture(page, 'sunday-paper-1280');
    for (const [width, height] of [[820, 1180], [390, 844]] as const) {
      await page.setViewportSize({ width, height });
      expect(await misfits(page)).toEqual([]);
      await settled(page);
      await picture(page, `sunday-paper-${width}`);
    }
    await page.setViewportSize({ width: 1280, height: 800 });
    await place(3).getByLabel('Bar').fill('33');
    await page.getByLabel('Where it may end or be cut').fill('end at bar 24');
    await page.getByText('Saved.').waitFor();
    await expect.poll(() => page.locator('tr.told.warn').count()).toBe(0);
    walked('A piece from paper with three places typed', walk);
    await page.reload();
    await page.getByRole('button', { name: 'Row 3: 3 places in the copy, may be cut' }).waitFor();
    await page.getByRole('button', { name: 'Make the sheet' }).click();
    const sheet = page.getByRole('region', { name: 'The sheet as it prints' });
    for (const text of ['p. 2, system 1, bar 17', 'end at bar 24', 'About 2.5 minutes', 'Give the note: G']) await sheet.getByText(text).first().waitFor();
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it('says of which row something is missing', async () => {
    const { page } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/sunday/2026-12-13`);
    await page.getByLabel('Row 1: number').fill('7');
    await expect.poll(() => page.locator('tr.told.warn').count()).toBeGreaterThan(0);
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
