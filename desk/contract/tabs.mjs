// Several tabs and programs at once.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test } from './checks.mjs';
import { board, date, draw, keys } from './given.mjs';

export default async function (desk) {
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
}
