// node desk/contract/contract.mjs PROGRAM: see run.sh.
import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import net from 'node:net';
import { join } from 'node:path';
import { api, asked, Desk } from './desk.mjs';
import { stopPlayedThrough } from './recording.mjs';

const program = process.argv[2];
let passed = 0;
let failed = 0;
async function test(name, run) {
  try {
    await run();
    passed += 1;
  } catch (e) {
    failed += 1;
    console.log(`FAILED ${name}\n  ${e.stack ?? e}`);
  }
}
function equal(got, wanted, what) {
  if (JSON.stringify(got) !== JSON.stringify(wanted)) throw new Error(`${what}: ${JSON.stringify(got)} in place of ${JSON.stringify(wanted)}`);
}
function holds(condition, what) {
  if (!condition) throw new Error(what);
}
const undo = async (desk, answer) => {
  const u = answer.json.undo;
  const back = await desk.page(u.method, u.path, u.body);
  holds(back.status < 300, `undo ${u.method} ${u.path}: ${back.status} ${back.text.slice(0, 300)}`);
  return back;
};

const date = '2026-11-29';
const draw = 'Great: Open Diapason 8';
const keys = 'Great:C4,E4,G4';
const piece = 'dundee.musicxml';
const board = {
  name: 'First Sunday in Advent',
  singers: 30,
  items: [
    { kind: 'hymn', number: '58', title: 'Dundee', key: 'E flat', metre: '8.6.8.6', verses: 2, bass: 'feet', words: ['', 'soft'], score: piece },
    { kind: 'psalm', number: '23', key: 'F', verses: 3, words: ['gentle'], gloria: false },
  ],
};

// -- every route -------------------------------------------------------------------------------------------------------
const desk = await new Desk(program).open();

await test('the session: a token for a cookie, which reads', async () => {
  const answer = await desk.ask('post /api/session', '/api/session', { body: { token: desk.token } });
  const set = answer.headers['set-cookie'][0];
  for (const word of ['HttpOnly', 'SameSite=Strict', 'Path=/api']) holds(set.includes(word), `the cookie is not ${word}`);
  desk.cookie = set.split(';')[0];
  holds(!desk.cookie.includes(desk.token), 'the cookie holds the token');
  await desk.ask('get /api/desk', '/api/desk', { headers: { cookie: desk.cookie } });
  await desk.ask('post /api/session', '/api/session', { body: { token: '0'.repeat(32) }, status: 401 });
});

await test('the organ', async () => {
  const { json, headers } = await desk.ask('get /api/organ', '/api/organ');
  equal(json.specification.divisions.map((d) => d.name), ['Great', 'Swell', 'Pedal'], 'divisions');
  equal(headers['calcant-organ'], json.hash, 'which organ it came from');
  holds(json.printed.includes('Open Diapason'), 'the specification is not printed');
  equal((await desk.ask('get /api/organ', `/api/organ?on=${date}&temperature=12`)).json.temperature, 12, 'temperature');
  await desk.ask('get /api/organ', '/api/organ?on=2026-02-30', { status: 400 });
  await desk.ask('get /api/organ', '/api/organ?colour=blue', { status: 400 });
  const figures = (await desk.ask('get /api/organ/figures', '/api/organ/figures')).json.figures;
  holds(figures.some((f) => f.source === 'assumed' && f.better !== ''), 'nothing assumed that could be bettered');
  await desk.ask('get /api/couplers', '/api/couplers');
});

await test('organ.toml as text: checked, saved, refused, undone', async () => {
  const { json } = await desk.ask('get /api/organ/file', '/api/organ/file');
  equal(json.faults, [], 'faults');
  const broken = json.text.replace('invented = true', 'invented = maybe');
  const checked = (await desk.ask('post /api/organ/check', '/api/organ/check', { body: { text: broken } })).json;
  holds(checked.faults.length > 0 && checked.faults[0].line > 0, 'the fault has no line');
  const refused = await desk.ask('put /api/organ/file', '/api/organ/file', { body: { text: broken }, status: 422 });
  holds(refused.json.error.faults.length > 0, 'the refusal tells no faults');
  equal(readFileSync(join(desk.folder, 'organ.toml'), 'utf8'), json.text, 'the file after a refusal');
  const changed = json.text.replace('An invented village organ', 'An invented organ');
  holds(changed !== json.text, 'nothing to change');
  const saved = await desk.ask('put /api/organ/file', '/api/organ/file', { body: { text: changed, hash: json.hash } });
  await desk.ask('put /api/organ/file', '/api/organ/file', { body: { text: json.text, hash: json.hash }, status: 409 });
  await undo(desk, saved);
  equal(readFileSync(join(desk.folder, 'organ.toml'), 'utf8'), json.text, 'the file after undo');
  await desk.ask('post /api/organ', '/api/organ', { body: { text: 'GREAT\nOpen Diapason 8\n' }, status: 409 });
});

await test('faults: by taps and by a line, once a key, closed, opened, taken back', async () => {
  const tapped = { division: 'pedal', stop: 'pd-bourdon', midi: 42, kind: 'dead', when: 'cold', key: 'tab-1-fault-1', on: '2026-11-20' };
  const first = await desk.ask('post /api/faults', '/api/faults', { body: tapped, status: 201 });
  equal(first.json.faults[0].text, 'Pedal: Bourdon 16, F#2: dead', 'in words');
  const again = await desk.ask('post /api/faults', '/api/faults', { body: tapped });
  equal(again.json.faults[0].id, first.json.faults[0].id, 'handed in twice');
  holds(again.json.undo === undefined, 'what changed nothing can be undone');
  for (const kind of api.components.schemas.FaultKind.enum) {
    const one = await desk.ask('post /api/faults', '/api/faults', { body: { division: 'swell', kind }, status: 201 });
    equal(one.json.faults[0].kind, kind, 'kind');
    await undo(desk, one);
  }
  const line = await desk.ask('post /api/faults', '/api/faults', { body: { line: 'Swell Oboe C4 slow' }, status: 201 });
  const id = line.json.faults[0].id;
  equal((await desk.ask('get /api/faults', '/api/faults')).json.faults.length, 2, 'open faults');
  const closed = await desk.ask('post /api/faults/{id}/close', `/api/faults/${id}/close`, { body: { done: 'cleaned', on: '2026-11-24' } });
  equal(closed.json.faults.length, 1, 'open faults after closing');
  equal((await desk.ask('get /api/faults', '/api/faults?all=true')).json.faults.length, 2, 'all faults');
  const opened = await desk.ask('post /api/faults/{id}/reopen', `/api/faults/${id}/reopen`);
  await desk.ask('post /api/faults/{id}/reopen', `/api/faults/${id}/reopen`, { status: 409 });
  await undo(desk, opened);
  equal((await desk.ask('get /api/faults', '/api/faults?all=true')).json.faults.find((f) => f.id === id).remedy, 'cleaned', 'remedy');
  const gone = await desk.ask('delete /api/faults/{id}', `/api/faults/${id}`);
  await undo(desk, gone);
  await desk.ask('delete /api/faults/{id}', '/api/faults/9999', { status: 404 });
  await desk.ask('delete /api/faults/{id}', '/api/faults/x', { status: 404 });
  for (const body of [{}, { line: 'x', division: 'swell', kind: 'dead' }, { division: 'swell' }, { line: 'x', key: 'no' }, { kind: 'loud', division: 'swell' }]) {
    await desk.ask('post /api/faults', '/api/faults', { body, status: 400 });
  }
  await desk.ask('post /api/faults', '/api/faults', { body: { line: 'Trombone dead' }, status: 422 });
  await desk.ask('post /api/faults', '/api/faults', { body: { division: 'great', stop: 'pd-bourdon', kind: 'dead' }, status: 422 });
  await desk.ask('post /api/faults', '/api/faults', { body: { division: 'pedal', stop: 'pd-bourdon', midi: 100, kind: 'dead' }, status: 422 });
  const list = await desk.ask('get /api/tuner-list', '/api/tuner-list?on=2026-11-25');
  holds(list.text.includes('Bourdon 16'), 'the fault is not on the list');
  holds(list.headers['content-security-policy'].includes("default-src 'none'"), 'the sheet may run things');
  const state = (await desk.ask('get /api/desk', '/api/desk')).json;
  holds(state.allowed_for.some((f) => f.includes('Bourdon')), 'plans do not see the fault');
});

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

await test('what only the file says of an item outlives the desk', async () => {
  const file = join(desk.folder, 'services', '2026-12-06.toml');
  await desk.ask('put /api/services/{service}', '/api/services/2026-12-06', { body: board });
  writeFileSync(file, readFileSync(file, 'utf8').replace('kind = "hymn"', 'kind = "hymn"\nplay_over_word = "soft"\nnote = "G"'));
  await desk.ask('put /api/services/{service}', '/api/services/2026-12-06', { body: { ...board, singers: null } });
  const text = readFileSync(file, 'utf8');
  holds(text.includes('note = "G"') && text.includes('play_over_word = "soft"') && !text.includes('singers'), text);
});

await test('choosing and hearing', async () => {
  equal((await desk.ask('post /api/sounding', '/api/sounding', { body: { draw, keys: 'Great:C4' } })).json.pipes.length, 1, 'pipes');
  const weighed = (await desk.ask('post /api/weigh', '/api/weigh', { body: { draw, keys, draws: 20, at: 'bench', people: 'half' } })).json;
  equal(weighed.at, 'bench', 'place');
  await desk.ask('post /api/advise', '/api/advise', { body: { draw, use: 'hymn' } });
  for (const [operation, path, body] of [['post /api/weigh', '/api/weigh', { draw: 'Trombone 64', keys }], ['post /api/sounding', '/api/sounding', { draw, keys: 'Great:C9' }], ['post /api/advise', '/api/advise', { draw: '' }]]) {
    const no = await desk.ask(operation, path, { body, status: 422 });
    holds(!no.json.error.where.startsWith('-'), `${no.json.error.where} is the command line's`);
  }
  await desk.ask('post /api/weigh', '/api/weigh', { body: { draw, keys, draws: 5000 }, status: 400 });
  const heard = await desk.task(await desk.ask('post /api/hear', '/api/hear', { body: { draw, keys, seconds: 0.5 }, status: 202 }));
  equal(heard.state, 'done', heard.error?.message);
  const compared = await desk.task(await desk.ask('post /api/compare', '/api/compare', { body: { first: draw, second: 'Swell: Oboe 8', keys: 'Great:C4 Swell:C4', seconds: 0.5, dry: true }, status: 202 }));
  equal(compared.state, 'done', compared.error?.message);
  const whole = await desk.ask('get /api/sounds/{sound}', heard.result.sound);
  equal(whole.bytes.subarray(0, 4).toString(), 'fLaC', 'a FLAC');
  const part = async (range) => desk.raw('GET', heard.result.sound, { headers: { 'calcant-token': desk.token, range } });
  const middle = await part('bytes=100-199');
  equal([middle.status, middle.bytes.equals(whole.bytes.subarray(100, 200))], [206, true], 'a range');
  desk.conforms('get /api/sounds/{sound}', middle);
  equal(middle.headers['content-range'], `bytes 100-199/${whole.bytes.length}`, 'content-range');
  equal((await part('bytes=-10')).bytes.equals(whole.bytes.subarray(-10)), true, 'the tail');
  equal((await part('bytes=100-')).bytes.equals(whole.bytes.subarray(100)), true, 'from there on');
  equal((await part(`bytes=${whole.bytes.length}-`)).status, 416, 'beyond the end');
  equal((await part('bytes=9-1')).status, 200, 'no range');
  await desk.ask('get /api/sounds/{sound}', '/api/sounds/none-1', { status: 404 });
  const failing = await desk.task(await desk.ask('post /api/hear', '/api/hear', { body: { draw: 'Trombone 64', keys }, status: 202 }));
  equal(failing.state, 'failed', 'a stop that is not there');
});

await test('a piece: put in, looked at, made, heard, taken out and back', async () => {
  holds((await desk.ask('get /api/pieces', '/api/pieces')).json.pieces.some((p) => p.name === piece && p.musicxml), 'the demo piece');
  const bytes = readFileSync(join(desk.folder, 'music', piece));
  const added = await desk.page('POST', '/api/pieces?name=My%20Dundee%20(1).musicxml', bytes);
  desk.conforms('post /api/pieces', added);
  asked.add('post /api/pieces');
  equal([added.status, added.json.piece.name], [201, 'My-Dundee-1.musicxml'], 'added');
  const undone = await undo(desk, added);
  desk.conforms('delete /api/pieces/{piece}', undone);
  asked.add('delete /api/pieces/{piece}');
  await desk.ask('post /api/pieces/{piece}/restore', '/api/pieces/My-Dundee-1.musicxml/restore');
  await desk.ask('post /api/pieces', '/api/pieces?name=x.musicxml', { body: Buffer.from('<no score/>'), status: 422 });
  holds(!existsSync(join(desk.folder, 'music', 'x.musicxml')), 'what could not be read was kept');
  await desk.ask('post /api/pieces', '/api/pieces?name=x.exe', { body: bytes, status: 422 });
  for (const odd of ['organ.toml', '..%2forgan.toml', '%2e%2e', 'none.musicxml']) {
    holds([400, 404].includes((await desk.page('GET', `/api/pieces/${odd}/score`)).status), `${odd} was found`);
  }
  const at = `/api/pieces/${piece}`;
  holds((await desk.ask('get /api/pieces/{piece}/score', `${at}/score`)).text.includes('id="n0"'), 'notes have no ids');
  await desk.ask('get /api/pieces/{piece}/fit', `${at}/fit?tempo=80&bass=feet`);
  const feet = (await desk.ask('get /api/pieces/{piece}/feet', `${at}/feet?style=toes`)).json;
  equal(feet.style, 'toes', 'style');
  holds((await desk.ask('get /api/pieces/{piece}/pencilling', `${at}/pencilling?all=true`)).text.includes('calcant begin'), 'no marks');
  await desk.ask('get /api/pieces/{piece}/plan', `${at}/plan`, { status: 404 });
  const made = await desk.task(await desk.ask('post /api/pieces/{piece}/prepare', `${at}/prepare`, { body: { verses: 2, words: ['2: soft'], never: ['Oboe 8'] }, status: 202 }));
  equal(made.state, 'done', made.error?.message);
  for (const what of ['sheet', 'plan', 'marked', 'preview']) await desk.ask(`get /api/pieces/{piece}/${what}`, `${at}/${what}`);
  equal((await desk.ask('get /api/pieces', '/api/pieces')).json.pieces.find((p) => p.name === piece).prepared, 'yes', 'prepared');
  const heard = await desk.task(await desk.ask('post /api/hear', '/api/hear', { body: { piece, from_bar: '2', to_bar: '3', draw, manual: 'Great' }, status: 202 }));
  equal(heard.state, 'done', heard.error?.message);
  await desk.ask('post /api/hear', '/api/hear', { body: { piece: 'none.musicxml' }, status: 404 });
});

await test('a stop measured: handed over, kept, looked at again', async () => {
  holds((await desk.ask('get /api/measuring', '/api/measuring')).json.text.includes('The run'), 'the instruction');
  const recording = stopPlayedThrough();
  const begun = await desk.page('POST', '/api/runs?name=principal.wav&stop=Principal%204&keep=true&temperature=15&place=nave&on=2026-11-20', recording);
  desk.conforms('post /api/runs', begun);
  asked.add('post /api/runs');
  const measured = await desk.task(begun);
  equal(measured.state, 'done', measured.error?.message);
  equal(measured.result.notes.filter((n) => n.state === 'speaks').length, 56, 'notes that speak');
  const runs = (await desk.ask('get /api/runs', '/api/runs')).json.runs;
  equal([runs.length, runs[0].id, runs[0].recording], [1, measured.result.kept, 'principal.wav'], 'the run');
  equal((await desk.ask('get /api/runs/{id}', `/api/runs/${runs[0].id}`)).json.notes.length, 56, 'its notes');
  await desk.ask('get /api/runs/{id}', '/api/runs/99', { status: 404 });
  const bad = await desk.task(await desk.page('POST', '/api/runs?name=x.wav&stop=Principal%204', Buffer.from('no sound')));
  equal(bad.state, 'failed', 'what is no recording');
  equal(readdirSync(join(desk.folder, 'recordings')), ['principal.wav'], 'what is kept');
  await desk.ask('post /api/runs', '/api/runs?name=x.wav', { body: Buffer.from('x'), status: 400 });
});

await test('tasks are listed and cancelled, and every tab is told', async () => {
  const tab = await desk.events();
  const begun = await desk.ask('post /api/hear', '/api/hear', { body: { draw, keys, seconds: 600 }, status: 202 });
  const task = begun.json.task;
  equal((await tab.next('progress')).task, task, 'progress of another task');
  const cancelled = await desk.ask('delete /api/tasks/{task}', `/api/tasks/${task}`);
  holds(['working', 'cancelled'].includes(cancelled.json.state), cancelled.json.state);
  equal((await tab.next('cancelled')).task, task, 'cancelled another task');
  equal((await desk.ask('get /api/tasks', '/api/tasks')).json.tasks[0].state, 'cancelled', 'the latest');
  await desk.ask('get /api/tasks/{task}', '/api/tasks/none-1', { status: 404 });
  tab.close();
});

await test('two tabs: one is told what the other has changed, and writes over nothing unseen', async () => {
  const tab = await desk.events();
  const seen = (await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.hash;
  const other = await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { ...board, name: 'Advent', hash: seen } });
  equal((await tab.next('changed')).changed, ['services'], 'changed');
  await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { ...board, hash: seen }, status: 409 });
  await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { ...board, hash: other.json.hash } });
  const last = tab.last;
  tab.close();
  await desk.ask('post /api/faults', '/api/faults', { body: { line: 'Swell out of tune' }, status: 201 });
  const back = await desk.events(last);
  const told = await back.next('changed');
  holds(['services', 'faults'].includes(told.changed[0]), 'what happened meanwhile');
  back.close();
  // Both at once, twenty times: the board is always one of the two, whole.
  for (let i = 0; i < 20; ++i) {
    const names = [`first ${i}`, `second ${i}`];
    const answers = await Promise.all(names.map((name) => desk.page('PUT', `/api/services/${date}`, { ...board, name })));
    equal(answers.map((a) => a.status), [200, 200], 'both');
    const now = (await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json;
    holds(names.includes(now.name) && now.items.length === 2, now.name);
  }
});

await test('the book and the board changed by others are seen at once', async () => {
  const before = (await desk.ask('get /api/organ', '/api/organ')).json.hash;
  writeFileSync(join(desk.folder, 'day.toml'), 'version = 1\nstops_out_of_use = ["sw-oboe"]\n');
  const after = await desk.page('GET', '/api/organ');
  holds(after.status === 409 || after.json.hash !== before, 'a new day.toml was not seen');
  const { unlinkSync } = await import('node:fs');
  unlinkSync(join(desk.folder, 'day.toml'));
  equal((await desk.ask('get /api/organ', '/api/organ')).json.hash, before, 'the organ afterwards');
});

// -- the door ----------------------------------------------------------------------------------------------------------
await test('foreign Host, Origin and site, OPTIONS, no token, forms: refused, on pages and API alike', async () => {
  const own = { 'calcant-token': desk.token };
  const json = { ...own, 'content-type': 'application/json' };
  const tries = [
    [421, 'GET', '/', { host: `desk.example:${desk.port}` }],
    [421, 'GET', '/api/desk', { ...own, host: '127.0.0.1' }],
    [403, 'GET', '/api/desk', { ...own, origin: 'http://example' }],
    [403, 'GET', '/api/desk', { ...own, origin: 'null' }],
    [403, 'GET', '/api/desk', { ...own, 'sec-fetch-site': 'cross-site' }],
    [403, 'GET', '/api/desk', { ...own, 'sec-fetch-site': 'same-site' }],
    [403, 'GET', '/api/desk', { ...own, 'sec-fetch-site': 'none' }],
    [403, 'GET', '/', { 'sec-fetch-site': 'cross-site' }],
    [200, 'GET', '/', { 'sec-fetch-site': 'none' }],
    [405, 'OPTIONS', '/api/faults', { origin: `http://127.0.0.1:${desk.port}` }],
    [405, 'PATCH', '/api/faults', own],
    [405, 'DELETE', '/api/faults', own],
    [405, 'POST', '/', own],
    [401, 'POST', '/api/faults', { 'content-type': 'application/json', cookie: desk.cookie }],
    [415, 'POST', '/api/faults', { ...own, 'content-type': 'text/plain' }],
    [415, 'POST', '/api/faults', { ...own, 'content-type': 'application/x-www-form-urlencoded' }],
    [400, 'POST', '/api/faults', json],
    [404, 'GET', '/api/nothing', own],
    [404, 'GET', '/api', own],
    [400, 'GET', '/api/../organ.toml', own],
    [400, 'GET', '/%2e%2e/organ.toml', {}],
  ];
  for (const [status, method, path, headers] of tries) {
    const answer = await desk.raw(method, path, { headers, body: method === 'POST' && path === '/api/faults' ? '{}' : undefined });
    equal(answer.status, status, `${method} ${path} ${JSON.stringify(headers)}`);
    if (answer.json) holds(/^[A-Z0-9'].*\.$/.test(answer.json.error.message), `no sentence: ${answer.json.error.message}`);
    holds(answer.headers['access-control-allow-origin'] === undefined, 'another site may read it');
  }
  for (const [path, described] of Object.entries(api.paths)) {
    if (path === '/api/session') continue;
    for (const method of Object.keys(described).filter((m) => ['get', 'post', 'put', 'delete'].includes(m))) {
      const answer = await desk.raw(method.toUpperCase(), path.replaceAll(/\{.*?\}/g, '1'));
      equal(answer.status, 401, `${method} ${path} without a token`);
      desk.conforms(`${method} ${path}`, answer);
    }
  }
});

await test('nobody listens but this computer', async () => {
  const { networkInterfaces } = await import('node:os');
  for (const { address, family, internal } of Object.values(networkInterfaces()).flat()) {
    if (internal || family !== 'IPv4') continue;
    await new Promise((done, failed) => {
      const s = net.connect(desk.port, address);
      s.once('connect', () => failed(new Error(`${address} listens`)));
      s.once('error', done);
    });
  }
});

await test('50 MB in pieces against a limit of one mebibyte: refused, nothing taken', async () => {
  const before = memory(desk.child.pid);
  const answer = await desk.raw('POST', '/api/weigh', {
    headers: { 'calcant-token': desk.token, 'content-type': 'application/json' },
    pieces: Array.from({ length: 800 }, () => Buffer.alloc(65536, 0x20)),
  });
  equal(answer.status, 413, 'too large');
  desk.conforms('post /api/weigh', answer);
  const more = memory(desk.child.pid) - before;
  holds(more < 20_000, `${more} kB more`);
});
function memory(pid) {
  return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]);
}

await test('pages: deep links, one policy, 304 when it is the same', async () => {
  const first = await desk.raw('GET', '/sunday/2026-11-29');
  equal([first.status, first.headers['content-type']], [200, 'text/html; charset=utf-8'], 'a deep link');
  holds(first.headers['content-security-policy'].includes("'wasm-unsafe-eval'"), 'policy');
  if (first.headers.etag) {
    equal((await desk.raw('GET', '/', { headers: { 'if-none-match': first.headers.etag } })).status, 304, 'again');
    equal((await desk.raw('GET', '/assets/none.js')).status, 404, 'what is not there');
    const script = /assets\/[\w.-]+\.js/.exec(first.text)[0];
    const packed = await desk.raw('GET', `/${script}`, { headers: { 'accept-encoding': 'gzip' } });
    equal([packed.headers['content-encoding'], packed.headers['cache-control'].includes('immutable')], ['gzip', true], 'a script');
  }
});

// -- ends --------------------------------------------------------------------------------------------------------------
await test('asked to end it ends, and its sounds with it', async () => {
  const tab = await desk.events();
  const { code } = await desk.end('SIGTERM');
  equal(code, 0, 'status');
  equal(await tab.next('anything'), null, 'the stream');
  holds(!readdirSync(join(desk.folder, 'prepared')).some((f) => f.startsWith('.')), 'something half made is left');
});
await desk.remove();

await test('killed in the middle it loses nothing it had confirmed, and starts again', async () => {
  const victim = await new Desk(program).open();
  const confirmed = [];
  let named = '';
  for (let round = 0; round < 3; ++round) {
    if (round > 0) await victim.open(victim.port);
    let stop = false;
    const faults = (async () => {
      for (let i = 0; !stop; ++i) {
        const key = `round-${round}-${i}`;
        const answer = await victim.page('POST', '/api/faults', { division: 'great', stop: 'gt-open', midi: 36 + (i % 56), kind: 'dead', words: key, key }).catch(() => undefined);
        if (answer?.status === 201) confirmed.push(key);
      }
    })();
    const boards = (async () => {
      for (let i = 0; !stop; ++i) {
        const name = `round ${round}, ${i}`;
        const answer = await victim.page('PUT', `/api/services/${date}`, { ...board, name }).catch(() => undefined);
        if (answer?.status === 200) named = name;
      }
    })();
    const making = victim.page('POST', '/api/services/sunday/prepare', {}).catch(() => undefined);
    while (confirmed.length < 15 * (round + 1)) await new Promise((r) => setTimeout(r, 10));
    await victim.end('SIGKILL');
    stop = true;
    await Promise.all([faults, boards, making]);
  }
  await victim.open(victim.port);
  const kept = (await victim.ask('get /api/faults', '/api/faults')).json.faults.map((f) => f.words);
  for (const key of confirmed) holds(kept.includes(key), `${key} is lost`);
  equal(new Set(kept).size, kept.length, 'once each');
  const [, round, count] = /round (\d+), (\d+)/.exec((await victim.ask('get /api/services/{service}', `/api/services/${date}`)).json.name);
  const [, lastRound, lastCount] = /round (\d+), (\d+)/.exec(named);
  holds(Number(round) === Number(lastRound) && Number(count) >= Number(lastCount), 'the board is older than confirmed');
  const made = join(victim.folder, 'prepared');
  holds(!existsSync(made) || !readdirSync(made).some((f) => f.startsWith('.')), 'something half made is left');
  await victim.remove();
});

await test('started anew: an old page is told so, and its stream to ask again', async () => {
  const anew = await new Desk(program).open();
  const token = anew.token;
  const tab = await anew.events();
  await anew.ask('post /api/faults', '/api/faults', { body: { line: 'Swell out of tune' }, status: 201 });
  await tab.next('changed');
  await anew.end();
  await anew.open(anew.port);
  const old = await anew.raw('GET', '/api/desk', { headers: { 'calcant-token': token } });
  equal(old.status, 401, 'the old token');
  holds(old.json.error.message.includes('started anew'), old.json.error.message);
  const back = await anew.events(tab.last);
  holds((await back.next('again')) !== null, 'again');
  back.close();
  await anew.remove();
});

await test('a folder without an organ, and one with a faulty organ.toml', async () => {
  const empty = await new Desk(program, null).open();
  const state = (await empty.ask('get /api/desk', '/api/desk')).json;
  equal([state.organ, state.problem !== null], [null, true], 'no organ');
  for (const [operation, path] of [['get /api/organ', '/api/organ'], ['get /api/faults', '/api/faults'], ['get /api/runs', '/api/runs']]) {
    const no = await empty.ask(operation, path, { status: 409 });
    holds(!no.text.includes(empty.place), 'where the folder stands is told');
  }
  await empty.ask('get /api/organ/file', '/api/organ/file', { status: 404 });
  await empty.ask('get /api/services', '/api/services');
  const text = readFileSync('demo/town/specification.txt', 'utf8');
  const draft = (await empty.ask('post /api/specification', '/api/specification', { body: { text } })).json;
  holds(draft.divisions.length >= 3, 'divisions');
  await empty.ask('post /api/specification', '/api/specification', { body: { text: 'hello' }, status: 422 });
  await empty.ask('post /api/organ', '/api/organ', { body: { text, answers: { manual_notes: 'many' } }, status: 400 });
  const answers = { manual_notes: 61, pedal_notes: 30, from_tenor_c: [], couplers_carry: true, octaves_extended: false, swell_pedal: 'balanced', pitch_hz: 440, pitch_celsius: 15, room_cubic_metres: 5000 };
  const made = await empty.ask('post /api/organ', '/api/organ', { body: { text, answers, invented: true }, status: 201 });
  equal(made.json.file, 'organ.toml', 'its file');
  holds((await empty.ask('get /api/desk', '/api/desk')).json.organ.invented, 'the organ is there');
  writeFileSync(join(empty.folder, 'organ.toml'), 'version = 1\nname = 7\n');
  const faulty = await empty.ask('get /api/organ', '/api/organ', { status: 409 });
  holds(faulty.json.error.faults.some((f) => f.line === 2), 'the fault has no line');
  holds((await empty.ask('get /api/organ/file', '/api/organ/file')).json.faults.length > 0, 'the file is told with its faults');
  await empty.remove();
});

await test('every route of the contract was asked', async () => {
  const all = Object.entries(api.paths).flatMap(([path, methods]) => Object.keys(methods).filter((m) => ['get', 'post', 'put', 'delete'].includes(m)).map((m) => `${m} ${path}`));
  equal(all.filter((o) => !asked.has(o)), [], 'not asked');
});

console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
