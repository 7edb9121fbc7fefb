import type { Browser } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, forAll, openTab, picture, settled, Walk, type Desk } from './desk';
import { recordedRun } from './recording';
import { wavHead } from '../../src/lib/wav';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]), ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream']);

describe('the pipes', () => {
  it('a run handed over is plotted along the keys and kept; the next is set against it, a finding goes into the fault book', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    const walk = new Walk();
    const hand = async (outOf: Record<number, number>): Promise<void> => {
      await walk.do(page.getByLabel('Which stop').selectOption({ label: 'Principal 4' }));
      await walk.do(page.getByLabel('At the pipes').fill('15'));
      await walk.do(page.locator('input[type=file]').setInputFiles({ name: 'principal.wav', mimeType: 'audio/wav', buffer: recordedRun({ outOf }) }));
      await page.getByRole('heading', { name: 'What it shows' }).waitFor({ timeout: 240_000 });
    };
    await hand({ 60: 18, 67: -15 });
    walked('A run handed over and its pipes seen', walk);
    await page.getByRole('img', { name: /^Tuning/ }).waitFor();
    await settled(page);
    await picture(page, 'pipes-run-1280');
    await accessible(page);
    await page.reload();
    await hand({ 67: -15 });
    await page.getByRole('link', { name: 'It is in the book' }).click();
    // Set against the last by itself: C4 has come down to its place.
    await page.getByRole('img', { name: /^Change in tuning/ }).waitFor();
    await page.getByRole('listitem').filter({ hasText: /^C4 is 1\d(\.\d)? cents flatter among its neighbours/ }).waitFor();
    await settled(page);
    await picture(page, 'pipes-compared-1280');
    await accessible(page);

    const finding = page.getByRole('listitem').filter({ hasText: 'G4' }).first();
    await finding.getByRole('button', { name: /^Into the fault book/ }).click();
    await page.getByText('In the fault book:').waitFor();
    await finding.getByText('In the fault book.').waitFor();
    const faults = await desk.ask<{ faults: { text: string }[] }>('GET', '/api/faults');
    expect(faults.faults.map((f) => f.text)).toEqual(['Great: Principal 4, G4: out of tune']);
    await page.getByRole('button', { name: 'Take it back' }).click();
    await finding.getByRole('button', { name: /^Into the fault book/ }).waitFor();

    await page.getByRole('link', { name: 'A page for the builder' }).click();
    const sheet = page.getByRole('region', { name: 'The page for the builder' });
    await sheet.getByText('What stands out').first().waitFor();
    await settled(page);
    // Shadow parts are looked into: the plots are drawn, one ring a key.
    expect(await sheet.locator('svg.keys circle').count()).toBeGreaterThan(5);
    await picture(page, 'pipes-builder-1280');
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('a note found wrong is put right: another key, no sound, two for one; all of it is worked out again and taken back', async () => {
    const { page, context, complaints } = await openTab(browser, desk, { width: 820, height: 1180 });
    const runs = await desk.ask<{ runs: { id: number }[] }>('GET', '/api/runs');
    const id = runs.runs.at(-1)!.id;
    interface Kept {
      notes: { midi: number; state: string }[];
    }
    const state = async (midi: number): Promise<string | undefined> => (await desk.ask<Kept>('GET', `/api/runs/${id}`)).notes.find((n) => n.midi === midi)?.state;
    const before = await desk.ask<Kept>('GET', `/api/runs/${id}`);
    await page.goto(`${desk.origin}/pipes/${id}`);
    const walk = new Walk();
    await walk.do(page.getByText(/look through, and put right what is wrong/).click());
    await walk.do(page.getByRole('button', { name: 'Correct D 4', exact: true }).click());
    await walk.do(page.getByLabel('It is').selectOption('a key that gave no sound'));
    await walk.do(page.getByRole('button', { name: 'Note it' }).click());
    // Two times that make no stretch are refused where they stand.
    await page.getByRole('button', { name: 'Correct F 4', exact: true }).click();
    await page.getByLabel('It is').selectOption('no note: talk, a knock');
    const from = page.getByLabel('from, s');
    const was = await from.inputValue();
    await from.fill('9999');
    await page.getByRole('button', { name: 'Note it' }).click();
    await page.getByRole('alert').getByText(/the second after the first/).waitFor();
    await from.fill(was);
    await page.getByRole('button', { name: 'Note it' }).click();
    const waiting = page.getByRole('region', { name: 'Corrections not yet worked out' });
    expect(await waiting.getByRole('paragraph').allTextContents()).toEqual(['D4: no sound', expect.stringMatching(/^no note: left alone, /)]);
    await settled(page);
    await picture(page, 'pipes-correcting-820');
    await accessible(page);
    await walk.do(waiting.getByRole('button', { name: 'Work it out again' }).click());
    await page.getByText('Worked out again as you said.').waitFor({ timeout: 240_000 });
    walked('A note found wrong put right', walk);
    expect(await Promise.all([state(62), state(63)])).toEqual(['dead', 'speaks']);
    expect(await state(65)).not.toBe('speaks');
    await page.getByText(/Without a figure: D4: dead/).waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByText('Taken back.').waitFor({ timeout: 240_000 });
    expect(await desk.ask('GET', `/api/runs/${id}`)).toEqual(before);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('killed while it listens, the desk has the recording still and says that it was not finished', async () => {
    const { page, context } = await openTab(browser, desk);
    const before = await desk.ask<{ runs: object[] }>('GET', '/api/runs');
    await page.goto(`${desk.origin}/pipes`);
    await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    await page.locator('input[type=file]').setInputFiles({ name: 'broken-off.wav', mimeType: 'audio/wav', buffer: recordedRun() });
    await page.getByRole('button', { name: 'Stop', exact: true }).waitFor();
    await expect.poll(async () => (await desk.ask<{ tasks: { state: string }[] }>('GET', '/api/tasks')).tasks.filter((t) => t.state === 'working').length).toBe(1);
    await desk.kill();
    await desk.again();
    await page.goto(desk.start);
    await page.getByRole('navigation', { name: 'Pages' }).waitFor();
    await page.goto(`${desk.origin}/pipes`);
    await page.getByText(/from broken-off\.wav was broken off when Calcant ended\. The recording is here/).waitFor();
    await settled(page);
    await picture(page, 'pipes-broken-off-1280');
    await page.getByRole('button', { name: 'Measure it now' }).click();
    await page.getByRole('link', { name: 'It is in the book' }).waitFor({ timeout: 240_000 });
    expect(await page.getByText('was broken off').count()).toBe(0);
    expect((await desk.ask<{ runs: object[] }>('GET', '/api/runs')).runs.length).toBe(before.runs.length + 1);
    await context.close();
  });

  it('refuses what is no recording in a sentence', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    const bad = { 'text.wav': Buffer.from('not a sound'), 'empty.wav': Buffer.from(wavHead(0, 24_000)), 'nothing.wav': Buffer.alloc(0) };
    for (const [name, buffer] of Object.entries(bad)) {
      await page.locator('input[type=file]').setInputFiles({ name, mimeType: 'audio/wav', buffer });
      const said = page.getByRole('alert');
      await expect.poll(() => said.allTextContents(), { message: name }).toEqual([expect.stringMatching(/^[A-Z].{20,}\.\s*$/s)]);
      await page.reload();
      await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    }
    await context.close();
  });

  it('records here with everything off that browsers do to voices', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/pipes`);
    await page.getByLabel('Which stop').selectOption({ label: 'Principal 4' });
    await page.getByRole('button', { name: 'Or record it here' }).click();
    await page.getByText(/^0:0[1-9]$/).waitFor();
    await page.getByRole('button', { name: 'Throw away' }).click();
    await page.getByRole('button', { name: 'Or record it here' }).waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  });
});
