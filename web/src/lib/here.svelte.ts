// Where the reader is: the address as state, links followed without a reload, back as everywhere else.
import { address, parseAddress, type PageName, type Route } from './router';

const here = $state<{ route: Route }>({ route: parseAddress(location.pathname, location.search) });

export const route = (): Route => here.route;

/** Goes to an address; with `quietly` the present one is replaced, so that back does not walk through every keystroke. */
export function go(to: string, quietly = false): void {
  if (quietly) history.replaceState(null, '', to);
  else history.pushState(null, '', to);
  const before = here.route;
  here.route = parseAddress(location.pathname, location.search);
  if (!quietly && (before.page !== here.route.page || before.key !== here.route.key)) scrollTo(0, 0);
}

export function say(page: PageName, key: string, query: Record<string, string | number | undefined>): void {
  go(address(page, key, query), true);
}

addEventListener('popstate', () => {
  here.route = parseAddress(location.pathname, location.search);
});

addEventListener('click', (e) => {
  if (e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || e.altKey) return;
  const link = e.target instanceof Element ? e.target.closest('a') : null;
  if (!link || link.target || link.hasAttribute('download')) return;
  const to = new URL(link.href);
  if (to.origin !== location.origin || to.pathname.startsWith('/api/')) return;
  if (to.pathname === location.pathname && to.hash !== '') return;
  e.preventDefault();
  go(to.pathname + to.search);
});
