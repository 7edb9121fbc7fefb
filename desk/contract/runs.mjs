// Stops measured: kept, corrected, set against one another, printed; and recordings that cannot be measured.
import { existsSync, readFileSync, readdirSync, renameSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test, undo } from './checks.mjs';
import { asked } from './desk.mjs';
import { silence, stopPlayedThrough } from './recording.mjs';

const at = (date, more = '') => `/api/runs?name=principal.wav&stop=Principal%204&keep=true&temperature=15&place=nave&on=${date}${more}`;

export default async function (desk) {
  const recording = stopPlayedThrough();
  const hand = async (path, bytes) => {
    const begun = await desk.page('POST', path, bytes);
    desk.conforms('post /api/runs', begun);
    asked.add('post /api/runs');
    return desk.task(begun);
  };
  const files = () => readdirSync(join(desk.folder, 'recordings')).sort();
  const run = (id) => desk.ask('get /api/runs/{id}', `/api/runs/${id}`).then((a) => a.json);
  let first = 0;

  await test('a stop measured: handed over, kept, looked at again; a sheet is old only where it draws that stop', async () => {
    holds((await desk.ask('get /api/measuring', '/api/measuring')).json.text.includes('The run'), 'the instruction');
    await desk.ask('get /api/builder-page', '/api/builder-page', { status: 404 });
    const boards = { '2026-12-13': 'very soft', '2026-12-20': 'full' };
    for (const [date, word] of Object.entries(boards)) {
      const hymn = { kind: 'hymn', number: '1', title: 'Dundee', key: 'E flat', metre: '8.6.8.6', verses: 1, words: [word] };
      await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { items: [hymn] } });
      const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `/api/services/${date}/prepare`, { body: {}, status: 202 }));
      equal(made.state, 'done', made.error?.message);
      equal(made.result.plan.initial.draw.includes('gt-principal'), word === 'full', `the Principal at ${word}`);
    }
    const prepared = async () => Promise.all(Object.keys(boards).map(async (d) => (await desk.ask('get /api/services/{service}', `/api/services/${d}`)).json.prepared));
    equal(await prepared(), ['yes', 'yes'], 'prepared');

    const measured = await hand(at('2026-11-20'), recording);
    equal(measured.state, 'done', measured.error?.message);
    equal(measured.result.notes.filter((n) => n.state === 'speaks').length, 56, 'notes that speak');
    const { runs, unfinished } = (await desk.ask('get /api/runs', '/api/runs')).json;
    first = measured.result.kept;
    equal([runs.length, runs[0].id, runs[0].recording, unfinished], [1, first, 'principal.wav', []], 'the run');
    const kept = await run(first);
    equal([kept.notes.length, kept.findings], [56, measured.result.findings], 'its notes and findings');
    await desk.ask('get /api/runs/{id}', '/api/runs/99', { status: 404 });
    equal(await prepared(), ['yes', 'old'], 'prepared, after the Principal was measured');
    for (const d of Object.keys(boards)) await desk.ask('delete /api/services/{service}', `/api/services/${d}`);
  });

  await test('its notes corrected, by one who has seen them, and taken back', async () => {
    const path = `/api/runs/${first}/decisions`;
    const cut = (await desk.ask('get /api/runs/{id}/decisions', path)).json;
    equal([cut.keys.length, cut.recording_here, cut.decisions.some((d) => d.by_hand)], [56, true, false], 'cut up');
    const before = await run(first);
    const [d4, e4] = [62, 64].map((m) => cut.decisions.find((d) => d.midi === m));
    const by_hand = [{ what: 'dead', midi: 62 }, { what: 'nothing', from_s: e4.from_s, to_s: e4.to_s }];
    const correct = async (body, status = 202) => desk.ask('post /api/runs/{id}/decisions', path, { body, status });
    const tab = await desk.events();
    const done = await desk.task(await correct({ version: cut.version, by_hand }));
    equal([done.state, done.result?.kept, done.result?.decided_by_hand], ['done', first, 2], done.error?.message);
    equal((await tab.next('changed')).changed, ['runs'], 'told to the tabs');
    tab.close();
    const state = (r, midi) => r.notes.find((n) => n.midi === midi).state;
    const after = await run(first);
    equal([state(after, 62), state(after, 63), state(after, 64) === 'speaks'], ['dead', 'speaks', false], 'D4, D sharp 4, E4');
    const again = (await desk.ask('get /api/runs/{id}/decisions', path)).json;
    equal(again.decisions.filter((d) => d.by_hand).map((d) => d.what).sort(), ['dead', 'nothing'], 'by hand');

    await correct({ version: cut.version, by_hand: [] }, 409);
    const wrong = [[{ what: 'dead', midi: 127 }], [by_hand[0], by_hand[0]], [{ ...by_hand[1], to_s: 0 }], [{ what: 'speaks', midi: 62 }], [{ what: 'dead', midi: 62, from_s: 1, to_s: 2 }]];
    for (const bad of wrong) holds((await correct({ version: again.version, by_hand: bad }, 409)).json.error.message.length > 20, 'no sentence');
    for (const bad of [{ by_hand }, { version: again.version }, { version: again.version, by_hand: [{ what: 'dance' }] }, { version: again.version, by_hand: [{ what: 'dead' }] }]) await correct(bad, 400);
    await desk.ask('get /api/runs/{id}/decisions', '/api/runs/99/decisions', { status: 404 });
    equal(await run(first), after, 'after what was refused');

    const undone = await desk.task(await undo(desk, { json: done.result }));
    equal(undone.state, 'done', undone.error?.message);
    equal(await run(first), before, 'taken back');
    const redone = await desk.task(await undo(desk, { json: undone.result }));
    equal((await run(first)).notes, after.notes, redone.error?.message ?? 'and done again');
    equal(d4.what, 'speaks', 'D4');
    await desk.task(await undo(desk, { json: redone.result }));
  });

  await test('the recording is heard from any place; gone or another, nothing can be corrected', async () => {
    const path = `/api/runs/${first}/recording`;
    equal((await desk.ask('get /api/runs/{id}/recording', path)).bytes.equals(recording), true, 'its bytes');
    const part = await desk.raw('GET', path, { headers: { 'calcant-token': desk.token, range: 'bytes=44-99' } });
    desk.conforms('get /api/runs/{id}/recording', part);
    equal([part.status, part.bytes.equals(recording.subarray(44, 100))], [206, true], 'a part');
    const file = join(desk.folder, 'recordings', 'principal.wav');
    renameSync(file, `${file}.away`);
    await desk.ask('get /api/runs/{id}/recording', path, { status: 404 });
    const cut = (await desk.ask('get /api/runs/{id}/decisions', `/api/runs/${first}/decisions`)).json;
    equal(cut.recording_here, false, 'here');
    await desk.ask('post /api/runs/{id}/decisions', `/api/runs/${first}/decisions`, { body: { version: cut.version, by_hand: [] }, status: 409 });
    renameSync(`${file}.away`, file);
  });

  await test('set against the last, and printed for the builder', async () => {
    const later = (await hand(at('2026-11-24', '&order=chromatic'), recording)).result.kept;
    const compared = (await desk.ask('get /api/runs/{id}/compare/{before}', `/api/runs/${later}/compare/${first}`)).json;
    equal([compared.before.run, compared.after.run, compared.notes.length], [first, later, 56], 'which');
    holds(compared.notes.every((n) => !n.changed && n.cents.by === 0), 'the same recording has changed');
    await desk.ask('get /api/runs/{id}/compare/{before}', `/api/runs/${later}/compare/99`, { status: 404 });
    const cold = (await hand('/api/runs?name=principal.wav&stop=Principal%204&keep=true&on=2026-11-25', recording)).result.kept;
    const no = await desk.ask('get /api/runs/{id}/compare/{before}', `/api/runs/${cold}/compare/${first}`, { status: 422 });
    holds(no.json.error.message.includes('temperature'), no.json.error.message);
    for (const [operation, path] of [['get /api/runs/{id}/page', `/api/runs/${first}/page`], ['get /api/builder-page', '/api/builder-page']]) {
      const page = await desk.ask(operation, path);
      holds(page.text.includes('Principal 4') && page.headers['content-security-policy'].includes("default-src 'none'"), operation);
    }
    equal(files(), ['principal-2.wav', 'principal-3.wav', 'principal.wav'], 'what is kept');
  });

  await test('what is no recording is refused in a sentence and not kept', async () => {
    const was = files();
    const bad = { text: Buffer.from('no sound'), empty: silence(0), short: silence(100), silent: silence(16000 * 20), nothing: Buffer.alloc(0), cut: recording.subarray(0, 30) };
    for (const [what, bytes] of Object.entries(bad)) {
      const begun = await desk.page('POST', '/api/runs?name=x.wav&stop=Principal%204&keep=true', bytes);
      const message = begun.status === 202 ? (await desk.task(begun)).error?.message : begun.json.error.message;
      holds(message?.length > 20 && !message.includes(desk.place), `${what}: ${begun.status} ${message}`);
    }
    equal(files(), was, 'what is kept');
    equal((await desk.ask('get /api/runs', '/api/runs')).json.runs.length, 3, 'runs');
    await desk.ask('post /api/runs', '/api/runs?name=x.wav', { body: Buffer.from('x'), status: 400 });
  });
}

/** What a desk killed while it measures leaves, and what becomes of it. */
export async function brokenOff(desk) {
  const recording = stopPlayedThrough();
  const begin = async (name) => {
    const begun = await desk.page('POST', `/api/runs?name=${name}&stop=Principal%204&keep=true&temperature=15&on=2026-11-20`, recording);
    equal(begun.status, 202, 'handed over');
  };
  const now = async () => (await desk.ask('get /api/runs', '/api/runs')).json;
  for (const [name, signal] of [['killed.wav', 'SIGKILL'], ['ended.wav', 'SIGTERM']]) {
    await begin(name);
    holds(!(await now()).unfinished.some((u) => u.recording === name), 'what is under way is not broken off');
    await desk.end(signal);
    await desk.open(desk.port);
  }
  const left = await now();
  equal([left.runs, left.unfinished.map((u) => [u.recording, u.stop, u.on])], [[], ['ended', 'killed'].map((n) => [`${n}.wav`, 'Principal 4', '2026-11-20'])], 'broken off');
  holds(readFileSync(join(desk.folder, 'recordings', 'killed.wav')).equals(recording), 'the recording');
  const done = await desk.task(await desk.ask('post /api/unfinished/{recording}', '/api/unfinished/killed.wav', { status: 202 }));
  equal(done.state, 'done', done.error?.message);
  await desk.ask('post /api/unfinished/{recording}', '/api/unfinished/killed.wav', { status: 404 });
  await desk.ask('delete /api/unfinished/{recording}', '/api/unfinished/ended.wav');
  await desk.ask('delete /api/unfinished/{recording}', '/api/unfinished/..%2forgan.toml', { status: 400 });
  const last = await now();
  equal([last.runs.length, last.runs[0].id, last.unfinished], [1, done.result.kept, []], 'in the end');
  equal(readdirSync(join(desk.folder, 'recordings')), ['killed.wav'], 'what is kept');
  holds(existsSync(join(desk.folder, 'organ.toml')), 'the organ');
}
