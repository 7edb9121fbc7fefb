import type { Browser, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, type Desk, forAll, misfits, openTab, picture, settled, Walk } from './desk';
import { told, walked } from './walks';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

// The first wish of a manual weighs all of its registrations: seconds, or minutes in a build that is not optimised.
const first = 300_000;
const answered = (page: Page): Promise<void> => page.getByRole('heading', { name: /^On the / }).waitFor({ timeout: first });
const fresh = (page: Page): Promise<void> => page.locator('section[aria-busy=false]').first().waitFor({ timeout: first });

describe('a wish', () => {
  it('is answered as it changes; one answer is opened, and back goes back to the wish', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?on=great&level=soft`);
    await answered(page);
    const answers = page.locator('section[aria-labelledby=answers] > ol > li');
    const count = await answers.count();
    expect(count).toBeGreaterThan(2);
    expect(count).toBeLessThanOrEqual(12);
    // People are told in words; the figures stand behind details.
    expect(await answers.first().innerText()).not.toMatch(/phon|acum|sone/);
    expect(await page.locator('section[aria-labelledby=answers]').textContent()).not.toMatch(/box=/); // nor what is only typed
    await page.getByText('Details: the figures behind the words').click();
    await page.getByRole('columnheader', { name: 'acum' }).waitFor();

    const walk = new Walk();
    await walk.do(page.getByLabel('How loud').selectOption('loud'));
    await page.getByRole('heading', { name: 'On the Great, loud' }).waitFor();
    await fresh(page);
    await walk.do(page.getByLabel('Colour').selectOption('darker'));
    await page.getByRole('heading', { name: 'On the Great, loud; darker' }).waitFor();
    await fresh(page);
    expect(page.url()).toContain('level=loud');
    await walk.do(answers.first().getByRole('link', { name: /^Open/ }).click());
    await page.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: first });
    await page.getByRole('table', { name: 'The stops and couplers drawn' }).getByRole('row').nth(1).waitFor();
    walked('Loud and darker on the Great, the first answer opened', walk);
    await page.goBack();
    await page.getByRole('heading', { name: 'On the Great, loud; darker' }).waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('names the rules of practice by their numbers, and says what each is when it is asked', async () => {
    const { page, context, complaints } = await openTab(browser, desk, { width: 390, height: 844 });
    await page.goto(`${desk.origin}/choosing/stops?draw=${encodeURIComponent('Great: Open Diapason 8, Great: Twelfth 2 2/3')}`);
    const rule = page.getByRole('button', { name: 'rule R3' });
    await rule.focus();
    await page.keyboard.press('Enter');
    const says = page.getByText('A twelfth is never drawn in the chorus without the fifteenth. (W. E. Dickson');
    await says.waitFor();
    expect(await rule.getAttribute('aria-expanded')).toBe('true');
    expect(await misfits(page)).toEqual([]);
    await accessible(page);
    await settled(page);
    await picture(page, 'choosing-rule-390');
    await page.keyboard.press('Enter');
    await says.waitFor({ state: 'detached' });
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('says how long a changed wish takes, from the change to the answers on the screen', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?on=great&level=soft`);
    await answered(page);
    const times = await page.evaluate(async (levels) => {
      const select = document.querySelector<HTMLSelectElement>('#wish-level');
      const shown = (level: string): boolean => {
        const section = document.querySelector('section[aria-labelledby=answers]');
        return section?.getAttribute('aria-busy') === 'false' && (document.querySelector('#answers')?.textContent ?? '').includes(`, ${level}`);
      };
      const all: number[] = [];
      for (const level of levels) {
        const begun = performance.now();
        const done = new Promise<number>((found) => {
          const watch = new MutationObserver(() => {
            if (!shown(level)) return;
            watch.disconnect();
            found(performance.now() - begun);
          });
          watch.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
        });
        if (!select) throw new Error('no level to choose');
        select.value = level;
        select.dispatchEvent(new Event('change', { bubbles: true }));
        all.push(await done);
      }
      return all;
    }, ['loud', 'moderate', 'very soft', 'full', 'soft', 'loud', 'moderate', 'very soft', 'full', 'soft']);
    const sorted = times.toSorted((a, b) => a - b).map(Math.round);
    told(`A changed wish answered, through the server to the screen: ${sorted[0]} to ${sorted.at(-1)} ms, middle ${sorted[5]} ms (10 changes, village, Great)`);
    expect(times).toHaveLength(10);
    await context.close();
  });

  it('keeps to what must and must not be drawn, and says what nothing fulfils', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?on=great&level=soft`);
    await answered(page);
    await page.getByText('Stops that must, or must not, be drawn').click();
    await page.getByLabel('Swell to Great must be drawn').check();
    await page.getByLabel('Great: Dulciana 8 must not be drawn').check();
    await page.getByRole('heading', { name: /with Swell to Great/ }).waitFor();
    await fresh(page);
    const lists = await page.locator('section[aria-labelledby=answers] > ol > li dl').allInnerTexts();
    expect(lists.length).toBeGreaterThan(0);
    for (const l of lists) {
      expect(l).toContain('Swell to Great');
      expect(l).not.toContain('Dulciana');
    }
    await page.goto(`${desk.origin}/choosing?on=great&level=enough+for&singers=5&must=Great:+Open+Diapason+8,Great:+Fifteenth+2`);
    await page.getByRole('alert').waitFor({ timeout: first });
    expect(await page.getByRole('alert').innerText()).toMatch(/phon|nothing|nearest/i);
    await page.getByLabel('How loud').selectOption('softer');
    await page.getByText('Say what it is compared with').waitFor();
    await page.getByLabel('What: a saved name, or stops').fill('Open Diapasn 8');
    await page.getByRole('alert').filter({ hasText: 'Open Diapason' }).waitFor({ timeout: first });
    await context.close();
  });

  it('for a solo, and for so many singers', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?on=great`);
    await answered(page);
    await page.getByLabel('How loud').selectOption('enough for');
    await page.getByRole('spinbutton', { name: 'Singers' }).fill('60');
    await page.getByRole('heading', { name: 'On the Great, enough for 60 singers' }).waitFor();
    await page.getByLabel('A solo above').selectOption({ label: 'Oboe 8' });
    await page.getByRole('heading', { name: /^Swell: Oboe 8 above/ }).waitFor({ timeout: first });
    await fresh(page);
    await page.locator('section[aria-labelledby=answers] li').filter({ hasText: 'Oboe 8' }).first().waitFor();
    await context.close();
  });

  it('every registration is a picture: a place is picked by the keys or a tap, and opened', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?on=great&level=soft`);
    await answered(page);
    await page.getByText('Show every registration').click();
    const map = page.getByRole('group', { name: /^The map/ });
    await map.waitFor({ timeout: first });
    expect(await map.locator('circle').count()).toBeGreaterThan(100);
    expect(await map.locator('.answer').count()).toBeGreaterThan(2);
    await map.focus();
    await page.keyboard.press('ArrowRight');
    await page.getByText(/^Here:/).waitFor();
    const was = await page.locator('.told').innerText();
    for (let i = 0; i < 6; ++i) await page.keyboard.press('ArrowRight');
    expect(await page.locator('.told').innerText()).not.toBe(was);
    await page.getByText('The table behind the picture').click();
    await page.getByRole('columnheader', { name: 'that practice allows' }).waitFor();
    await settled(page);
    await accessible(page);
    await picture(page, 'choosing-map-1280');
    const dot = await map.locator('circle.allowed').nth(20).boundingBox();
    if (!dot) throw new Error('no place on the map');
    await page.mouse.click(dot.x + dot.width / 2, dot.y + dot.height / 2);
    await page.getByRole('link', { name: 'Open this one' }).click();
    await page.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: first });
    await context.close();
  });
});

describe('one registration', () => {
  it('gives the ear’s two answers, says what one knob would do, and draws it', async () => {
    const { page, context, complaints } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing/stops`);
    const walk = new Walk();
    await walk.do(page.getByLabel('Open Diapason 8').check());
    await page.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: first });
    const would = page.getByRole('table', { name: 'What each knob that is not drawn would do' });
    await walk.do(would.getByRole('button', { name: 'Draw Principal 4' }).click());
    const drawn = page.getByRole('table', { name: 'The stops and couplers drawn' });
    await drawn.getByRole('rowheader', { name: 'Principal 4' }).waitFor({ timeout: first });
    walked('What the 4 ft adds to the Open Diapason', walk);
    expect(page.url()).toContain('Principal');
    await page.getByText('Details: the figures behind the words').click();
    await page.getByText(/phon, give or take/).waitFor();
    await drawn.getByRole('button', { name: 'Put in Principal 4' }).click();
    await expect.poll(() => page.url()).not.toContain('Principal');
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('is heard, and two are gone to and fro between', { timeout: 400_000 }, async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?draw=Open+Diapason+8`); // an address of earlier days
    await page.getByRole('button', { name: 'Listen' }).click({ timeout: first });
    const audio = page.locator('audio');
    await audio.first().waitFor({ timeout: 400_000 });
    await expect.poll(() => audio.first().evaluate((a: HTMLAudioElement) => a.duration), { timeout: 20_000 }).toBeGreaterThan(3);
    await page.getByRole('button', { name: 'Hold this to compare' }).click();
    await page.getByText('Change it by hand').click();
    await page.getByLabel('Clarabella 8').check();
    await page.getByRole('button', { name: 'Compare with what is held' }).click({ timeout: first });
    const b = page.getByRole('button', { name: 'B: this' });
    await b.click({ timeout: 400_000 });
    const both = page.locator('audio[aria-label^="What is held"]');
    await expect.poll(() => both.evaluate((a: HTMLAudioElement) => a.currentTime), { timeout: 20_000 }).toBeGreaterThan(5);
    await page.getByRole('button', { name: 'A: what is held' }).click();
    expect(await both.evaluate((a: HTMLAudioElement) => a.currentTime)).toBeLessThan(4);
    // A ends by itself before B begins.
    await expect.poll(() => both.evaluate((a: HTMLAudioElement) => a.paused), { timeout: 20_000 }).toBe(true);
    expect(await both.evaluate((a: HTMLAudioElement) => a.currentTime)).toBeLessThan(5.6);
    await context.close();
  });

  it('is saved by name, used in a wish, called otherwise, forgotten and taken back', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing/saved`);
    await page.getByText('None yet').waitFor();
    await page.goto(`${desk.origin}/choosing/stops?draw=Great:+Clarabella+8,+Great:+Dulciana+8&on=great`);
    await page.getByLabel('Save as').fill('quiet verse', { timeout: first });
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('Saved as “quiet verse”.').first().waitFor();
    await page.getByLabel('Save as').fill('Quiet Verse');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByRole('alert').filter({ hasText: 'saved already' }).waitFor();
    await page.getByRole('button', { name: 'Put this in its place' }).click();
    await page.getByLabel('Save as').fill('Oboe 8');
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByRole('alert').filter({ hasText: 'no stop' }).waitFor();

    await page.getByRole('navigation', { name: 'Choosing' }).getByRole('link', { name: 'Saved' }).click();
    await page.getByRole('link', { name: 'A shade more than quiet verse' }).click();
    await page.getByRole('heading', { name: /a shade more than quiet verse/ }).waitFor({ timeout: first });
    await page.goBack();
    await page.getByRole('button', { name: 'Rename quiet verse' }).click();
    await page.getByLabel('Its new name').fill('psalm gently');
    await page.getByRole('button', { name: 'Call it so' }).click();
    await page.getByRole('button', { name: 'Rename psalm gently' }).waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('button', { name: 'Rename quiet verse' }).waitFor();
    await expect.poll(() => page.getByRole('button', { name: 'Rename psalm gently' }).count()).toBe(0);
    await page.getByRole('button', { name: 'Forget quiet verse' }).click();
    await page.getByText('None yet').waitFor();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.getByRole('button', { name: 'Rename quiet verse' }).waitFor();
    await context.close();
  });

  it('says in a sentence what an address cannot mean', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/choosing?draw=Tuba+8`);
    await page.getByText('Nothing is drawn yet').waitFor();
    await context.close();
  });
});

it('a build-up is a set list, with the usual orders beside it', { timeout: 400_000 }, async () => {
  const { page, context, complaints } = await openTab(browser, desk);
  await page.goto(`${desk.origin}/choosing/buildup?on=great&from=soft&to=full&steps=6`);
  const walk = new Walk();
  await walk.do(page.getByRole('button', { name: 'Make it' }).click());
  await page.getByRole('heading', { name: 'Great, soft to full' }).waitFor({ timeout: first });
  walked('A build-up of six steps on the Great', walk);
  expect(await page.locator('section[aria-labelledby=set-list] > ol > li').count()).toBeGreaterThan(3);
  await page.getByRole('table', { name: /^This build-up and the usual orders/ }).waitFor();
  await page.getByRole('link', { name: 'Open step 2' }).click();
  await page.getByRole('heading', { name: 'What the ear makes of it' }).waitFor({ timeout: first });
  expect(complaints).toEqual([]);
  await context.close();
});

it('the ear trial: two sides to print, answers one by one, agreed in so many, all of it taken back', async () => {
  const { page, context, complaints } = await openTab(browser, desk);
  await page.goto(`${desk.origin}/choosing/trial`);
  const walk = new Walk();
  await walk.do(page.getByRole('button', { name: 'Make a sheet' }).click());
  await page.getByText('waits for its 10 answers').waitFor({ timeout: first });
  await walk.do(page.getByRole('link', { name: 'The two sides to print' }).click());
  await page.getByText(/for the listener/i).first().waitFor();
  await accessible(page);
  await walk.do(page.getByRole('link', { name: 'Back to the answers' }).click());
  // Blind: nothing that is drawn stands on this page before it was answered.
  await page.getByRole('group', { name: /^1 Which was/ }).waitFor();
  expect(await page.locator('main').innerText()).not.toMatch(/Diapason|Clarabella|Gedackt/);
  for (let i = 1; i <= 10; ++i) {
    await walk.do(page.getByRole('group', { name: new RegExp(`^${i} Which was`) }).getByLabel(i % 3 === 0 ? 'the same' : i % 2 === 0 ? 'A' : 'B', { exact: true }).check());
    await page.getByRole('button', { name: new RegExp(`^Clear pair ${i},`) }).waitFor();
  }
  walked('The ear trial’s ten answers put in', walk);
  await page.getByText(/agreed with your ear in \d+ of 10/).waitFor();
  await page.getByText('What was drawn, and what the model had said').click();
  await page.getByRole('columnheader', { name: 'You heard' }).waitFor();
  await page.getByRole('button', { name: 'Clear pair 10' }).click();
  await page.getByText(/1 still to answer/).waitFor();
  await page.getByRole('button', { name: 'Take it back' }).click();
  await page.getByText(/in \d+ of 10\./).waitFor();
  await settled(page);
  await accessible(page);
  await page.getByRole('button', { name: 'Take this trial back' }).click();
  await page.getByRole('button', { name: 'Make a sheet' }).waitFor();
  expect(complaints).toEqual([]);
  await context.close();
});
