// The session; the organ, its file, the faults in its book.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test, undo } from './checks.mjs';
import { api } from './desk.mjs';
import { date } from './given.mjs';

export default async function (desk) {
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
    const [step, second] = (await desk.ask('get /api/couplers', '/api/couplers')).json.steps;
    const of = ({ through, carried }) => ({ through, carried });
    equal(step.answers.map((a) => a.carries), [false, true, null, null], 'answers to one or two pitches');
    const hash = async () => (await desk.ask('get /api/organ', '/api/organ')).json.hash;
    const untried = await hash();
    const odd = await desk.ask('post /api/couplers', '/api/couplers', { body: { ...of(step), heard: 'a wrong note', on: '2026-11-20' } });
    equal([odd.json.tried, odd.json.steps[0].tried, odd.json.steps[0].last.date, await hash()], [false, false, '2026-11-20', untried], 'what settles nothing');
    const said = await desk.ask('post /api/couplers', '/api/couplers', { body: { ...of(step), heard: 'two pitches' } });
    equal([said.json.steps[0].tried, said.json.steps[0].carries, said.json.steps[1].tried], [true, true, false], 'what was heard');
    holds((await hash()) !== untried, 'plans do not see it');
    await undo(desk, said);
    await undo(desk, odd);
    equal([(await desk.ask('get /api/couplers', '/api/couplers')).json.steps[0], await hash()], [step, untried], 'the step after undo');
    await desk.ask('post /api/couplers', '/api/couplers', { body: { ...of(second), heard: 'two pitches' }, status: 422 });
    await desk.ask('post /api/couplers', '/api/couplers', { body: { through: step.carried, carried: step.through, heard: 'silence' }, status: 422 });
    await desk.ask('post /api/couplers', '/api/couplers', { body: of(step), status: 400 });
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
}
