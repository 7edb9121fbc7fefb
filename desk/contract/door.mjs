// What must be refused, and the pages.
import { readFileSync } from 'node:fs';
import net from 'node:net';
import { equal, holds, test } from './checks.mjs';
import { api } from './desk.mjs';

export default async function (desk) {
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
}

function memory(pid) {
  return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]);
}
