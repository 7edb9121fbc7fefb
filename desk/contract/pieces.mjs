// Pieces.
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { equal, holds, test, undo } from './checks.mjs';
import { asked } from './desk.mjs';
import { draw, piece } from './given.mjs';

export default async function (desk) {
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
}
