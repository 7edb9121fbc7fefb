// One registration weighed and heard.
import { equal, holds, test } from './checks.mjs';
import { draw, keys } from './given.mjs';

export default async function (desk) {
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
}
