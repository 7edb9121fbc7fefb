// Desks ended, killed, started anew, and in folders that hold no organ.
import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test } from './checks.mjs';
import { Desk } from './desk.mjs';
import { board, date } from './given.mjs';
import { brokenOff } from './runs.mjs';

export default async function (program) {
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

  await test('killed while a run is measured, the recording is there and is measured when asked', async () => {
    const victim = await new Desk(program).open();
    await brokenOff(victim);
    await victim.remove();
  });

  await test('killed while a saved registration is renamed, it is there under one of its names', async () => {
    const victim = await new Desk(program).open();
    await victim.ask('put /api/saved/{name}', '/api/saved/name%200', { body: { draw: 'Swell: Oboe 8' } });
    for (let round = 0; round < 3; ++round) {
      if (round > 0) await victim.open(victim.port);
      const [{ name }] = (await victim.ask('get /api/saved', '/api/saved')).json.saved;
      let renamed = Number(name.split(' ')[1]);
      let confirmed = renamed;
      const begun = renamed;
      let stop = false;
      const renaming = (async () => {
        while (!stop) {
          const answer = await victim.page('POST', `/api/saved/name%20${renamed}/rename`, { to: `name ${renamed + 1}` }).catch(() => undefined);
          if (answer?.status !== 200) return;
          confirmed = ++renamed;
        }
      })();
      while (confirmed < begun + 5) await new Promise((r) => setTimeout(r, 5));
      await victim.end('SIGKILL');
      stop = true;
      await renaming;
      await victim.open(victim.port);
      const left = (await victim.ask('get /api/saved', '/api/saved')).json.saved.map((s) => s.name);
      holds(left.length === 1 && [`name ${confirmed}`, `name ${confirmed + 1}`].includes(left[0]), `${left} after name ${confirmed}`);
      await victim.end('SIGTERM');
    }
    await victim.open(victim.port);
    await victim.remove();
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
}
