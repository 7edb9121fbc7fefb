import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessible, openBrowser, openDesk, openTab, picture, settled, Walk, type Desk } from './desk';
import { chromiumPath } from './chromium';
import { walked } from './walks';

let browser: Browser;
const desks: Desk[] = [];
async function desk(what: string | null): Promise<Desk> {
  const d = await openDesk(what);
  desks.push(d);
  return d;
}
beforeAll(async () => {
  if (chromiumPath !== undefined) browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  for (const d of desks) await d.end();
});

describe('the organ', () => {
  it('is shown as printed, with where its figures come from and the coupler test', async () => {
    const d = await desk('village');
    const { page, context } = await openTab(browser, d);
    await page.getByRole('link', { name: 'The organ' }).click();
    await page.getByRole('heading', { name: 'St Orwin, Little Marrowby' }).waitFor();
    expect(await page.getByText('2⅔').count()).toBe(1);
    await page.getByRole('button', { name: /given$/ }).click();
    await page.getByText('The given figures, one by one').click();
    await page.getByRole('table').first().waitFor();
    await page.getByText('Is one pitch heard, or two').first().waitFor();
    await page.goBack();
    await page.getByRole('heading', { name: /^Sunday/ }).waitFor();
    await context.close();
  });

  it('has its couplers tried at the console, answer by answer, and taken back', async () => {
    const d = await desk('village');
    const file = readFileSync(join(d.folder, 'organ.toml'), 'utf8');
    const { page, context, complaints } = await openTab(browser, d, { width: 820, height: 1180 });
    const carries = async (): Promise<string[]> => {
      const { specification } = await d.ask<{ specification: { couplers: { id: string; carries: string[] }[] } }>('GET', '/api/organ');
      return specification.couplers.flatMap((c) => c.carries.map((k) => `${c.id} ${k}`));
    };
    const before = await carries();
    await page.goto(`${d.origin}/organ`);
    const assumed = page.getByText('What the couplers carry is assumed until it has been tried at the console');
    await assumed.waitFor();
    const steps = page.getByRole('group', { name: /^Heard with/ });
    const walk = new Walk();
    await walk.do(steps.nth(1).getByRole('button', { name: 'The Swell' }).click()); // Great to Pedal brings the Swell along
    await page.getByText(/Heard on .*: the Swell\./).waitFor();
    await expect.poll(carries).toEqual([...before, 'gt-pd sw-gt']);
    await page.getByRole('button', { name: 'Take it back' }).click();
    await expect.poll(carries).toEqual(before);
    await walk.do(steps.nth(0).getByRole('button', { name: 'A wrong note' }).click());
    await page.getByText('That settles nothing').waitFor();
    await walk.do(steps.nth(0).getByRole('button', { name: 'Two pitches' }).click());
    await walk.do(steps.nth(1).getByRole('button', { name: 'Silence' }).click());
    await walk.do(steps.nth(2).getByRole('button', { name: 'One pitch' }).click());
    walked('The coupler test answered at the console', walk);
    await page.getByText('It has been tried here.').waitFor();
    await expect.poll(() => assumed.count()).toBe(0);
    await steps.nth(0).scrollIntoViewIfNeeded();
    await settled(page);
    await picture(page, 'organ-couplers-820');
    await accessible(page);
    // Nothing of it is lost with the desk, and the organ's text is as it was.
    await d.kill();
    await d.again();
    await page.goto(d.start);
    await page.goto(`${d.origin}/organ`);
    await expect.poll(() => steps.nth(0).getByRole('button', { name: 'Two pitches' }).getAttribute('aria-pressed')).toBe('true');
    expect(readFileSync(join(d.folder, 'organ.toml'), 'utf8')).toBe(file);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is edited as text: a fault is shown with its line and not saved; what can be read is, and is taken back', async () => {
    const d = await desk('village');
    const file = join(d.folder, 'organ.toml');
    const before = readFileSync(file, 'utf8');
    const { page, context, complaints } = await openTab(browser, d);
    await page.goto(`${d.origin}/organ/text`);
    const text = page.getByLabel('organ.toml');
    await expect.poll(() => text.inputValue()).toBe(before);
    await text.fill(before.replace('a_hz = 440', 'a_hz = "high"'));
    await page.getByRole('button', { name: /^Line \d+/ }).first().waitFor();
    expect(await page.getByRole('button', { name: 'Save' }).isDisabled()).toBe(true);
    await settled(page);
    await picture(page, 'organ-text-fault-1280');
    await accessible(page);
    await page.getByRole('button', { name: /^Line \d+/ }).first().click();
    expect(await page.evaluate(() => getSelection()?.toString() || (document.activeElement as HTMLTextAreaElement).value.slice((document.activeElement as HTMLTextAreaElement).selectionStart, (document.activeElement as HTMLTextAreaElement).selectionEnd))).toContain('a_hz');
    await text.fill(before.replace('a_hz = 440', 'a_hz = 439'));
    await page.getByText('Can be read; not saved yet.').waitFor();
    await page.getByRole('button', { name: 'Save' }).click();
    await expect.poll(() => readFileSync(file, 'utf8')).toContain('a_hz = 439');
    await page.getByRole('button', { name: 'Take it back' }).click();
    await expect.poll(() => readFileSync(file, 'utf8')).toBe(before);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is made from a pasted specification', async () => {
    const d = await desk(null);
    const { page, context, complaints } = await openTab(browser, d);
    await page.goto(`${d.origin}/organ`);
    await page.getByRole('heading', { name: 'Your organ' }).waitFor();
    await picture(page, 'organ-new-1280');
    const walk = new Walk();
    const pasted = 'GREAT\nOpen Diapason 8\nClarabella 8\nPrincipal 4\n\nSWELL (enclosed)\nLieblich Gedackt 8\nGemshorn 4\nOboe 8\n\nPEDAL\nBourdon 16\n\nSwell to Great\nSwell to Pedal\nGreat to Pedal\nthe ladder is behind the case\n';
    await walk.do(page.getByLabel('The specification').fill(pasted));
    await walk.do(page.getByRole('button', { name: 'Read it' }).click());
    await page.getByRole('heading', { name: 'As it was read' }).waitFor();
    await walk.do(page.getByLabel('Manuals').fill('56'));
    await walk.do(page.getByLabel('Pedals').fill('30'));
    await walk.do(page.getByLabel('What works the swell box?').selectOption('lever'));
    await settled(page);
    await picture(page, 'organ-new-read-1280');
    await accessible(page);
    await walk.do(page.getByRole('button', { name: 'Make the organ' }).click());
    await page.getByRole('heading', { name: 'Where the figures come from' }).waitFor();
    walked('An organ made from a pasted specification', walk);
    expect(readFileSync(join(d.folder, 'organ.toml'), 'utf8')).toContain('Clarabella');
    expect(complaints).toEqual([]);
    await context.close();
  });
});
