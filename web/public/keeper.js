// The service worker: keeps the pages, the organ and the sheets that were looked at, so that the bench and the fault page
// go on when the desk is gone. What the desk says always goes first; what is kept is only for when it does not answer.
const shelf = 'calcant-1';
const keptAnswers = [/^\/api\/organ$/, /^\/api\/services\/[^/]+\/(plan|sheet)$/];

async function keepPages() {
  const cache = await caches.open(shelf);
  const page = await fetch('/', { cache: 'no-store' });
  if (!page.ok) throw new Error('the pages could not be kept');
  const text = await page.clone().text();
  await cache.put('/', page);
  const named = [...text.matchAll(/(?:src|href)="(\/[^"]+)"/g)].map((m) => m[1]);
  for (const path of named) await keep(cache, path);
  // Letters are named in the style sheets.
  for (const path of named.filter((p) => p.endsWith('.css'))) {
    const css = await (await cache.match(path))?.text();
    for (const m of (css ?? '').matchAll(/url\((\/assets\/[^)]+)\)/g)) await keep(cache, m[1]);
  }
}

async function keep(cache, path) {
  const answer = await fetch(path, { credentials: 'same-origin' }).catch(() => null);
  if (answer?.ok) await cache.put(path, answer);
}

self.addEventListener('install', (e) => e.waitUntil(keepPages().then(() => self.skipWaiting())));
self.addEventListener('activate', (e) =>
  e.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((n) => n !== shelf).map((n) => caches.delete(n))))
      .then(() => self.clients.claim()),
  ),
);
self.addEventListener('message', (e) => {
  const paths = Array.isArray(e.data?.keep) ? e.data.keep : [];
  const known = paths.filter((p) => typeof p === 'string' && keptAnswers.some((k) => k.test(p)));
  e.waitUntil(
    caches.open(shelf).then(async (cache) => {
      for (const path of known) await keep(cache, path);
      e.ports[0]?.postMessage('kept');
    }),
  );
});

async function deskFirst(request, key) {
  const cache = await caches.open(shelf);
  try {
    const answer = await fetch(request);
    if (answer.ok) await cache.put(key, answer.clone());
    // A desk started again knows this tab no more; what was kept is still right.
    return answer.status === 401 ? ((await cache.match(key)) ?? answer) : answer;
  } catch (lost) {
    const kept = await cache.match(key);
    if (kept) return kept;
    throw lost;
  }
}

async function keptFirst(request) {
  const cache = await caches.open(shelf);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await cache.put(request, answer.clone());
  return answer;
}

self.addEventListener('fetch', (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (e.request.mode === 'navigate' && !url.pathname.startsWith('/api/')) e.respondWith(deskFirst(e.request, '/'));
  // The names of these files change with what is in them.
  else if (url.pathname.startsWith('/assets/')) e.respondWith(keptFirst(e.request));
  else if (keptAnswers.some((k) => k.test(url.pathname)) && url.search === '') e.respondWith(deskFirst(e.request, url.pathname));
  else if (url.pathname === '/light.js' || url.pathname === '/calcant.svg') e.respondWith(deskFirst(e.request, url.pathname));
});
