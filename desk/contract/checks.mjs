// What a test here is made of.
export const count = { passed: 0, failed: 0 };

export async function test(name, run) {
  try {
    await run();
    count.passed += 1;
  } catch (e) {
    count.failed += 1;
    console.log(`FAILED ${name}\n  ${e.stack ?? e}`);
  }
}
export function equal(got, wanted, what) {
  if (JSON.stringify(got) !== JSON.stringify(wanted)) throw new Error(`${what}: ${JSON.stringify(got)} in place of ${JSON.stringify(wanted)}`);
}
export function holds(condition, what) {
  if (!condition) throw new Error(what);
}
/** Sends the way back that an answer tells. */
export async function undo(desk, answer) {
  const u = answer.json.undo;
  const back = await desk.page(u.method, u.path, u.body);
  holds(back.status < 300, `undo ${u.method} ${u.path}: ${back.status} ${back.text.slice(0, 300)}`);
  return back;
}
