// A desk as a process, a client that can send what no browser would, and the contract its answers are held to.
import Ajv2020 from 'ajv/dist/2020.js';
import { spawn } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'yaml';

export const api = parse(readFileSync('desk/openapi.yaml', 'utf8'));
const ajv = new Ajv2020({ strict: false, allErrors: true });
ajv.addSchema({ $id: 'api', ...api });

/** Operations that have answered with success: "get /api/faults". */
export const asked = new Set();

export class Desk {
  /** `what`: a folder of demo/, or nothing for an empty folder. */
  constructor(program, what = 'village') {
    this.program = program;
    this.place = mkdtempSync(join(tmpdir(), 'calcant-contract-'));
    this.folder = join(this.place, 'organ');
    if (what) cpSync(join('demo', what), this.folder, { recursive: true });
    else mkdirSync(this.folder);
  }

  async open(port = 0) {
    this.child = spawn(this.program, ['desk', this.folder, '--port', String(port), '--no-browser'], { stdio: ['ignore', 'pipe', 'pipe'] });
    this.ended = new Promise((done) => this.child.once('exit', (code, signal) => done({ code, signal })));
    const start = await new Promise((found, failed) => {
      let said = '';
      this.child.stderr.on('data', (d) => {
        said += d;
        const at = /http:\/\/127\.0\.0\.1:(\d+)\/#([0-9a-f]{32})\n/.exec(said);
        if (at) found(at);
      });
      this.child.once('exit', () => failed(new Error(`the desk did not open: ${said}`)));
    });
    this.port = Number(start[1]);
    this.token = start[2];
    this.cookie = undefined;
    return this;
  }

  async end(signal = 'SIGTERM') {
    this.child.kill(signal);
    return this.ended;
  }
  async remove() {
    if (this.child.exitCode === null && this.child.signalCode === null) await this.end('SIGKILL');
    rmSync(this.place, { recursive: true, force: true });
  }

  /** As sent: `body` a string or Buffer, `pieces` a list of them sent without a length. */
  raw(method, path, { headers = {}, body, pieces, port = this.port } = {}) {
    return new Promise((done, failed) => {
      const request = http.request({ host: '127.0.0.1', port, method, path, agent: false, headers, setHost: headers.host === undefined });
      let answered = false;
      request.once('response', (answer) => {
        answered = true;
        const parts = [];
        answer.on('data', (d) => parts.push(d));
        answer.once('error', failed);
        answer.once('end', () => {
          const bytes = Buffer.concat(parts);
          const text = bytes.toString('utf8');
          const json = (answer.headers['content-type'] ?? '').startsWith('application/json') ? JSON.parse(text) : undefined;
          done({ status: answer.statusCode, headers: answer.headers, bytes, text, json });
        });
      });
      request.once('error', (e) => answered || failed(e));
      if (pieces) {
        (async () => {
          for (const piece of pieces) {
            if (answered || request.destroyed) break;
            if (!request.write(piece)) {
              await new Promise((go_on) => {
                const on = () => {
                  for (const e of ['drain', 'response', 'close']) request.off(e, on);
                  go_on();
                };
                for (const e of ['drain', 'response', 'close']) request.on(e, on);
              });
            }
          }
          request.end();
        })();
      } else {
        request.end(body);
      }
    });
  }

  /** As a page asks: with the token and from its own origin. */
  page(method, path, body) {
    const headers = { 'calcant-token': this.token, origin: `http://127.0.0.1:${this.port}`, 'sec-fetch-site': 'same-origin' };
    if (Buffer.isBuffer(body)) headers['content-type'] = 'application/octet-stream';
    else if (body !== undefined) headers['content-type'] = 'application/json';
    return this.raw(method, path, { headers, body: body === undefined || Buffer.isBuffer(body) ? body : JSON.stringify(body) });
  }

  /**
   * Asks operation `operation` ("get /api/faults/{id}") at `path` and holds question and answer to the contract.
   * `status`: what it must answer.
   */
  async ask(operation, path, { body, status = 200, headers } = {}) {
    const [method, pattern] = operation.split(' ');
    const described = api.paths[pattern]?.[method];
    if (!described) throw new Error(`the contract knows no ${operation}`);
    if (body !== undefined && !Buffer.isBuffer(body) && status < 400) {
      const at = described.requestBody?.$ref ?? pointer(['paths', pattern, method, 'requestBody']);
      conform(body, `${at}/content/application~1json/schema`, `the body for ${operation}`);
    }
    const answer = headers ? await this.raw(method.toUpperCase(), path, { headers }) : await this.page(method.toUpperCase(), path, body);
    if (answer.status !== status) throw new Error(`${operation} ${path}: ${answer.status} in place of ${status}: ${answer.text.slice(0, 500)}`);
    this.conforms(operation, answer);
    if (status < 400) asked.add(operation);
    return answer;
  }

  conforms(operation, answer) {
    const [method, pattern] = operation.split(' ');
    const responses = api.paths[pattern][method].responses;
    const which = String(answer.status) in responses ? String(answer.status) : 'default';
    if (which === 'default' && answer.status < 400) throw new Error(`${operation}: ${answer.status} is not in the contract`);
    const at = responses[which].$ref ?? pointer(['paths', pattern, method, 'responses', which]);
    const response = responses[which].$ref ? api.components.responses[responses[which].$ref.split('/').at(-1)] : responses[which];
    const type = (answer.headers['content-type'] ?? '').split(';')[0];
    if (!response.content[type]) throw new Error(`${operation}: ${type} in place of ${Object.keys(response.content)}`);
    if (type === 'application/json') conform(answer.json, `${at}/content/application~1json/schema`, `the answer of ${operation}`);
    for (const [name, value] of [['x-content-type-options', 'nosniff'], ['cross-origin-resource-policy', 'same-origin']]) {
      if (answer.headers[name] !== value) throw new Error(`${operation}: no ${name}`);
    }
    if (Object.keys(answer.headers).some((h) => h.startsWith('access-control'))) throw new Error(`${operation}: lets other sites read`);
  }

  /** Waits for a task's end by its events' means of last resort: asking. */
  async task(answer) {
    for (;;) {
      const { json } = await this.ask('get /api/tasks/{task}', `/api/tasks/${answer.json.task}`);
      if (json.state === 'done') conform(json.result, `#/components/schemas/${{ prepare: 'Prepared', measure: 'Measured', choose: 'Choices', buildup: 'BuiltUp', map: 'RegistrationMap' }[json.kind] ?? 'Heard'}`, 'the result');
      if (!['waiting', 'working'].includes(json.state)) return json;
      await new Promise((r) => setTimeout(r, 50));
    }
  }

  /** An event stream: next(name) gives the data of the next event of that name. */
  async events(after) {
    const got = [];
    let wake = () => {};
    const headers = { 'calcant-token': this.token, ...(after === undefined ? {} : { 'last-event-id': String(after) }) };
    const stream = await new Promise((done, failed) => {
      const request = http.get({ host: '127.0.0.1', port: this.port, path: '/api/events', agent: false, headers }, done);
      request.once('error', failed);
    });
    this.conforms('get /api/events', { status: stream.statusCode, headers: stream.headers });
    asked.add('get /api/events');
    let rest = '';
    stream.setEncoding('utf8');
    stream.on('error', () => {});
    stream.on('close', () => { got.push(null); wake(); });
    stream.on('data', (d) => {
      rest += d;
      for (let at = rest.indexOf('\n\n'); at >= 0; at = rest.indexOf('\n\n')) {
        const lines = Object.fromEntries(rest.slice(0, at).split('\n').filter((l) => !l.startsWith(':')).map((l) => [l.slice(0, l.indexOf(':')), l.slice(l.indexOf(':') + 2)]));
        rest = rest.slice(at + 2);
        if (lines.id) out.last = Number(lines.id);
        if (lines.event) got.push({ event: lines.event, data: JSON.parse(lines.data) });
      }
      wake();
    });
    const out = {
      last: 0,
      async next(name) {
        for (;;) {
          while (got.length > 0) {
            const one = got.shift();
            if (one === null) return null;
            if (one.event === name) return one.data;
          }
          await new Promise((r) => { wake = r; });
        }
      },
      close: () => stream.destroy(),
    };
    return out;
  }
}

function pointer(parts) {
  return '#/' + parts.map((p) => encodeURIComponent(p.replaceAll('~', '~0').replaceAll('/', '~1'))).join('/');
}

export function conform(value, at, what) {
  const check = ajv.getSchema(`api${at}`) ?? ajv.compile({ $ref: `api${at}` });
  if (check(value)) return;
  const faults = check.errors.slice(0, 6).map((e) => `${e.instancePath} ${e.message} ${JSON.stringify(e.params)}`);
  throw new Error(`${what} is not as the contract has it:\n    ${faults.join('\n    ')}`);
}
