import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Locator } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { packedBomb } from './bomb';
import { accessible, type Desk, forAll, misfits, onPaper, openTab, picture, settled, Walk } from './desk';
import { walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

const tiny = `<?xml version="1.0"?><score-partwise version="4.0"><work><work-title>A test</work-title></work><part-list><score-part id="P1"><part-name>Organ</part-name></score-part></part-list><part id="P1">${[1, 2]
  .map((n) => `<measure number="${n}">${n === 1 ? '<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>' : ''}<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure>`)
  .join('')}</part></score-partwise>`;

describe('a piece', () => {
  it('of the demo is worked out, engraved with what to draw and with its feet, and heard from a bar', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    const walk = new Walk();
    await walk.do(page.getByRole('link', { name: 'A piece' }).click());
    await walk.do(page.getByRole('link', { name: 'Voluntary in D' }).click());
    await page.locator('g.measure').nth(30).waitFor();
    await walk.do(page.getByRole('button', { name: 'Work it out', exact: true }).click());
    await page.getByRole('button', { name: 'Work it out again' }).waitFor({ timeout: 240_000 });
    await page.getByText('Why so').waitFor();
    await page.locator('g.measure').nth(30).waitFor();
    walked('A voluntary worked out and engraved', walk);
    await settled(page);
    await picture(page, 'piece-marked-1280');
    await page.getByRole('button', { name: 'with the feet' }).click();
    await page.getByText(/^\^ toe/).waitFor();
    await page.getByLabel('From bar').fill('30');
    await page.getByLabel('From bar').press('Tab');
    await expect.poll(() => page.locator('g.measure.now').count()).toBe(1);
    await page.getByRole('button', { name: 'Hear it' }).click();
    await page.locator('audio').waitFor({ timeout: 240_000 });
    await expect.poll(() => page.locator('p.bar').textContent()).toMatch(/Bar \d+/);
    await page.goBack();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is engraved for paper, whatever the screen is, with its name over it; words over the last bar are not cut off', async () => {
    const { page, context, complaints } = await openTab(browser, desk, { width: 390, height: 844 });
    await page.goto(`${desk.origin}/piece/voluntary-in-d.musicxml/score?view=feet`);
    const systems = (of: string): Promise<number> => page.locator(`${of} g.system`).count();
    await page.locator('g.measure').nth(30).waitFor();
    const onScreen = await systems('.score');
    const cut = (): Promise<string[]> =>
      page.evaluate(() =>
        [...document.querySelectorAll('div.score:not(.paper) > svg')].flatMap((sheet) => {
          const edge = sheet.getBoundingClientRect();
          return [...sheet.querySelectorAll('text')].filter((t) => t.getBoundingClientRect().right > edge.right + 1 || (t.textContent !== '' && t.getBoundingClientRect().left < edge.left - 1)).map((t) => t.textContent.trim());
        }),
      );
    await expect.poll(cut).toEqual([]);
    expect(await misfits(page)).toEqual([]);
    const printed = page.evaluate(() => new Promise((r) => { globalThis.print = () => r('asked'); }));
    await page.getByRole('button', { name: 'Print the score' }).click();
    expect(await printed).toBe('asked');
    await onPaper(page);
    expect(await systems('.paper')).toBeLessThan(onScreen * 0.75);
    expect(await page.locator('div.score:not(.paper)').isVisible()).toBe(false);
    expect(await page.locator('.paper g.measure').first().isVisible()).toBe(true);
    expect(await page.locator('.heading').innerText()).toMatch(/Voluntary in D\s+St Orwin/);
    await picture(page, 'piece-feet-print');
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('has a foot mark and a cue changed, and is worked out again round them', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/piece/voluntary-in-d.musicxml/score?view=feet`);
    // Pointed at in the score: the note's mark comes under the fingers.
    const marks = await desk.ask<{ marks: { id: string; foot: string; part: string; moment: { bar: string }; note: string }[] }>('GET', '/api/pieces/voluntary-in-d.musicxml/feet');
    const mark = marks.marks[5]!;
    const head = page.locator(`g.note[data-id=${mark.id}] g.notehead`);
    await head.waitFor();
    const walk = new Walk();
    await walk.do(head.click({ force: true }));
    const line = page.locator(`[data-note=${mark.id}]`);
    await expect.poll(() => page.evaluate(() => document.activeElement?.closest('[data-note]')?.getAttribute('data-note'))).toBe(mark.id);
    const [foot, part] = [mark.foot === 'left' ? 'right' : 'left', mark.part === 'toe' ? 'heel' : 'toe'];
    await walk.do(line.getByRole('button', { name: foot }).press('Enter'));
    await line.getByRole('button', { name: foot, pressed: true }).waitFor();
    await walk.do(line.getByRole('button', { name: part }).press('Enter'));
    await line.getByRole('button', { name: part, pressed: true }).waitFor();
    await line.getByText('yours').waitFor();
    walked('A foot mark changed', walk);
    await settled(page);
    await picture(page, 'piece-feet-1280');
    await accessible(page);
    await line.getByRole('button', { name: 'Free again' }).click();
    await line.getByText('yours').waitFor({ state: 'detached' });
    await page.reload();
    await page.getByText('3 changes can be taken back').waitFor();
    await page.getByRole('button', { name: 'Take the last change back' }).click();
    await line.getByText('yours').waitFor();

    // A change of stops given others, struck out, and had back.
    await page.getByText('Why so').waitFor();
    const changes = page.getByText(/^\d+ changes$/);
    if ((await page.getByRole('button', { name: /^Change bar/ }).count()) === 0 || !(await page.getByRole('button', { name: /^Change bar/ }).first().isVisible())) await changes.click();
    const cue = page.getByRole('button', { name: /^Change bar/ }).first();
    await cue.click();
    const drawn = page.getByLabel(/^Drawn, and nothing else/);
    await drawn.fill('Open Diapason 8, Principal 4');
    // What is typed outlives a plan that is made again meanwhile.
    const again = page.getByRole('button', { name: 'Work it out again' });
    await again.click();
    await expect.poll(() => again.isEnabled(), { timeout: 240_000 }).toBe(true);
    expect(await drawn.inputValue()).toBe('Open Diapason 8, Principal 4');
    await page.getByRole('button', { name: 'Fix this' }).click();
    await page.locator('#draws ~ * .yours').first().waitFor({ timeout: 240_000 });
    interface Planned {
      items: { sections: { fixed: boolean; draw_names: string[] }[] }[];
    }
    const fixed = async (): Promise<string[][]> => {
      const plan = await desk.ask<Planned>('GET', '/api/pieces/voluntary-in-d.musicxml/plan');
      return plan.items[0]!.sections.filter((s) => s.fixed).map((s) => s.draw_names);
    };
    await expect.poll(fixed, { timeout: 240_000 }).toEqual([['Open Diapason 8', 'Principal 4']]);
    await expect.poll(() => page.getByRole('button', { name: 'Work it out again' }).isEnabled()).toBe(true);
    await picture(page, 'piece-by-hand-1280');
    await accessible(page);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('has a cue moved to another bar, then struck out there, each step kept as it was said', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/piece/voluntary-in-d.musicxml/score?view=marked`);
    interface Planned {
      cues: { item: number; section: number; draw: string[]; put_in: string[]; keyboards: object | null; fixed: boolean }[];
      items: { sections: { label: string; fixed: boolean; draw: string[]; from: { bar: string; at: string; pass: number } }[] }[];
    }
    const plan = (): Promise<Planned> => desk.ask<Planned>('GET', '/api/pieces/voluntary-in-d.musicxml/plan');
    const usual = await plan();
    const sections = usual.items[0]!.sections;
    // One that only moves knobs, at the beginning of a bar, with a bar before it in which nothing changes.
    const cue = usual.cues.find((c) => {
      const at = sections[c.section]!.from;
      return c.section > 0 && !c.fixed && !c.keyboards && c.draw.length > 0 && at.pass === 1 && at.at === '0' && !sections.some((s) => s.from.bar === String(Number(at.bar) - 1));
    })!;
    const [bar, sooner] = [Number(sections[cue.section]!.from.bar), Number(sections[cue.section]!.from.bar) - 1].map(String) as [string, string];
    await page.getByText('Why so').waitFor();
    const change = (at: string): Locator => page.getByRole('button', { name: `Change bar ${at}`, exact: true });
    if (!(await change(bar).isVisible())) await page.getByText(/^\d+ changes$/).click();
    const walk = new Walk();
    await walk.do(change(bar).click());
    await walk.do(page.getByLabel('Ready at bar').fill(sooner));
    await walk.do(page.getByRole('button', { name: 'Move it there' }).click());
    await page.locator('li', { has: change(sooner) }).getByText('yours').waitFor({ timeout: 240_000 });
    walked('A change of stops moved to another bar', walk);
    // Where it was, nothing is moved; the place can still be reached.
    await page.locator('li', { has: change(bar) }).getByText('as before').waitFor();
    const now = (await plan()).items[0]!.sections;
    const at = (label: string): number => now.findIndex((s) => s.from.bar === label && s.from.pass === 1 && s.from.at === '0');
    expect(now[at(sooner)]!.draw).toEqual(expect.arrayContaining(cue.draw));
    expect(now[at(bar)]!.draw).toEqual(now[at(sooner)]!.draw);
    expect(now[at(bar)]!.fixed).toBe(true);
    const kept = readFileSync(join(desk.folder, 'wishes/music/voluntary-in-d.musicxml.toml'), 'utf8');
    expect(kept).toMatch(new RegExp(`bar = "${bar}"\nas_before = true`));
    expect(kept).toMatch(new RegExp(`bar = "${sooner}"\n(draw|put_in) = `));
    // A bar it does not have is refused at once, and nothing is worked out for it.
    await change(sooner).click();
    await page.getByLabel('Ready at bar').fill('999');
    await page.getByRole('button', { name: 'Move it there' }).click();
    await page.getByText(/The score has no bar 999/).waitFor();
    await page.getByRole('button', { name: /^Strike the change out/ }).click();
    await page.locator('li', { has: change(sooner) }).getByText('as before').waitFor({ timeout: 240_000 });
    await settled(page);
    await picture(page, 'piece-moved-1280');
    await accessible(page);
    for (let step = 0; step < 2; step++) await page.getByRole('button', { name: 'Take the last change back' }).click();
    await expect.poll(async () => (await plan()).cues.length, { timeout: 240_000 }).toBe(usual.cues.length);
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is changed at a bar’s second time through, and only there', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/piece/voluntary-in-d.musicxml/score`);
    await page.getByText('Something else at another bar').click();
    const walk = new Walk();
    await walk.do(page.getByLabel('Bar', { exact: true }).fill('5'));
    await walk.do(page.getByLabel('time through', { exact: true }).fill('3'));
    await walk.do(page.getByLabel('a word for it', { exact: true }).fill('soft'));
    await walk.do(page.getByRole('button', { name: 'Plan it so' }).click());
    await page.getByText('Bar 5 is played 2 times.').waitFor(); // refused in a sentence
    await walk.do(page.getByLabel('time through', { exact: true }).fill('2'));
    await walk.do(page.getByRole('button', { name: 'Plan it so' }).click());
    const changes = page.getByText(/^\d+ changes$/);
    const line = page.locator('li', { has: page.getByRole('button', { name: 'Bar 5, second time', exact: true }) });
    await changes.waitFor({ timeout: 240_000 });
    await expect.poll(async () => (await line.count()) > 0 && (await page.getByRole('button', { name: 'Work it out again' }).isEnabled()), { timeout: 240_000 }).toBe(true);
    if (!(await line.isVisible())) await changes.click();
    walked('A word for a bar’s second time through, the piece worked out again', walk);
    await line.getByText('soft').waitFor();
    await line.getByText('yours').waitFor();
    expect(await page.getByRole('button', { name: 'Bar 5', exact: true }).count()).toBe(0);
    await line.getByRole('button', { name: 'Change bar 5, second time' }).click();
    expect(await page.getByLabel('A word for it', { exact: true }).inputValue()).toBe('soft');
    await settled(page);
    await picture(page, 'piece-second-time-1280');
    await accessible(page);
    await page.getByRole('button', { name: 'Free again' }).click();
    await expect.poll(() => line.count(), { timeout: 240_000 }).toBe(0);
    const words = async (): Promise<unknown[]> => (await desk.ask<{ words: unknown[] }>('GET', '/api/pieces/voluntary-in-d.musicxml/changes')).words;
    expect(await words()).toEqual([]);
    await page.getByRole('button', { name: 'Take the last change back' }).click();
    await expect.poll(words).toEqual([{ item: 'Voluntary in D', bar: '5', beat: 1, time: 2, word: 'soft' }]);
    await page.getByRole('button', { name: 'Take the last change back' }).click();
    await expect.poll(words).toEqual([]);
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
    await page.locator('g.measure').first().waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('heading', { name: 'There is no such piece' }).waitFor();
    await context.close();
  });

  it('a packed score that would burst is refused in a sentence, and nothing of it is kept', async () => {
    const { page, context } = await openTab(browser, desk);
    const before = await desk.ask('GET', '/api/pieces');
    for (const [name, buffer] of [['large.mxl', packedBomb()], ['lying.mxl', packedBomb(1000)]] as const) {
      expect(buffer.length).toBeLessThan(1 << 20);
      await page.goto(`${desk.origin}/piece`);
      await page.locator('input[type=file]').setInputFiles({ name, mimeType: 'application/octet-stream', buffer });
      await page.getByRole('alert').waitFor();
      expect(await page.getByRole('alert').innerText(), name).toMatch(/unpacks to more than \d+ MB; no score is that large\.$/);
    }
    expect(await desk.ask('GET', '/api/pieces')).toEqual(before);
    await context.close();
  });
});
