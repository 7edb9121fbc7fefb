// What is changed by hand in a day's plan and in a piece.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test, undo } from './checks.mjs';
import { date, piece } from './given.mjs';

export default async function (desk) {
  const day = `/api/services/${date}/changes`;
  const post = (body, status) => desk.ask('post /api/services/{service}/changes', day, status ? { body, status } : { body });
  const plan = async () => {
    const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `/api/services/${date}/prepare`, { body: {}, status: 202 }));
    equal(made.state, 'done', made.error?.message);
    return made.result.plan.items[0].sections;
  };

  await test('Sunday changed by hand: kept, planned round, gone out of date, taken back step by step', async () => {
    equal((await desk.ask('get /api/services/{service}/changes', day)).json, { steps: 0, words: [], fixed: [], moved: [], forbidden: [], feet: [] }, 'before');
    await plan();
    await post({ change: 'word', item: '58 Dundee', verse: '2', word: 'soft, no pedal' });
    equal((await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.prepared, 'old', 'the sheet after a change');
    await post({ change: 'forbid', stop: 'Fifteenth 2' });
    const fixed = await post({ change: 'fix', item: '58 Dundee', verse: '1', draw: 'Clarabella 8, Dulciana 8', right: 'Great', pedal: false });
    equal(fixed.json.steps, 3, 'steps');
    const sections = await plan();
    const [first, second] = ['Verse 1', 'Verse 2'].map((label) => sections.find((s) => s.label === label));
    equal([first.fixed, first.draw.length, first.keyboards.feet], [true, 2, null], 'what was fixed');
    equal([second.wish, second.kind], ['soft', 'no pedal'], 'the word');
    holds(!sections.some((s) => s.draw_names.includes('Fifteenth 2')), 'what was forbidden is drawn');
    equal((await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json.prepared, 'yes', 'the sheet made again');
    equal((await undo(desk, fixed)).json.fixed, [], 'the latest change taken back');
    equal((await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`)).json.forbidden, [], 'and the one before');
    await post({ change: 'free', item: '58 Dundee', verse: '2' });
    await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`);
    const last = await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`);
    equal([last.json.steps, last.json.words], [0, []], 'everything taken back');
    await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`, { status: 409 });
  });

  await test('a change of Sunday struck out; a hymn that stands twice changed once; the full organ fixed', async () => {
    const board = (await desk.ask('get /api/services/{service}', `/api/services/${date}`)).json;
    const dundee = board.items.find((i) => i.title === 'Dundee');
    const { name, singers } = board;
    await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { name, singers, items: [dundee, dundee] } });
    await post({ change: 'word', item: '58 Dundee', standing: 2, verse: '1', word: 'full' });
    await post({ change: 'strike', item: '58 Dundee', standing: 2, verse: '2' });
    const { divisions, couplers } = (await desk.ask('get /api/organ', '/api/organ')).json.specification;
    const full = [...divisions.flatMap((d) => d.stops.map((s) => `${d.name}: ${s.name}`)), ...couplers.map((c) => c.name)].join(', ');
    holds(full.length > 300, 'the full organ is short');
    const said = await post({ change: 'fix', item: '58 Dundee', standing: 1, verse: '2', draw: full });
    equal([said.json.words[0].standing, said.json.moved], [2, [{ item: '58 Dundee', standing: 2, verse: '2', as_before: true, draw: '', put_in: '' }]], 'what is kept');
    const made = await desk.task(await desk.ask('post /api/services/{service}/prepare', `/api/services/${date}/prepare`, { body: {}, status: 202 }));
    const [first, second] = made.result.plan.items.map((i) => ['Verse 1', 'Verse 2'].map((label) => i.sections.find((s) => s.label === label)));
    equal([first[0].wish === 'full', second[0].wish], [false, 'full'], 'the word');
    equal([first[1].fixed, first[1].draw.length], [true, divisions.flatMap((d) => d.stops).length + couplers.length], 'the full organ');
    equal([second[1].fixed, second[1].draw], [true, second[0].draw], 'what was struck out');
    await desk.ask('put /api/services/{service}', `/api/services/${date}`, { body: { name, singers, items: board.items } });
    for (let step = 0; step < 3; ++step) await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`);
  });

  await test('a change of a piece struck out, moved to another bar and on; a bar there is none of is refused', async () => {
    const at = '/api/pieces/voluntary-in-d.musicxml';
    const change = async (body, status) => desk.ask('post /api/pieces/{piece}/changes', `${at}/changes`, status ? { body, status } : { body });
    const place = { item: 'x', bar: '3' };
    const moved = await change({ change: 'move', ...place, to_bar: '4', draw: 'Principal 4', box: 0.5 });
    equal(moved.json.moved, [{ ...place, beat: 1, as_before: true, draw: '', put_in: '' }, { ...place, bar: '4', beat: 1, as_before: false, draw: 'Principal 4', put_in: '', box: 0.5 }], 'moved');
    const on = await change({ change: 'move', ...place, bar: '4', to_bar: '5', draw: 'Principal 4' });
    equal(on.json.moved.map((m) => [m.bar, m.as_before]), [['3', true], ['5', false]], 'moved on');
    equal((await change({ change: 'fix', ...place, draw: 'Oboe 8' })).json.moved.length, 1, 'fixed where it was struck out');
    equal((await change({ change: 'free', ...place, bar: '5' })).json.moved, [], 'freed');
    for (const wrong of [{ to_bar: '999' }, { to_bar: '3' }, { to_bar: '4', draw: '' }, { to_bar: '4', draw: 'Tuba 16' }, { to_bar: '1' }, { bar: '998', to_bar: '4' }])
      await change({ change: 'move', ...place, draw: 'Principal 4', ...wrong }, 422);
    await change({ change: 'strike', ...place, bar: '1' }, 422);
    await desk.ask('post /api/pieces/{piece}/changes', `/api/pieces/${piece}/changes`, { body: { change: 'word', ...place, word: 'soft' }, status: 422 }); // a hymn's places are verses
    await change({ change: 'word', ...place, bar: '999', word: 'soft' }, 422);
    for (let step = 0; step < 4; ++step) await desk.ask('post /api/pieces/{piece}/changes/undo', `${at}/changes/undo`);
  });

  await test('a bar that is repeated is changed at its second time through alone', async () => {
    const at = '/api/pieces/voluntary-in-d.musicxml';
    const change = async (body, status) => desk.ask('post /api/pieces/{piece}/changes', `${at}/changes`, status ? { body, status } : { body });
    const place = { item: 'Voluntary in D', bar: '1' };
    await change({ change: 'word', ...place, word: 'full' });
    const words = (await change({ change: 'word', ...place, time: 2, word: 'soft' })).json.words;
    equal(words.map((w) => [w.bar, w.time ?? 1, w.word]), [['1', 1, 'full'], ['1', 2, 'soft']], 'words');
    await change({ change: 'strike', ...place, bar: '3' });
    const moved = await change({ change: 'move', ...place, bar: '3', time: 2, to_bar: '4', to_time: 2, draw: 'Principal 4' });
    equal(moved.json.moved.map((m) => [m.bar, m.time ?? 1, m.as_before]), [['3', 1, true], ['3', 2, true], ['4', 2, false]], 'moved');
    for (const wrong of [{ time: 3 }, { bar: '9', time: 2 }]) await change({ change: 'word', ...place, ...wrong, word: 'soft' }, 422);
    await change({ change: 'strike', ...place }, 422);
    await change({ change: 'word', ...place, time: 0, word: 'soft' }, 400);
    for (let step = 0; step < 2; ++step) await desk.ask('post /api/pieces/{piece}/changes/undo', `${at}/changes/undo`);
    const made = await desk.task(await desk.ask('post /api/pieces/{piece}/prepare', `${at}/prepare`, { body: {}, status: 202 }));
    equal(made.state, 'done', made.error?.message);
    const wanted = made.result.plan.items[0].sections.filter((s) => s.from.bar === '1' && s.from.at === '0').map((s) => [s.from.pass, s.wish]);
    equal(wanted, [[1, 'full'], [2, 'soft']], 'what is wanted at bar 1');
    equal((await change({ change: 'free', ...place, time: 2 })).json.words.map((w) => w.word), ['full'], 'freed at its second time');
    for (let step = 0; step < 3; ++step) await desk.ask('post /api/pieces/{piece}/changes/undo', `${at}/changes/undo`);
  });

  await test('what no plan could keep to is refused, and what was edited by hand is not lost', async () => {
    for (const wrong of [
      { change: 'fix', item: '58 Dundee', verse: '1', draw: 'Tuba 16' },
      { change: 'fix', item: '58 Dundee', verse: '1', draw: 'Dulciana 8', right: 'Solo' },
      { change: 'forbid', stop: 'Tuba 16' },
      { change: 'word', item: '58 Dundee', verse: '0', word: 'soft' },
      { change: 'word', item: '58 Dundee', verse: '61', word: 'soft' },
      { change: 'word', item: '58 Dundee', word: 'soft' },
    ]) await post(wrong, 422);
    for (const wrong of [{}, { change: 'dance' }, { change: 'word', item: 'x', verse: '1' }, { change: 'foot', note: 'n1', foot: 'left' }, { change: 'free', item: 'x', verse: '1', tune: 'x' }]) await post(wrong, 400);
    await desk.ask('get /api/services/{service}/changes', '/api/services/2031-01-05/changes', { status: 404 });
    await desk.ask('get /api/services/{service}/changes', '/api/services/x/changes', { status: 404 });
    const file = join(desk.folder, 'wishes', 'days', `${date}.toml`);
    await post({ change: 'word', item: '58 Dundee', verse: '2', word: 'a "quoted" word' });
    writeFileSync(file, `${readFileSync(file, 'utf8')}\n[[forbid]]\nstop = "Oboe 8"\n`);
    await desk.ask('post /api/services/{service}/changes/undo', `${day}/undo`, { status: 409 });
    const seen = await post({ change: 'free', item: '58 Dundee', verse: '2' });
    equal(seen.json.forbidden, ['Oboe 8'], 'what was written by hand');
    await post({ change: 'allow', stop: 'Oboe 8' });
    writeFileSync(file, 'version = 1\n[[forbid]]\n');
    await desk.ask('get /api/services/{service}/changes', day, { status: 409 });
    writeFileSync(file, 'version = 1\n');
  });

  await test('a foot mark of a piece changed, solved round, freed again', async () => {
    const at = `/api/pieces/${piece}`;
    const feet = async () => (await desk.ask('get /api/pieces/{piece}/feet', `${at}/feet`)).json.marks;
    const mark = (await feet())[3];
    const other = mark.foot === 'left' ? 'right' : 'left';
    const wish = { change: 'foot', note: mark.id, foot: other, part: 'heel' };
    const changed = await desk.ask('post /api/pieces/{piece}/changes', `${at}/changes`, { body: wish });
    equal(changed.json.feet, [{ note: mark.id, mark: `${other} heel` }], 'the mark');
    const now = (await feet())[3];
    equal([now.foot, now.part, now.fixed], [other, 'heel', true], 'the foot');
    equal((await desk.ask('get /api/pieces/{piece}/changes', `${at}/changes`)).json.steps, 1, 'steps');
    await desk.ask('post /api/pieces/{piece}/changes', `${at}/changes`, { body: { change: 'free foot', note: mark.id } });
    equal((await feet())[3].foot, mark.foot, 'the foot freed');
    await desk.ask('post /api/pieces/{piece}/changes/undo', `${at}/changes/undo`);
    equal((await feet())[3].foot, other, 'the foot after undo');
    await desk.ask('post /api/pieces/{piece}/changes/undo', `${at}/changes/undo`);
    equal((await feet())[3].fixed ?? false, false, 'the foot after both');
    for (const [wrong, status] of [[{ ...wish, note: 'n99999' }, 422], [{ ...wish, note: 'x' }, 422], [{ change: 'foot', note: mark.id }, 422], [{ ...wish, foot: 'third' }, 400]]) {
      await desk.ask('post /api/pieces/{piece}/changes', `${at}/changes`, { body: wrong, status });
    }
    await desk.ask('get /api/pieces/{piece}/changes', '/api/pieces/none.musicxml/changes', { status: 404 });
    holds(!existsSync(join(desk.folder, 'wishes', 'music', 'none.musicxml.toml')), 'a file for no piece');
  });
}
