// Sunday.
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test, undo } from './checks.mjs';
import { board, date } from './given.mjs';

export default async function (desk) {
  await test('Sunday: a board typed, saved half done, made, gone out of date, said of afterwards', async () => {
    await desk.ask('get /api/services/{service}', `/api/services/${date}`, { status: 404 });
    const half = { items: [{ kind: 'hymn', title: 'Dundee' }, { kind: 'hymn' }] };
    const typed = await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: half });
    equal(typed.json.problems.map((p) => p.row), [0, 1], 'rows that are not complete');
    await desk.ask('post /api/services/{service}/prepare', `/api/services/${date}/prepare`, { body: {}, status: 422 });
    await desk.ask('get /api/services/{service}/sheet', `/api/services/${date}/sheet`, { status: 404 });
    const whole = await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { ...board, hash: typed.json.hash } });
    equal(whole.json.problems, [], 'problems');
    const read = (await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json;
    equal(read.items, board.items, 'what was typed');
    equal([read.name, read.singers, read.hash, read.prepared], [board.name, 30, whole.json.hash, 'no'], 'the board');
    const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `/api/services/${date}/prepare`, { body: {}, status: 202 }));
    equal(made.state, 'done', made.error?.message);
    for (const f of made.result.files) holds(existsSync(join(desk.folder, f.path)), `${f.path} is not there`);
    holds((await desk.ask('get /api/services/{service}/sheet', `/api/services/${date}/sheet`)).text.includes('Dundee'), 'the sheet is another');
    equal((await desk.ask('get /api/services/{service}/plan', `/api/services/${date}/plan`)).json, made.result.plan, 'the plan');
    equal((await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.prepared, 'yes', 'prepared');
    await desk.ask('post /api/faults', '/api/faults', { body: { line: 'Great Principal C4 dead', on: '2026-11-25' }, status: 201 });
    equal((await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.prepared, 'old', 'prepared after a fault');
    equal((await desk.ask('get /api/services', '/api/services')).json.services.map((s) => [s.service, s.prepared]), [[date, 'old'], ['sunday', 'no']], 'boards');
    const said = await desk.ask('post /api/services/{service}/after', `/api/services/${date}/after`, { body: { item: '58 Dundee', verdict: 'too thin', words: 'v2' } });
    equal(said.json.lines.length, 1, 'lines');
    const other = await desk.ask('post /api/services/{service}/after', `/api/services/${date}/after`, { body: { item: '58 Dundee', verdict: 'right' } });
    await undo(desk, other);
    equal((await desk.ask('get /api/services/{service}/after', `/api/services/${date}/after`)).json.lines[0].verdict, 'too thin', 'verdict after undo');
    const gone = await desk.ask('delete /api/services/{service}', `/api/services/${date}`);
    await undo(desk, gone);
    equal((await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.items, board.items, 'the board after undo');
    equal((await desk.ask('get /api/tunes', '/api/tunes')).json.tunes[0].title, 'Dundee', 'tunes');
  });

  await test('Sunday: a word that will not be followed is told on the board as on the sheet, and a word of the player’s own is not', async () => {
    const at = '/api/services/2026-12-20';
    const own = join(desk.folder, 'wishes', 'own.toml');
    const sung = { ...board.items.find((i) => i.kind === 'hymn'), verses: 3, words: ['gentel', 'soft', 'no reed, like thunder'] };
    const typed = await desk.ask('put /api/services/{service}', at, { body: { items: [{ kind: 'fill' }, sung] } });
    equal(typed.json.hints.map((h) => h.row), [1, 1], 'rows with such words');
    equal((await desk.ask('get /api/services/{service}', at)).json.hints, typed.json.hints, 'hints read again');
    const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `${at}/prepare`, { body: {}, status: 202 }));
    equal(made.state, 'done', made.error?.message);
    const notes = made.result.plan.items[1].sections.filter((s) => s.note).map((s) => `${s.label}: ${s.note}`);
    for (const { message } of typed.json.hints) holds(notes.some((n) => n.startsWith(message)), `the sheet says ${notes.join('; ')}; the board ${message}`);
    mkdirSync(join(desk.folder, 'wishes'), { recursive: true });
    writeFileSync(own, 'version = 1\n[[word]]\nword = "gentel"\nlevel = 0.2\n');
    equal((await desk.ask('get /api/services/{service}', at)).json.hints.map((h) => h.row), [1], 'with a word of one’s own');
    rmSync(own);
    await desk.ask('delete /api/services/{service}', at);
  });

  await test('Sunday: what is refused', async () => {
    await desk.ask('get /api/services/{service}', '/api/services/sunday');
    await desk.ask('put /api/services/{service}', '/api/services/sunday', { body: board, status: 409 });
    await desk.ask('delete /api/services/{service}', '/api/services/sunday', { status: 409 });
    for (const odd of ['2026-02-30', 'x', '..%2f..%2fx', '2026-11-29.toml']) {
      holds([400, 404].includes((await desk.page('PUT', `/api/services/${odd}`, board)).status), `${odd} was taken`);
    }
    for (const items of [[{}], [{ kind: 'dance' }], [{ kind: 'hymn', verses: 61 }], [{ kind: 'hymn', tune: 'x' }], [{ kind: 'hymn', score: '../organ.toml' }], 'x', [[]]]) {
      await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { items }, status: 400 });
    }
  });

  await test('fill-in music, a note to give, a piece from paper: typed half done, made, and as the file says them', async () => {
    const at = '/api/services/2026-12-06';
    const places = [{ page: 1, bar: '1', word: 'soft, flutes' }, { page: 2, system: 1, bar: '17', word: 'mf', rest: 1.5 }];
    const paper = { kind: 'voluntary', title: 'A pastorale', minutes: 90, when: 'before', cuts: ['end at bar 24'] };
    const items = [{ kind: 'fill', key: 'D', words: ['quiet'], minutes: 2.5 }, { kind: 'note', title: 'The responses', note: 'G' }, { ...paper, places }];
    const half = await desk.ask('put /api/services/{service}', at, { body: { items: [{ ...paper, places: [...places, { word: 'full' }] }] } });
    equal(half.json.problems.map((p) => p.row), [0], 'a place that is nowhere');
    await desk.ask('put /api/services/{service}', at, { body: { items } });
    equal((await desk.ask('get /api/services/{service}', at)).json.items, items, 'what was typed');
    const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `${at}/prepare`, { body: {}, status: 202 }));
    equal(made.state, 'done', made.error?.message);
    const sheet = (await desk.ask('get /api/services/{service}/sheet', `${at}/sheet`)).text;
    for (const said of ['p. 2, system 1, bar 17', 'end at bar 24', 'About 2.5 minutes', 'Give the note: G']) holds(sheet.includes(said), `the sheet lacks ${said}`);
    for (const wrong of [{ page: 0 }, { page: 1000 }, { system: 31 }, { rest: -1 }, { bar: 3 }, { side: 1 }]) {
      await desk.ask('put /api/services/{service}', at, { body: { items: [{ ...paper, places: [wrong] }] }, status: 400 });
    }
    await desk.ask('put /api/services/{service}', at, { body: { items: [{ kind: 'hymn', title: 'Dundee', places }] }, status: 422 });
    const file = join(desk.folder, 'services', '2026-12-06.toml');
    await desk.ask('put /api/services/{service}', at, { body: board });
    writeFileSync(file, readFileSync(file, 'utf8').replace('kind = "hymn"', 'kind = "hymn"\nplay_over_word = "soft"\nnote = "G"'));
    const read = (await desk.ask('get /api/services/{service}', at)).json;
    equal([read.items[0].play_over_word, read.items[0].note], ['soft', 'G'], 'what the file says');
    const gone = await desk.ask('delete /api/services/{service}', at);
    await undo(desk, gone);
    equal((await desk.ask('get /api/services/{service}', at)).json.items, read.items, 'the board after undo');
  });
}
