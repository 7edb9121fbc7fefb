import type { Browser } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessible, type Desk, forAll, openTab, picture, settled } from './desk';

let desk: Desk;
let browser: Browser;
forAll((d, b) => ([desk, browser] = [d, b]));

describe('at the bench', () => {
  it('moves on by tap and key, back by the left half and shift, and goes on when the desk is gone', async () => {
    const { page, context, complaints } = await openTab(browser, desk, { width: 820, height: 1180, workers: 'allow' });
    await page.goto(`${desk.origin}/sunday/sunday`);
    await page.getByRole('button', { name: 'Make the sheet' }).click();
    await page.getByRole('link', { name: 'At the bench' }).click({ timeout: 240_000 });
    await page.getByText(/^1 of \d+$/).waitFor();
    // However long a line is on a phone, its buttons stand on the screen.
    await page.setViewportSize({ width: 390, height: 700 });
    for (const button of await page.locator('footer button').all()) {
      const box = (await button.boundingBox())!;
      expect([box.y >= 0, box.y + box.height <= 700]).toEqual([true, true]);
    }
    expect((await page.locator('footer').boundingBox())!.height).toBeLessThan(160); // and they leave the line its room
    await page.setViewportSize({ width: 820, height: 1180 });
    await page.keyboard.press('n');
    await page.getByText(/^2 of/).waitFor();
    await page.mouse.click(700, 500);
    await page.getByText(/^3 of/).waitFor();
    await page.mouse.click(100, 500);
    await page.getByText(/^2 of/).waitFor();
    await page.keyboard.press('Shift+n');
    await page.getByText(/^1 of/).waitFor();
    for (let i = 0; i < 10; i++) await page.keyboard.press(' ');
    await page.getByText(/^11 of/).waitFor();
    await page.getByRole('button', { name: 'Back' }).press('Enter');
    await page.getByText(/^10 of/).waitFor();
    await page.getByText('Kept on this device').waitFor();
    await settled(page);
    await picture(page, 'bench-820');
    await accessible(page);

    await desk.kill();
    await page.reload();
    await page.getByText(/^10 of/).waitFor();
    await page.getByRole('button', { name: 'On', exact: true }).click();
    await page.getByText(/^11 of/).waitFor();
    await page.goto(`${desk.origin}/bench/sunday`);
    await page.getByText(/^1 of/).waitFor();
    await desk.again();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it('says where the sheet comes from when there is none', async () => {
    const { page, context } = await openTab(browser, desk);
    await page.goto(`${desk.origin}/bench/2031-01-05`);
    await page.getByRole('link', { name: 'Sunday page' }).waitFor();
    await context.close();
  });
});
