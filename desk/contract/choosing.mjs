// Wishes, a build-up, the map; registrations saved by name; the ear trial.
import { equal, holds, test, undo } from './checks.mjs';
import { asked } from './desk.mjs';
import { draw } from './given.mjs';

/** The answer, whether it came at once or as a task. */
async function answered(desk, operation, path, body) {
  const method = operation.slice(0, operation.indexOf(' ')).toUpperCase();
  const first = await desk.page(method, path, body);
  desk.conforms(operation, first);
  asked.add(operation);
  if (first.status !== 202) return { status: first.status, json: first.json };
  const task = await desk.task(first);
  return { status: 202, json: task.result, task };
}

export default async function (desk) {
  await test('the rules that reasons name', async () => {
    const { rules } = (await desk.ask('get /api/rules', '/api/rules')).json;
    equal(rules.map((r) => r.rule), Array.from({ length: 43 }, (_, i) => `R${i + 1}`), 'numbers');
    const { advice } = (await desk.ask('post /api/advise', '/api/advise', { body: { draw: 'Great: Twelfth 2 2/3' } })).json;
    holds(advice.length > 0 && advice.every((a) => rules.some((r) => r.rule === a.rule)), 'an advice names no rule');
    await desk.ask('get /api/rules', '/api/rules?of=R4', { status: 400 });
  });

  await test('a wish: first a task, then at once, the same either way', async () => {
    const wish = { manual: 'Great', level: 'soft', limit: 4 };
    const first = await answered(desk, 'post /api/choose', '/api/choose', wish);
    equal(first.status, 202, 'the first wish');
    const again = await desk.ask('post /api/choose', '/api/choose', { body: wish });
    equal(again.json, first.json, 'the same wish again');
    holds(again.json.answers.length > 1 && again.json.answers.length <= 4, 'how many answers');
    holds(again.json.answers[0].reasons[0].includes('phon in the nave'), 'no reason');
    const darker = await desk.ask('post /api/choose', '/api/choose', { body: { ...wish, colour: 'darker', must: 'Swell to Great', not: 'Dulciana 8' } });
    for (const a of darker.json.answers) holds(a.draw.includes('Swell to Great') && !a.draw.includes('Great: Dulciana 8'), a.draw.join());
    const louder = await desk.ask('post /api/choose', '/api/choose', { body: { ...wish, level: 'louder', from: draw } });
    holds(louder.json.answers[0].reasons[0].includes('louder'), 'not louder');
    await desk.ask('post /api/choose', '/api/choose', { body: { ...wish, phon: 85, level: undefined } });
    const solo = await answered(desk, 'post /api/choose', '/api/choose', { solo: 'Swell: Oboe 8', under: 'Great', limit: 3 });
    holds(solo.json.answers[0].reasons[0].includes('the solo by itself'), 'no solo');
  });

  await test('a wish refused in sentences, with the nearest that is right', async () => {
    const no = async (status, body) => (await desk.ask('post /api/choose', '/api/choose', { body, status })).json.error;
    holds((await no(422, { level: 'sofd' })).message.includes('perhaps "soft"'), 'no level near it');
    holds((await no(422, { level: 'soft', manual: 'Grate' })).message.includes('perhaps "Great"'), 'no manual near it');
    const must = await no(422, { level: 'soft', must: 'Open Diapasn 8' });
    holds(must.where === 'must' && must.message.includes('Open Diapason'), must.message);
    equal((await no(422, { level: 'softer' })).where, 'from', 'softer than nothing');
    equal((await no(422, {})).where, 'level', 'no level');
    holds(!(await no(422, {})).message.includes('--'), 'the command line speaks');
    for (const body of [{ level: 'soft', limit: 0 }, { level: 7 }, { phon: 500 }, { level: 'soft', color: 'dark' }, { level: 'soft', colour: 'blue' }]) await no(400, body);
  });

  await test('a build-up and the map, with progress, cancelled and asked for again', async () => {
    const built = await answered(desk, 'post /api/buildup', '/api/buildup', { manual: 'Great', steps: 4 });
    equal(built.task.state, 'done', built.task.error?.message);
    equal([built.json.steps.length, built.json.others.length > 0], [4, true], 'steps, and the usual orders');
    await desk.ask('post /api/buildup', '/api/buildup', { body: { steps: 1 }, status: 400 });
    const wrong = await answered(desk, 'post /api/buildup', '/api/buildup', { from: 'full', to: 'soft' });
    equal(wrong.task.state, 'failed', 'from full to soft');
    const map = await answered(desk, 'get /api/map', '/api/map?manual=great');
    equal([map.status, map.json.manual], [200, 'great'], 'the map of what is known by now');
    const { cells } = map.json;
    holds(cells.length > 100 && cells.every((c) => c.allowed <= c.states && c.draw.length > 0), `${cells.length} cells`);
    equal(cells.reduce((n, c) => n + c.states, 0), map.json.states, 'states');
    await desk.ask('get /api/map', '/api/map?manual=Solo', { status: 422 });
    await desk.ask('get /api/map', '/api/map?colour=blue', { status: 400 });
    const begun = await desk.page('GET', '/api/map?manual=swell&at=bench');
    equal(begun.status, 202, 'a place not yet heard from');
    await desk.ask('delete /api/tasks/{task}', `/api/tasks/${begun.json.task}`);
    const stopped = await desk.task(begun);
    holds(['cancelled', 'done'].includes(stopped.state), stopped.state);
  });

  await test('registrations saved by name, put in place of one another, forgotten, all of it taken back', async () => {
    equal((await desk.ask('get /api/saved', '/api/saved')).json.saved, [], 'nothing saved');
    const tab = await desk.events();
    const path = '/api/saved/Quiet%20verse%3F%20%C3%A9';
    const first = await desk.ask('put /api/saved/{name}', path, { body: { draw, remark: 'for 20', on: '2026-11-20' } });
    equal((await tab.next('changed')).changed, ['saved'], 'told to the tabs');
    tab.close();
    const was = first.json.saved;
    equal([was[0].name, was[0].saved, was[0].remark], ['Quiet verse? é', '2026-11-20', 'for 20'], 'saved');
    const taken = await desk.ask('put /api/saved/{name}', '/api/saved/quiet%20verse%3F%20%C3%A9', { body: { draw: 'Swell: Oboe 8' }, status: 409 });
    holds(taken.json.error.message.includes('saved already') && !taken.json.error.message.includes('--'), taken.json.error.message);
    const other = await desk.ask('put /api/saved/{name}', path, { body: { draw: 'Swell: Oboe 8', replace: true } });
    equal(other.json.saved.length, 1, 'in its place');
    await undo(desk, other);
    equal((await desk.ask('get /api/saved', '/api/saved')).json.saved, was, 'as it was');
    const used = await desk.ask('post /api/choose', '/api/choose', { body: { level: 'as loud as Quiet verse? é', manual: 'Great' } });
    holds(used.json.purpose.startsWith('as loud as Quiet verse'), used.json.purpose);
    const renamed = await desk.ask('post /api/saved/{name}/rename', `${path}/rename`, { body: { to: 'Evening' } });
    equal(renamed.json.saved, [{ ...was[0], name: 'Evening' }], 'renamed');
    await desk.ask('post /api/saved/{name}/rename', `${path}/rename`, { body: { to: 'Morning' }, status: 404 });
    await desk.ask('put /api/saved/{name}', '/api/saved/Morning', { body: { draw } });
    await desk.ask('post /api/saved/{name}/rename', '/api/saved/evening/rename', { body: { to: 'MORNING' }, status: 409 });
    equal((await desk.ask('post /api/saved/{name}/rename', '/api/saved/evening/rename', { body: { to: 'Oboe 8' }, status: 422 })).json.error.where, 'to', 'a stop is no name');
    await desk.ask('delete /api/saved/{name}', '/api/saved/Morning');
    await undo(desk, renamed);
    equal((await desk.ask('get /api/saved', '/api/saved')).json.saved, was, 'as it was');
    const gone = await desk.ask('delete /api/saved/{name}', path);
    equal(gone.json.saved, [], 'forgotten');
    await desk.ask('delete /api/saved/{name}', path, { status: 404 });
    await undo(desk, gone);
    equal((await desk.ask('get /api/saved', '/api/saved')).json.saved, was, 'as it was');
    await undo(desk, first);
    for (const [status, name, body] of [[422, 'Oboe%208', { draw }], [422, 'a%2Cb', { draw }], [422, 'x', { draw: 'Trombone 64' }], [422, 'x', { draw: '' }], [400, 'x', {}], [400, 'x', { draw, on: 'today' }]]) {
      const no = await desk.ask('put /api/saved/{name}', `/api/saved/${name}`, { body, status });
      holds(!no.json.error.where.startsWith('-') && no.json.error.where !== 'NAME', no.json.error.where);
    }
    equal((await desk.ask('get /api/saved', '/api/saved')).json.saved, [], 'after all of it');
  });

  await test('the ear trial: a sheet, its two sides, answers, and back again', async () => {
    const none = (await desk.ask('get /api/trial', '/api/trial')).json;
    equal([none.pairs, none.heard], [[], 'not yet heard here'], 'no sheet');
    await desk.ask('get /api/trial/sheet', '/api/trial/sheet', { status: 404 });
    await desk.ask('post /api/trial/answers', '/api/trial/answers', { body: { answers: '1 A' }, status: 409 });
    await desk.ask('delete /api/trial', '/api/trial', { status: 404 });
    const before = (await desk.ask('get /api/organ', '/api/organ')).json.hash;
    const made = await desk.ask('post /api/trial', '/api/trial', { body: { on: '2026-11-20' }, status: 201 });
    equal(made.json.pairs.length, 10, 'pairs');
    await desk.ask('post /api/trial', '/api/trial', { body: {}, status: 409 });
    const sheet = await desk.ask('get /api/trial/sheet', '/api/trial/sheet');
    holds(sheet.text.includes('Which was') && sheet.headers['content-security-policy'].includes("default-src 'none'"), 'the sheet');
    const some = await desk.ask('post /api/trial/answers', '/api/trial/answers', { body: { answers: '1 A, 2 same' } });
    holds(/^agreed with your ear in \d of 2 /.test(some.json.heard), some.json.heard);
    holds(some.json.pairs[0].predicted !== undefined && some.json.pairs[2].predicted === undefined, 'what was computed is told too early');
    const more = await desk.ask('post /api/trial/answers', '/api/trial/answers', { body: { answers: '2 B, 3 B' } });
    await undo(desk, more);
    equal((await desk.ask('get /api/trial', '/api/trial')).json.pairs.map((p) => p.answered).slice(0, 3), ['first', 'same', null], 'as they were');
    holds((await desk.ask('post /api/weigh', '/api/weigh', { body: { draw, keys: 'Great:C4', draws: 20 } })).json.heard.startsWith('agreed'), 'what is weighed does not know');
    for (const answers of ['11 A', '1 loud', 'x']) await desk.ask('post /api/trial/answers', '/api/trial/answers', { body: { answers }, status: 422 });
    const gone = await desk.ask('delete /api/trial', '/api/trial');
    equal((await desk.ask('get /api/organ', '/api/organ')).json.hash, before, 'the organ without it');
    const back = await undo(desk, gone);
    desk.conforms('post /api/trial/restore', back);
    equal(back.json.pairs[1].answered, 'same', 'with its answers');
    await desk.ask('post /api/trial/restore', '/api/trial/restore', { body: { pairs: [1, 999] }, status: 409 });
    await desk.ask('post /api/trial/restore', '/api/trial/restore', { body: { pairs: ['1'] }, status: 400 });
    await desk.ask('delete /api/trial', '/api/trial');
    await desk.ask('post /api/trial/restore', '/api/trial/restore', { body: gone.json.undo.body });
    await desk.ask('delete /api/trial', '/api/trial');
  });
}
