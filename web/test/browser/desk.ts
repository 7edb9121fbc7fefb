// A real desk on a copy of the demo organ, and a real Chromium to look at it.
import { spawn, type ChildProcess } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { afterAll, beforeAll, expect, vi } from 'vitest';
import { chromiumPath } from './chromium';

const root = resolve(import.meta.dirname, '../../..');
export const shots = join(root, 'build/screenshots');

function program(): string {
  const found = [process.env['CALCANT'], join(root, 'build/release/calcant'), join(root, 'build/dev/calcant')].find((p) => p && existsSync(p));
  if (!found) throw new Error('build/release/calcant is not there: build it first, or name it in CALCANT');
  return found;
}

export interface Desk {
  folder: string;
  /** the start address, with this run's token */
  start: string;
  origin: string;
  port: number;
  /** Ends it as a power cut would. */
  kill(): Promise<void>;
  /** Starts it again on the same port. */
  again(): Promise<void>;
  end(): Promise<void>;
  /** Asks as a page would that has the token; what the desk refuses is thrown. */
  ask<T = unknown>(method: string, path: string, body?: unknown): Promise<T>;
  /** Asks for long work and waits for what came of it. */
  work<T = unknown>(path: string, body: unknown): Promise<T>;
}

/** `what` is a folder of demo/, or nothing for an empty folder. */
export async function openDesk(what: string | null = 'village'): Promise<Desk> {
  const place = mkdtempSync(join(tmpdir(), 'calcant-pages-'));
  const folder = join(place, 'organ');
  if (what) cpSync(join(root, 'demo', what), folder, { recursive: true });
  else mkdirSync(folder);
  let child: ChildProcess | undefined;
  const desk: Desk = {
    folder,
    start: '',
    origin: '',
    port: 0,
    async kill() {
      const running = child;
      child = undefined;
      if (!running || running.exitCode !== null) return;
      const gone = new Promise((r) => running.once('exit', r));
      running.kill('SIGKILL');
      await gone;
    },
    async again() {
      const begun = spawn(program(), ['desk', folder, '--port', String(desk.port), '--no-browser'], { stdio: ['ignore', 'ignore', 'pipe'] });
      child = begun;
      desk.start = await new Promise<string>((found, failed) => {
        let said = '';
        begun.stderr.on('data', (d: Buffer) => {
          said += d.toString();
          const at = /http:\/\/127\.0\.0\.1:\d+\/#[0-9a-f]{32}/.exec(said);
          if (at) found(at[0]);
        });
        begun.once('exit', () => failed(new Error(`the desk did not start: ${said}`)));
      });
      const url = new URL(desk.start);
      desk.origin = url.origin;
      desk.port = Number(url.port);
    },
    async ask<T>(method: string, path: string, body?: unknown) {
      const type = body instanceof Buffer ? 'application/octet-stream' : 'application/json';
      const headers = { 'Calcant-Token': new URL(desk.start).hash.slice(1), ...(body === undefined ? {} : { 'Content-Type': type }) };
      const init: RequestInit = { method, headers };
      if (body !== undefined) init.body = body instanceof Buffer ? new Uint8Array(body) : JSON.stringify(body);
      const answer = await fetch(desk.origin + path, init);
      const text = await answer.text();
      if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${text}`);
      return JSON.parse(text) as T;
    },
    async work<T>(path: string, body: unknown) {
      const { task } = await desk.ask<{ task: string }>('POST', path, body);
      interface State {
        state: string;
        result: T;
      }
      const now = (): Promise<State> => desk.ask<State>('GET', `/api/tasks/${task}`);
      const last = await vi.waitUntil(
        async () => {
          const state = await now();
          return ['waiting', 'working'].includes(state.state) ? false : state;
        },
        { timeout: 300_000, interval: 100 },
      );
      if (last.state !== 'done') throw new Error(`${path}: ${JSON.stringify(last)}`);
      return last.result;
    },
    async end() {
      await desk.kill();
      rmSync(place, { recursive: true, force: true });
    },
  };
  await desk.again();
  return desk;
}

/** One desk on the village's organ and one browser for all tests of a file. */
export function forAll(given: (desk: Desk, browser: Browser) => void, more: string[] = []): void {
  let desk: Desk | undefined;
  let browser: Browser | undefined;
  beforeAll(async () => {
    if (chromiumPath === undefined) return;
    desk = await openDesk();
    browser = await openBrowser(more);
    given(desk, browser);
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
  });
}

export function openBrowser(more: string[] = []): Promise<Browser> {
  if (chromiumPath === undefined) throw new Error('there is no Chromium here');
  // Chromium will not run in its sandbox for root, which is who runs tests in a container.
  const sandbox = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  return chromium.launch({ executablePath: chromiumPath, args: [...sandbox, '--autoplay-policy=no-user-gesture-required', ...more] });
}

export interface Look {
  width?: number;
  height?: number;
  light?: 'day' | 'loft';
  workers?: 'allow' | 'block';
}
/** A tab at the desk's first page. Whatever the browser complains of (policy, errors of script) fails the test at `watched`. */
export async function openTab(browser: Browser, desk: Desk, look: Look = {}): Promise<{ page: Page; context: BrowserContext; complaints: string[] }> {
  const context = await browser.newContext({
    viewport: { width: look.width ?? 1280, height: look.height ?? 800 },
    colorScheme: look.light === 'loft' ? 'dark' : 'light',
    locale: 'en-GB',
    timezoneId: 'Europe/London',
    serviceWorkers: look.workers ?? 'block',
    permissions: ['microphone'],
  });
  context.setDefaultTimeout(60_000); // a busy machine is slow, not wrong
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('pageerror', (e) => complaints.push(e.message));
  page.on('console', (m) => {
    const expected = /Failed to load resource|ERR_CONNECTION_REFUSED|registration blocked by Playwright/.test(m.text());
    if (m.type() === 'error' && !expected) complaints.push(m.text());
  });
  await page.goto(desk.start);
  await page.getByRole('navigation', { name: 'Pages' }).waitFor();
  return { page, context, complaints };
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
interface Violation {
  id: string;
  help: string;
  nodes: { target: string[] }[];
}
/** The rules of axe that are broken, good practices among them (or only those of colour). A picture is judged as one. */
export async function broken(page: Page, only?: 'colour'): Promise<string[]> {
  await page.evaluate(`globalThis.axe ?? (() => { ${axeSource} })()`);
  const found = await page.evaluate(async (colour) => {
    const axe = (globalThis as unknown as { axe: { run(context: object, options: object): Promise<{ violations: Violation[] }> } }).axe;
    return (await axe.run({ exclude: ['[role=img] > *'] }, { resultTypes: ['violations'], ...(colour ? { runOnly: ['cat.color'] } : {}) })).violations;
  }, only === 'colour');
  return found.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target.join(' ')).join(' | ')}`);
}
export async function accessible(page: Page): Promise<void> {
  expect(await broken(page), page.url()).toEqual([]);
}

/** Nothing stands out to the right of the page, and nothing that is pressed is smaller than a finger wants. */
export function misfits(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
    const small = [...document.querySelectorAll<HTMLElement>('button, a.button, select, input:not([type=checkbox], [type=radio], .unseen)')]
      .filter((e) => e.offsetParent !== null)
      .map((e) => ({ e, box: e.getBoundingClientRect() }))
      .filter(({ box }) => box.height < 43.5)
      .map(({ e, box }) => `${e.tagName} "${e.textContent.trim().slice(0, 30)}" is ${Math.round(box.height)} px high`);
    const cut = [...document.querySelectorAll<HTMLSelectElement>('tr.item select')].filter((s) => {
      const pen = Object.assign(document.createElement('canvas').getContext('2d')!, { font: getComputedStyle(s).font });
      const { paddingLeft, paddingRight } = getComputedStyle(s);
      return s.offsetParent !== null && pen.measureText(s.selectedOptions[0]?.text ?? '').width > s.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight) + 0.5;
    }).map((s) => `"${s.selectedOptions[0]?.text ?? ''}" is cut off`);
    return [...cut, ...(wide > 0 ? [`${wide} px stand out to the right`] : []), ...small];
  });
}

/** Letters are in place and the page is drawn; what it asks the desk for is waited for by who looks at it. */
export async function settled(page: Page): Promise<void> {
  await page.evaluate(async () => {
    await document.fonts.ready;
    await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
  });
}

/** As on paper: the light, the width of a sheet, and a score as it is engraved for it. */
export async function onPaper(page: Page): Promise<void> {
  if ((await page.locator('div.score').count()) > 0) await page.locator('.paper:not([data-pages="0"])').waitFor({ state: 'attached' });
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  await page.setViewportSize({ width: 794, height: 1123 });
  await page.emulateMedia({ media: 'print' });
}

export async function picture(page: Page, name: string): Promise<void> {
  mkdirSync(shots, { recursive: true });
  await page.screenshot({ path: join(shots, `${name}.png`), fullPage: true, animations: 'disabled' });
}

/** Clock time and actions (a key that is not a letter of a field, a tap, a field filled) of a task, for the walk-throughs. */
export class Walk {
  actions = 0;
  readonly #begun = Date.now();
  async do(action: Promise<unknown>): Promise<void> {
    this.actions++;
    await action;
  }
  get seconds(): number {
    return (Date.now() - this.#begun) / 1000;
  }
}
