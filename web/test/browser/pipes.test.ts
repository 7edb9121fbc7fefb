import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { samples24, wavHead } from '../../src/lib/wav';
import { accessible, openBrowser, openDesk, openTab, picture, settled, Walk, type Desk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
beforeAll(async () => {
  desk = await openDesk();
  browser = await openBrowser(['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream']);
});
afterAll(async () => {
  await browser?.close();
  await desk?.end();
});

// An invented run of a 4 ft stop, C2 to G6, a key a few cents out here and there: steady tones with soft beginnings.
function run(rate: number, outOf: Record<number, number>): Buffer {
  const on = 1.6;
  const off = 0.9;
  const frames = Math.round((4 + 56 * (on + off)) * rate);
  const all = new Float32Array(frames);
  let seed = 1;
  for (let i = 0; i < frames; i++) {
    seed = (seed * 1103515245 + 12345) & 0x7fffffff;
    all[i] = (seed / 0x7fffffff - 0.5) * 2e-4;
  }
  for (let k = 0; k < 56; k++) {
    const midi = 36 + k;
    const f = 440 * 2 ** ((midi + 12 - 69) / 12 + (outOf[midi] ?? 0) / 1200);
    const begin = Math.round((2 + k * (on + off)) * rate);
    for (let i = 0; i < on * rate; i++) {
      const t = i / rate;
      const swell = Math.min(1, t / 0.05) * Math.min(1, (on - t) / 0.05);
      let v = 0;
      for (let h = 1; h <= 6 && h * f < rate / 2; h++) v += Math.sin(2 * Math.PI * h * f * t) / h ** 1.5;
      all[begin + i] = (all[begin + i] ?? 0) + 0.12 * swell * v;
    }
  }
  return Buffer.concat([Buffer.from(wavHead(frames, rate)), Buffer.from(samples24(all))]);
}

describe('the pipes', () => {
  it('a run handed over is plotted along the keys and kept; the next is set beside it', { timeout: 300_000 }, async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    const walk = new Walk();
    const hand = async (outOf: Record<number, number>): Promise<void> => {
      await walk.do(page.getByLabel('Which stop').selectOption({ label: 'Principal 4' }));
      await walk.do(page.getByLabel('At the pipes').fill('15'));
      await walk.do(page.locator('input[type=file]').setInputFiles({ name: 'principal.wav', mimeType: 'audio/wav', buffer: run(24000, outOf) }));
      await page.getByRole('heading', { name: 'What it shows' }).waitFor({ timeout: 120_000 });
    };
    await hand({ 60: 18, 67: -15 });
    walked('A run handed over and its pipes seen', walk);
    await page.getByRole('img', { name: /^Tuning/ }).waitFor();
    await settled(page);
    await picture(page, 'pipes-run-1280');
    await accessible(page);
    await page.reload();
    await hand({});
    await page.getByRole('link', { name: 'It is in the book.' }).click();
    await page.getByLabel('Beside it').selectOption({ index: 1 });
    await page.getByText('Open circles: the earlier run.').first().waitFor();
    await settled(page);
    await picture(page, 'pipes-beside-1280');
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('refuses what is no recording in a sentence', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    await page.locator('input[type=file]').setInputFiles({ name: 'notes.wav', mimeType: 'audio/wav', buffer: Buffer.from('not a sound') });
    await page.getByRole('alert').waitFor({ timeout: 30_000 });
    await context.close();
  });

  it('records here with everything off that browsers do to voices', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    await page.getByRole('button', { name: 'Or record it here' }).click();
    await page.getByText(/^0:0[1-9]$/).waitFor({ timeout: 20_000 });
    await page.getByRole('button', { name: 'Throw away' }).click();
    await page.getByRole('button', { name: 'Or record it here' }).waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  });
});
